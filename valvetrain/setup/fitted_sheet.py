"""A new sheet with inferred values, each marked as such; the old one's comments and order are kept."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valvetrain.parts.correlation import Correlation
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.correlation import correlation_text
from valvetrain.setup.tables.csv_file import plain_cell, read_table, split_table
from valvetrain.setup.units import display_unit, from_si

__all__ = ["NewValue", "fitted_files"]

# Finer than any single value is known: together they are known far better than each alone.
_DIGITS = {"angle": 4, "inch": 5, "metric": 4}


@dataclass(frozen=True)
class NewValue:
    """One inferred dimension for the sheet.

    Attributes:
        key: sheet key, such as "rocker.pad_arm".
        dimension: "length" or "angle".
        at: valve -> (value, standard uncertainty) [SI].
        places: sub-section of the key's section ("" for the section itself, a role, a shaft) -> a valve that
            it is for; empty where no section can say it, and the table of valves must.
    """

    key: str
    dimension: str
    at: Mapping[str, tuple[float, float]]
    places: Mapping[str, str]


def fitted_files(
    toml: Path,
    system: str,
    values: Sequence[NewValue],
    correlation: Correlation,
    remarks: Sequence[str],
    names: tuple[str, str],
) -> dict[str, str]:
    """Return file name -> text of the new sheet ("" is the sheet itself) and of the tables it adds.

    Args:
        toml: the old sheet.
        system: its units.
        values: what was inferred.
        correlation: of the keys among themselves.
        remarks: comment lines for the head of the sheet.
        names: of the new tables: correlations, and valves.
    """
    import tomlkit

    document: Any = tomlkit.parse(toml.read_text(encoding="utf-8-sig"))
    tables = document.get("tables", {})
    old = toml.parent / str(tables["valves"]) if "valves" in tables else None
    there = set() if old is None else {_key_of(name) for name in split_table(old, old.name)[2]}
    columns = [one for one in values if not one.places or one.key in there]
    for one in values:
        section, key = one.key.split(".")
        if one not in columns:
            _put(document, section, key, one, system)
            continue
        gone = ("height", "reference_stem_height") if one.key == "shaft.height" and not one.places else (key,)
        for place in _places(document, section):
            for name in gone:
                if name in place:
                    place[name].comment("not used: it stands at every valve")
                    del place[name]
    tables = document.setdefault("tables", tomlkit.table())
    correlation_file, valves_file = names
    files = {correlation_file: correlation_text(correlation)}
    tables["correlation"] = correlation_file
    tables["correlation"].comment("inferred: how the inferred values hang together")
    if columns:
        files[valves_file] = _with_columns(old, columns, system)
        tables["valves"] = valves_file
        tables["valves"].comment(f"inferred: {', '.join(one.key for one in columns)} at every valve")
    head = "".join(f"# {line}\n" for line in remarks)
    return {"": head + tomlkit.dumps(document)} | files


def _places(document: Any, section: str) -> list[Any]:
    """A section and its sub-sections, roles' and shafts', as far as the sheet has them."""
    if section not in document:
        return []
    return [document[section], *(one for one in document[section].values() if isinstance(one, dict))]


def _key_of(column: str) -> str:
    """The sheet key that a column of the table of valves is."""
    if column not in COLUMNS:
        return ""
    section, key, _ = COLUMNS[column]
    return f"{section}.{key}"


def _put(document: Any, section: str, key: str, one: NewValue, system: str) -> None:
    """Write one dimension where the sheet has that key, or at the end of its section."""
    import tomlkit

    if section not in document:
        document[section] = tomlkit.table()
    whole = document[section]
    measured = {id(place): place[key] for place in _places(document, section) if key in place}
    before = measured.get(id(whole))
    for place in _places(document, section):
        if key in place and (place is not whole or "" not in one.places):
            del place[key]
    for name, valve in one.places.items():
        if name and name not in whole:
            whole[name] = tomlkit.table()
        place = whole[name] if name else whole
        old = measured.get(id(place), before)
        text = _written(one.at[valve], one.dimension, system)
        place[key] = text
        place[key].comment(f"inferred{_measured_before(old)}")


def _measured_before(old: Any) -> str:
    """What the sheet said of it, for a comment."""
    if old is None:
        return ""
    kept = old.trivia.comment.lstrip("# ").strip()
    if kept.startswith("inferred"):
        return str(kept.removeprefix("inferred"))
    return f", measured {old.unwrap()}" + (f" ({kept})" if kept else "")


def _written(one: tuple[float, float], dimension: str, system: str) -> str:
    value, doubt = one
    digits = _DIGITS[dimension if dimension == "angle" else system]
    number = from_si(value, dimension, system)
    spread = from_si(doubt, dimension, system, difference=True)
    return f"{number:.{digits}f} +/- {max(spread, 10.0**-digits):.{digits}f}"


def _with_columns(table: Path | None, values: Sequence[NewValue], system: str) -> str:
    """The table of valves with inferred dimensions at every valve."""
    out = io.StringIO()
    out.write(f"# Inferred: {', '.join(one.key for one in values)}.\n")
    heads = [f"{one.key} [{display_unit(one.dimension, system)}]" for one in values]
    inferred = {one.key for one in values} | (
        {"shaft.reference_stem_height"}
        if any(one.key == "shaft.height" and not one.places for one in values)
        else set()
    )
    delimiter, kept = ",", ["valve"]
    units: Mapping[str, str | None] = {"valve": None}
    rows: dict[str, dict[str, str]] = {}
    if table is not None:
        _, delimiter, names, units = split_table(table, table.name)
        kept = [name for name in names if name and _key_of(name) not in inferred]
        rows = {cells["valve"].upper(): cells for _, cells in read_table(table, table.name).rows}
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerow([*(f"{name} [{units[name]}]" if units[name] else name for name in kept), *heads])
    for valve in values[0].at:
        row = rows.get(valve, {"valve": valve})
        cells = [_written(one.at[valve], one.dimension, system) for one in values]
        writer.writerow([*(plain_cell(row.get(name, "")) for name in kept), *cells])
    return out.getvalue()
