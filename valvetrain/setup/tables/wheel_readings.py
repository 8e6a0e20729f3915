"""Degree-wheel readings, read from CSV."""

from pathlib import Path

from valvetrain.parts.lobe import CardEvents
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import Spec, spec_of
from valvetrain.parts.wheel import WheelReading
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.csv_file import Table, read_table
from valvetrain.setup.values import measured

__all__ = ["read_wheel_readings"]

_ANGLE = spec_of(CardEvents, "opens")
_SPECS = {
    "checking_lift": spec_of(CardEvents, "checking_lift"),
    "opens": Spec("opening", "angle", low=_ANGLE.low, high=_ANGLE.high, instrument="degree_wheel"),
    "closes": Spec("closing", "angle", low=_ANGLE.low, high=_ANGLE.high, instrument="degree_wheel"),
}


def read_wheel_readings(
    path: Path,
    shown_as: str,
    names: tuple[str, ...],
    *,
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> tuple[WheelReading, ...]:
    """Read rows of `valve`, `checking_lift`, `checked_at`, `opens`, `closes`, counted as a cam card does.

    Raises:
        SheetError: with all of the table's faults.
    """
    table = read_table(path, shown_as, required=("valve", "checking_lift", "checked_at", "opens", "closes"))
    faults: list[Fault] = []
    readings = []
    for line, cells in table.rows:
        valve = cells["valve"].upper()
        if valve not in names:
            known = f"Its valves are {', '.join(names)}."
            faults.append(
                Fault(table.where(line, "valve"), f"'{cells['valve']}' is not a valve of this engine", known)
            )
            continue
        if cells["checked_at"] not in ("tappet", "valve"):
            faults.append(
                Fault(
                    table.where(line, "checked_at"),
                    f"'{cells['checked_at']}' is not allowed",
                    "Write tappet or valve: a checking lift means nothing without where it is read.",
                )
            )
            continue
        values = _values(table, line, cells, faults, system, instruments)
        if values is not None:
            role = "intake" if "I" in valve else "exhaust"
            where = f"{shown_as} line {line}"
            readings.append(
                WheelReading(
                    role,
                    valve,
                    values["checking_lift"],
                    cells["checked_at"],
                    values["opens"],
                    values["closes"],
                    where,
                )
            )
    if faults:
        raise SheetError(faults)
    return tuple(readings)


def _values(
    table: Table,
    line: int,
    cells: dict[str, str],
    faults: list[Fault],
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> dict[str, Measured] | None:
    """Read the quantities of one row; None where one is faulty."""
    values: dict[str, Measured] = {}
    for column, spec in _SPECS.items():
        where = table.where(line, column)
        try:
            if not cells[column]:
                raise ValueError("the cell is empty")
            values[column] = measured(
                cells[column],
                spec,
                where,
                system=system,
                instruments=instruments,
                header_unit=table.units[column],
            )
        except ValueError as error:
            faults.append(Fault(where, str(error), "Correct the cell, or take the row out."))
    return values if len(values) == len(_SPECS) else None
