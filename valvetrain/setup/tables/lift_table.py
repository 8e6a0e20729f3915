"""A lobe's lift table, read from CSV."""

import math
from pathlib import Path

from valvetrain.mechanics.cam.lift_table_faults import table_faults
from valvetrain.parts.lobe import LiftTable
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.units import lengths_shown
from valvetrain.setup.values import measured

__all__ = ["read_lift_table"]

_ANGLE = Spec("angle of the row", "angle", low=-4 * math.pi, high=8 * math.pi, instrument="degree_wheel")
_LIFT = Spec("lift of the row", "length", low=-0.0005, high=0.03, instrument="indicator")


def read_lift_table(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> LiftTable:
    """Read a lift table: `cam_angle` or `crank_angle`, and `tappet_lift` or `valve_lift`.

    The two headers say what the numbers are; neither is ever assumed.

    Raises:
        SheetError: the file cannot be read, a column is missing or a row is not part of a lobe.
    """
    table = read_table(path, shown_as)
    angles = [name for name in ("cam_angle", "crank_angle") if name in table.units]
    lifts = [name for name in ("tappet_lift", "valve_lift") if name in table.units]
    faults: list[Fault] = []
    header = ", ".join(table.units)
    if len(angles) != 1:
        faults.append(
            Fault(
                shown_as,
                f"needs one column of angles named 'cam_angle' or 'crank_angle', and has: {header}",
                "Name the angles for what they are: one cam degree is two crank degrees.",
            )
        )
    if len(lifts) != 1:
        faults.append(
            Fault(
                shown_as,
                f"needs one column of lifts named 'tappet_lift' or 'valve_lift', and has: {header}",
                "Name the lifts for where the dial stood.",
            )
        )
    if faults:
        raise SheetError(faults)
    halved = 0.5 if angles[0] == "crank_angle" else 1.0
    rows: list[tuple[float, float, float]] = []
    for line, cells in table.rows:
        values = []
        for column, spec in ((angles[0], _ANGLE), (lifts[0], _LIFT)):
            where = table.where(line, column)
            try:
                if not cells[column]:
                    raise ValueError("the cell is empty")
                values.append(
                    measured(
                        cells[column],
                        spec,
                        where,
                        system=system,
                        instruments=instruments,
                        header_unit=table.units[column],
                    )
                )
            except ValueError as error:
                faults.append(Fault(where, str(error), "Correct the row, or take it out."))
        if len(values) == 2:
            rows.append((values[0].value * halved, values[1].value, values[1].uncertainty))
    if faults:
        raise SheetError(faults)
    lines = [line for line, _ in table.rows]
    cam_angles = [row[0] for row in rows]
    lift_values = [row[1] for row in rows]
    for row, sentence in table_faults(cam_angles, lift_values):
        where = shown_as if row is None or row < 0 else f"{shown_as} line {lines[row]}"
        faults.append(Fault(where, lengths_shown(sentence, system), "Correct the table."))
    if faults:
        raise SheetError(faults)
    return LiftTable(
        tuple(cam_angles),
        tuple(lift_values),
        max(row[2] for row in rows),
        "tappet" if lifts[0] == "tappet_lift" else "valve",
        shown_as,
        at_tappet=lifts[0] == "tappet_lift",
    )
