"""Piston-to-valve clearances read with a dial at a few crank angles, from CSV."""

import math
from pathlib import Path

from valvetrain.parts.piston import ClearanceReadings
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.values import measured

__all__ = ["read_clearance_readings"]

LEAST_READINGS = 4
_SPECS = {
    "crank_angle": Spec("crank angle", "angle", low=-math.pi, high=math.pi, instrument="degree_wheel"),
    "clearance": Spec("clearance", "length", low=-0.005, high=0.1, instrument="indicator"),
}


def read_clearance_readings(
    path: Path, shown_as: str, *, system: str, instruments: dict[str, tuple[str, float]]
) -> ClearanceReadings:
    """Read columns `crank_angle` (after the overlap's top dead center, negative before) and `clearance`.

    Raises:
        SheetError: fewer than four rows, angles that do not rise, or cells that are no values.
    """
    table = read_table(path, shown_as, required=tuple(_SPECS))
    faults: list[Fault] = []
    rows: list[list[float]] = []
    doubt = 0.0
    for line, cells in table.rows:
        row = []
        for column, spec in _SPECS.items():
            where = table.where(line, column)
            try:
                if not cells[column]:
                    raise ValueError("the cell is empty")
                value = measured(
                    cells[column],
                    spec,
                    where,
                    system=system,
                    instruments=instruments,
                    header_unit=table.units[column],
                )
            except ValueError as error:
                faults.append(Fault(where, str(error), "Correct the row, or take it out."))
                continue
            row.append(value.value)
            if column == "clearance":
                doubt = max(doubt, value.uncertainty)
        if len(row) == len(_SPECS):
            if rows and row[0] <= rows[-1][0]:
                faults.append(
                    Fault(
                        table.where(line, "crank_angle"),
                        "the angle does not rise from the row before",
                        "Sort the rows; angles before top dead center are negative.",
                    )
                )
            rows.append(row)
    if not faults and len(rows) < LEAST_READINGS:
        faults.append(
            Fault(
                shown_as,
                f"has {len(rows)} readings; {LEAST_READINGS} are needed",
                "Read the clearance every five crank degrees through the overlap.",
            )
        )
    if faults:
        raise SheetError(faults)
    return ClearanceReadings(tuple(row[0] for row in rows), tuple(row[1] for row in rows), doubt, shown_as)
