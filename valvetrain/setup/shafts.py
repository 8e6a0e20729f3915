"""Which shaft each rocker stands on, by `[engine] shafts` or the table of valves, and the shafts' names."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.schema import PER_ROLE, ROLES
from valvetrain.setup.sheet_text import FILE
from valvetrain.setup.tables.csv_file import read_table
from valvetrain.setup.tables.valves import ValveRow

__all__ = ["shaft_names", "shaft_of_valves", "sub_sections"]

_MEND = 'Write [engine] shafts = { left = [1, 3, 5, 7], right = [2, 4, 6, 8] }: cylinders, or valves as "1I".'


def sub_sections(raw: Mapping[str, Any]) -> set[str]:
    """Return the names of sub-sections in a sheet's text that are no role's: they must be shafts'."""
    return {
        name
        for section in PER_ROLE
        if isinstance(raw.get(section), dict)
        for name, value in raw[section].items()
        if isinstance(value, dict) and name not in ROLES
    }


def shaft_names(raw: Mapping[str, Any], folder: Path) -> tuple[str, ...]:
    """Return the names of all shafts that the sheet's text or its table of valves gives, in order."""
    names: list[str] = []
    engine, shaft, tables = (raw.get(name) for name in ("engine", "shaft", "tables"))
    if isinstance(engine, dict) and isinstance(engine.get("shafts"), dict):
        names += engine["shafts"]
    if isinstance(shaft, dict):
        places = (shaft, *(shaft.get(role) for role in ROLES))
        names += [place["name"] for place in places if isinstance(place, dict) and "name" in place]
    if sub_sections(raw) - set(names) and isinstance(tables, dict) and isinstance(tables.get("valves"), str):
        try:
            rows = read_table(folder / tables["valves"], tables["valves"]).rows
        except SheetError:  # told when the table itself is read
            rows = ()
        names += [cells["shaft"] for _, cells in rows if cells.get("shaft")]
    return tuple(dict.fromkeys(name for name in names if isinstance(name, str)))


def shaft_of_valves(
    shafts: Mapping[str, Sequence[int | str]] | None, names: Iterable[str], rows: Mapping[str, ValveRow]
) -> dict[str, str]:
    """Return valve -> name of its shaft, as `[engine] shafts` or the table of valves says; others left out.

    Raises:
        SheetError: a valve on two shafts or on none while others have one, a cylinder that there is not.
    """
    valves = tuple(names)
    faults: list[Fault] = []
    found: dict[str, str] = {}
    where = f"{FILE} [engine] shafts"
    for shaft, members in (shafts or {}).items():
        for member in members:
            own = [valve for valve in valves if member in (valve, valve.lower(), _cylinder(valve))]
            if not own:
                faults.append(Fault(where, f"{member!r} is no cylinder or valve of this engine", _MEND))
            for valve in own:
                if found.get(valve, shaft) != shaft:
                    what = f"{valve} is on shaft '{found[valve]}' and on '{shaft}'"
                    faults.append(Fault(where, what, "Name it once."))
                found[valve] = shaft
    for valve, row in rows.items():
        if row.shaft and found.get(valve, row.shaft) != row.shaft:
            what = f"says '{row.shaft}', and [engine] shafts has {valve} on '{found[valve]}'"
            faults.append(Fault(f"valves table line {row.line}, column shaft", what, "Keep one."))
        if row.shaft:
            found[valve] = row.shaft
    nowhere = [valve for valve in valves if valve not in found]
    if shafts and nowhere and not faults:
        faults.append(Fault(where, f"{', '.join(nowhere)} stand on no shaft", _MEND))
    if faults:
        raise SheetError(faults)
    return found


def _cylinder(valve: str) -> int:
    """Number of a valve's cylinder: 3 of 3I and of 3E2."""
    return int("".join(letter for letter in valve.split("I")[0].split("E")[0] if letter.isdigit()))
