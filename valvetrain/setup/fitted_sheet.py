"""A new sheet with inferred values, each marked as such; the old one's comments and order are kept."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valvetrain.parts.correlation import Correlation
from valvetrain.setup.schema import ROLES
from valvetrain.setup.tables.correlation import correlation_text
from valvetrain.setup.tables.csv_file import plain_cell, read_table, split_table
from valvetrain.setup.units import display_unit, from_si

__all__ = ["CORRELATION_FILE", "HEIGHTS_FILE", "NewValue", "fitted_files"]

CORRELATION_FILE = "fitted_correlation.csv"
HEIGHTS_FILE = "fitted_valves.csv"

# Finer than any single value is known: together they are known far better than each alone.
_DIGITS = {"angle": 4, "inch": 5, "metric": 4}


@dataclass(frozen=True)
class NewValue:
    """One inferred value for the sheet.

    Attributes:
        key: sheet key, such as "rocker.pad_arm".
        role: "intake" or "exhaust" where the roles differ, else empty.
        dimension: "length" or "angle".
        value, uncertainty: [SI].
    """

    key: str
    role: str
    dimension: str
    value: float
    uncertainty: float


def fitted_files(
    toml: Path,
    system: str,
    values: Sequence[NewValue],
    correlation: Correlation,
    heights: Mapping[str, tuple[float, float]],
    remarks: Sequence[str],
) -> dict[str, str]:
    """Return file name -> text of the new sheet ("" is the sheet itself) and of the tables it adds.

    Args:
        toml: the old sheet.
        system: its units.
        values: what was inferred.
        correlation: of the keys among themselves.
        heights: valve -> shaft's height over its tip and uncertainty [m], where it is written at every valve;
            else empty.
        remarks: comment lines for the head of the sheet.
    """
    import tomlkit

    document: Any = tomlkit.parse(toml.read_text(encoding="utf-8-sig"))
    for one in values:
        if heights and one.key == "shaft.height":
            continue
        section, key = one.key.split(".")
        _put(document, section, key, one, system)
    tables = document.setdefault("tables", tomlkit.table())
    files = {CORRELATION_FILE: correlation_text(correlation)}
    tables["correlation"] = CORRELATION_FILE
    tables["correlation"].comment("inferred: how the inferred values hang together")
    if heights:
        old = tables.get("valves")
        files[HEIGHTS_FILE] = _with_heights(toml.parent / str(old) if old else None, heights, system)
        tables["valves"] = HEIGHTS_FILE
        tables["valves"].comment("inferred: shaft.height at every valve added")
        for place in _places(document, "shaft"):
            for key in ("height", "reference_stem_height"):
                if key in place:
                    place[key].comment("not used: the shaft's height stands at every valve")
                    del place[key]
    head = "".join(f"# {line}\n" for line in remarks)
    return {"": head + tomlkit.dumps(document)} | files


def _places(document: Any, section: str) -> list[Any]:
    """A section and its roles' own, as far as the sheet has them."""
    if section not in document:
        return []
    return [document[section], *(document[section][role] for role in ROLES if role in document[section])]


def _put(document: Any, section: str, key: str, one: NewValue, system: str) -> None:
    """Write one value where the sheet has that key, or at the end of its section."""
    import tomlkit

    if section not in document:
        document[section] = tomlkit.table()
    place = document[section]
    if one.role:
        if one.role not in place:
            place[one.role] = tomlkit.table()
        place = place[one.role]
    else:
        for role in ROLES:
            if role in place and key in place[role]:
                del place[role][key]
    digits = _DIGITS[one.dimension if one.dimension == "angle" else system]
    number = from_si(one.value, one.dimension, system)
    spread = from_si(one.uncertainty, one.dimension, system, difference=True)
    text = f"{number:.{digits}f} +/- {max(spread, 10.0**-digits):.{digits}f}"
    before = ""
    if key in place:
        old = place[key]
        kept = old.trivia.comment.lstrip("# ").strip()
        written = old.unwrap()
        before = f", measured {written}" + (f" ({kept})" if kept and not kept.startswith("inferred") else "")
        if kept.startswith("inferred"):
            before = kept.removeprefix("inferred")
    place[key] = text
    place[key].comment(f"inferred{before}")


def _with_heights(table: Path | None, heights: Mapping[str, tuple[float, float]], system: str) -> str:
    """The table of valves with the shaft's height at every valve."""
    unit = display_unit("length", system)
    digits = _DIGITS[system]
    cells = {
        valve: f"{from_si(value, 'length', system):.{digits}f} +/- "
        f"{max(from_si(doubt, 'length', system, difference=True), 10.0**-digits):.{digits}f}"
        for valve, (value, doubt) in heights.items()
    }
    out = io.StringIO()
    out.write("# shaft.height is inferred.\n")
    column = f"shaft.height [{unit}]"
    if table is None:
        out.write(f"valve,{column}\n")
        out.writelines(f"{valve},{cell}\n" for valve, cell in cells.items())
        return out.getvalue()
    _, delimiter, names, units = split_table(table, table.name)
    kept = [name for name in names if name and name != "shaft.height"]
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerow([*(f"{name} [{units[name]}]" if units[name] else name for name in kept), column])
    rows = {cells_["valve"].upper(): cells_ for _, cells_ in read_table(table, table.name).rows}
    for valve, cell in cells.items():
        row = rows.get(valve, {"valve": valve})
        writer.writerow([*(plain_cell(row.get(name, "")) for name in kept), cell])
    return out.getvalue()
