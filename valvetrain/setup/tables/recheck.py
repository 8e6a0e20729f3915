"""Offsets and end clearances measured again after assembly, read from CSV."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import spec_of
from valvetrain.parts.valve import Station
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.values import measured

__all__ = ["Reading", "read_recheck"]

_KEYS = ("offset", "end_clearance")


@dataclass(frozen=True)
class Reading:
    """What was measured at one valve after assembly; None where it was not."""

    offset: Measured | None = None
    end_clearance: Measured | None = None


def read_recheck(
    path: Path,
    names: tuple[str, ...],
    system: str,
    instruments: Mapping[str, tuple[str, float]] | None = None,
) -> dict[str, Reading]:
    """Read the table: columns `valve`, `offset`, and `end_clearance` where it was measured as well.

    Raises:
        SheetError: with every fault of the table.
    """
    table = read_table(path, path.name, required=("valve", "offset"))
    known = dict(instruments or DEFAULT_UNCERTAINTY)
    columns = ("valve", *_KEYS, "remarks")
    faults = [
        Fault(f"{path.name} header", f"column '{name}' is not known", nearest(name, columns))
        for name in table.units
        if name not in columns
    ]
    readings: dict[str, Reading] = {}
    for line, cells in table.rows:
        valve = cells["valve"].upper()
        where = table.where(line, "valve")
        if valve not in names:
            what = f"'{cells['valve']}' is not a valve of this engine"
            faults.append(Fault(where, what, f"Its valves are {', '.join(names)}."))
            continue
        if valve in readings:
            faults.append(Fault(where, f"valve {valve} stands twice", "Keep one row for each valve."))
            continue
        found: dict[str, Measured] = {}
        for key in _KEYS:
            if not cells.get(key):
                continue
            try:
                found[key] = measured(
                    cells[key],
                    spec_of(Station, key),
                    table.where(line, key),
                    system=system,
                    instruments=known,
                    header_unit=table.units[key],
                )
            except ValueError as error:
                mend = "Correct the cell, or leave it blank."
                faults.append(Fault(table.where(line, key), str(error), mend))
        readings[valve] = Reading(**found)
    if not faults and all(each.offset is None for each in readings.values()):
        faults.append(Fault(path.name, "holds no offset", "Measure the offsets after assembly."))
    if faults:
        raise SheetError(faults)
    return readings
