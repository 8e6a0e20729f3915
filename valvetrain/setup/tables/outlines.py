"""Outlines of parts and measured pads, read from CSV tables of x and y."""

from pathlib import Path

from valvetrain.parts.adjuster import Outline
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.values import measured

__all__ = ["read_pad_outline", "read_part_outline"]

_POINT = Spec("coordinate of the point", "length", low=-0.5, high=0.5, instrument="exact")


def read_pad_outline(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> Outline:
    """Read a measured pad: columns x and y, see `valvetrain.mechanics.rocker.pad_outline`.

    Raises:
        SheetError: the file cannot be read, a column is missing, or the points are no working face.
    """
    from valvetrain.mechanics.rocker.pad_outline import checked_outline

    outline = _read(path, shown_as, system, instruments)
    try:
        checked_outline(outline.points)
    except ValueError as error:
        raise SheetError([Fault(shown_as, str(error).rstrip("."), "Correct the points.")]) from error
    return outline


def read_part_outline(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> Outline:
    """Read a part's side view: columns x and y, counterclockwise: see
    `valvetrain.mechanics.shapes.interference`.

    Raises:
        SheetError: the file cannot be read, a column is missing, or the outline crosses itself or runs
            clockwise.
    """
    from valvetrain.mechanics.shapes.interference import checked_outline

    outline = _read(path, shown_as, system, instruments)
    try:
        checked_outline(outline.points, "the part")
    except ValueError as error:
        raise SheetError([Fault(shown_as, str(error).rstrip("."), "Correct the points.")]) from error
    return outline


def _read(path: Path, shown_as: str, system: str, instruments: dict[str, tuple[str, float]]) -> Outline:
    table = read_table(path, shown_as, required=("x", "y"))
    faults: list[Fault] = []
    points: list[tuple[float, float]] = []
    for line, cells in table.rows:
        pair = []
        for column in ("x", "y"):
            where = table.where(line, column)
            try:
                if not cells[column]:
                    raise ValueError("the cell is empty")
                unit = table.units[column]
                value = measured(
                    cells[column], _POINT, where, system=system, instruments=instruments, header_unit=unit
                )
                pair.append(value.value)
            except ValueError as error:
                faults.append(Fault(where, str(error), "Correct the point, or take its row out."))
        if len(pair) == 2:
            points.append((pair[0], pair[1]))
    if faults:
        raise SheetError(faults)
    return Outline(tuple(points), shown_as)
