"""The table of valves: one row a valve, each column overriding one key at that valve."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.columns import COLUMNS, TEXT_COLUMNS
from valvetrain.setup.tables.csv_file import Table, read_table
from valvetrain.setup.values import measured

__all__ = ["ValveRow", "read_valve_table", "valve_names"]


@dataclass(frozen=True)
class ValveRow:
    """What one row says.

    Attributes:
        spring: name of the spring in the load tests, empty where none is given.
        values: (section, key) -> value; None where the column is there and the cell is blank, which makes the
            valve unmeasured: it never borrows the section's value.
        line: line of the file.
        shaft: name of the shaft that its rocker is on, empty where none is given.
        middle_spring, inner_spring: as `spring`, for the other springs of a set.
    """

    spring: str
    values: dict[tuple[str, str], Any]
    line: int
    shaft: str = ""
    middle_spring: str = ""
    inner_spring: str = ""


def valve_names(cylinders: int, valves_per_cylinder: int) -> tuple[str, ...]:
    """Return the names of an engine's valves, front to rear: 1I, 1E, ... or 1I1, 1I2, 1E1, 1E2, ..."""
    places = ("",) if valves_per_cylinder == 2 else ("1", "2")
    return tuple(
        f"{cylinder}{role}{place}"
        for cylinder in range(1, cylinders + 1)
        for role in "IE"
        for place in places
    )


def read_valve_table(
    path: Path,
    shown_as: str,
    names: tuple[str, ...],
    *,
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> dict[str, ValveRow]:
    """Read the table of valves; every fault of it is reported at once.

    Raises:
        SheetError: with all of the table's faults.
    """
    table = read_table(path, shown_as, required=("valve",))
    known = (*TEXT_COLUMNS, *COLUMNS)
    faults = [
        Fault(f"{shown_as} header", f"column '{column}' is not known", nearest(column, known))
        for column in table.units
        if column not in known
    ]
    # A column that is blank from top to bottom says nothing: what its section says counts.
    blank = {column for column in table.units if not any(cells[column] for _, cells in table.rows)}
    rows: dict[str, ValveRow] = {}
    for line, cells in table.rows:
        name = cells["valve"].upper()
        where = table.where(line, "valve")
        if name not in names:
            faults.append(
                Fault(
                    where,
                    f"'{cells['valve']}' is not a valve of this engine",
                    f"Its valves are {', '.join(names)}.",
                )
            )
            continue
        if name in rows:
            faults.append(
                Fault(
                    where,
                    f"valve {name} stands twice (first on line {rows[name].line})",
                    "Keep one row for each valve.",
                )
            )
            continue
        values, row_faults = _row_values(table, line, cells, system, instruments, blank)
        faults += row_faults
        rows[name] = ValveRow(
            cells.get("spring", ""),
            values,
            line,
            cells.get("shaft", ""),
            cells.get("middle_spring", ""),
            cells.get("inner_spring", ""),
        )
    if faults:
        raise SheetError(faults)
    return rows


def _row_values(
    table: Table,
    line: int,
    cells: dict[str, str],
    system: str,
    instruments: dict[str, tuple[str, float]],
    blank: set[str],
) -> tuple[dict[tuple[str, str], Any], list[Fault]]:
    """Read the quantities of one row; `blank` columns hold none."""
    values: dict[tuple[str, str], Any] = {}
    faults: list[Fault] = []
    for column, unit in table.units.items():
        if column not in COLUMNS or column in blank:
            continue
        section, key, spec = COLUMNS[column]
        where = table.where(line, column)
        cell = cells[column]
        pieces = [piece for piece in re.split(r"\s+\+\s+", cell) if piece] if spec.many else [cell]
        try:
            read = [
                measured(piece, spec, where, system=system, instruments=instruments, header_unit=unit)
                for piece in pieces
                if piece
            ]
        except ValueError as error:
            faults.append(
                Fault(where, str(error), "Correct the cell, or leave it blank if it was not measured.")
            )
            continue
        values[(section, key)] = tuple(read) if spec.many else (read[0] if read else None)
    return values, faults
