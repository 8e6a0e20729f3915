"""A sheet's files with some values changed, nothing written: what `--with`, `set` and the bench do first."""

import codecs
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from valvetrain.setup.contents import Contents, reading
from valvetrain.setup.editing.cell_text import cell_in, with_cell
from valvetrain.setup.editing.place import Entry, Place, is_word, place_of, places_of
from valvetrain.setup.editing.toml_text import value_in, with_value
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.csv_file import decoded, table_text
from valvetrain.setup.tables.valves import valve_names
from valvetrain.setup.tables.xlsx_file import is_workbook

__all__ = ["Edit", "as_bytes", "as_text", "edited", "file_of", "valves_of", "written_at"]

NEW_TABLE = "valves.csv"


@dataclass(frozen=True)
class Edit:
    """One value changed.

    Attributes:
        key: as it was asked for, such as `7E.installed_height`.
        before, after: as they are written; None where nothing is.
    """

    key: str
    before: str | None
    after: str | None


def edited(
    toml: Path,
    contents: Mapping[Path, bytes | str],
    values: Mapping[str, str | None] | Iterable[tuple[str, str | None]],
) -> tuple[Contents, tuple[Edit, ...]]:
    """Change values in the text of a sheet's files.

    Args:
        toml: the sheet's TOML file.
        contents: what stands in its files.
        values: key -> the value as the sheet would have it, or such pairs; None where it is to be unknown.

    Returns:
        (what then stands in the files, what was changed). What is not text, a spreadsheet file, is given as
        the text that stands for it.

    Raises:
        SheetError: a key or a value that cannot be; the values themselves are judged when the sheet is read.
    """
    found: Contents = dict(contents)
    edits = []
    faults: list[Fault] = []
    for place, written in places_of(values).items():
        try:
            before = written_at(toml, found, place)
            _put(toml, found, place, written)
            edits.append(Edit(str(place), before, written_at(toml, found, place)))
        except SheetError as error:
            faults += error.faults
    if faults:
        raise SheetError(faults)
    return found, tuple(edits)


def written_at(toml: Path, contents: Mapping[Path, bytes | str], place: Place | str) -> str | None:
    """Return what is written at a place; None where nothing is."""
    place = place_of(place) if isinstance(place, str) else place
    if isinstance(place, Entry):
        return value_in(as_text(contents[toml]), place.path)
    table = file_of(toml, contents, place)
    if table is None:
        return None
    return cell_in(_table(table, contents), table.name, place.valve, place.column)


def file_of(toml: Path, contents: Mapping[Path, bytes | str], place: Place) -> Path | None:
    """Return the file in which a place stands; None where the table of valves is not there yet."""
    if isinstance(place, Entry):
        return toml
    name = value_in(as_text(contents[toml]), ("tables", "valves"))
    return None if name is None else toml.parent / name


def valves_of(toml: Path, contents: Mapping[Path, bytes | str]) -> tuple[str, ...]:
    """Return the names of the engine's valves; none where it does not say how many cylinders."""
    text = as_text(contents[toml])
    cylinders = value_in(text, ("engine", "cylinders")) or ""
    each = value_in(text, ("engine", "valves_per_cylinder")) or "2"
    if not (cylinders.isdigit() and each in ("2", "4") and 1 <= int(cylinders) <= 24):
        return ()
    return valve_names(int(cylinders), int(each))


def _put(toml: Path, found: Contents, place: Place, written: str | None) -> None:
    if isinstance(place, Entry):
        text = with_value(as_text(found[toml]), place.path, written, word=is_word(place))
        found[toml] = _as(found[toml], text)
        return
    valves = valves_of(toml, found)
    if place.valve not in valves:
        known = f"Its valves are {', '.join(valves)}." if valves else "Say first how many cylinders it has."
        raise SheetError([Fault(f"'{place}'", f"{place.valve} is not a valve of this engine", known)])
    if place.column == "valve":
        raise SheetError([Fault(f"'{place}'", "a valve keeps its name", nearest(place.valve, valves))])
    table = file_of(toml, found, place)
    if table is None:
        if written is None:
            return
        table = toml.parent / NEW_TABLE
        if table in found or table.exists():
            raise SheetError(
                [
                    Fault(
                        f"'{place}'",
                        f"the sheet names no table of valves, and {NEW_TABLE} is there",
                        f'Write valves = "{NEW_TABLE}" under [tables] if that is it.',
                    )
                ]
            )
        found[toml] = _as(
            found[toml], with_value(as_text(found[toml]), ("tables", "valves"), NEW_TABLE, word=True)
        )
        found[table] = ("valve\n" + "".join(f"{valve}\n" for valve in valves)).encode()
    old = found[table] if not is_workbook(table) else ""
    sheet, rows = as_text(found[toml]), _table(table, found)
    text = with_cell(
        rows,
        table.name,
        place.valve,
        place.column,
        written,
        lambda valve, column: _from_section(
            sheet, valve, column, cell_in(rows, table.name, valve, "shaft") or _shaft_of(sheet, valve)
        ),
    )
    found[table] = text if is_workbook(table) else _as(old, text)


def _shaft_of(sheet: str, valve: str) -> str:
    """Return the name of a valve's shaft as `[engine] shafts` has it; empty where it does not say."""
    shafts = tomllib.loads(sheet).get("engine", {}).get("shafts", {})
    cylinder = re.match(r"\d+", valve)
    for name, members in shafts.items() if isinstance(shafts, dict) else ():
        if any(str(each).upper() in (valve, cylinder[0] if cylinder else "") for each in members):
            return str(name)
    return ""


def _from_section(sheet: str, valve: str, column: str, shaft: str) -> str:
    """Return what the valve's role, shaft or section gives for a column, as a cell would say it."""
    if column not in COLUMNS:
        return ""
    section, key, spec = COLUMNS[column]
    role = "intake" if "I" in valve else "exhaust"
    if section == "lash":
        return value_in(sheet, ("lash", role)) or ""
    if key == "solid_height" and value_in(sheet, (section, "tests")) is not None:
        raise SheetError(
            [
                Fault(
                    f"'{valve}.{column}'",
                    "the solid heights stand with the load tests of the springs",
                    f"Correct it there, or add the column {column} to the table of valves, for all of them.",
                )
            ]
        )
    own = value_in(sheet, (section, shaft, key)) if shaft else None
    found = value_in(sheet, (section, role, key)) or own or value_in(sheet, (section, key)) or ""
    if spec.many and found.startswith("["):
        return " + ".join(piece.strip().strip("\"'") for piece in found[1:-1].split(",") if piece.strip())
    return found


def _table(table: Path, contents: Mapping[Path, bytes | str]) -> str:
    """Return the text of the table of valves."""
    try:
        with reading(dict(contents)):
            return table_text(table, table.name)
    except (OSError, UnicodeDecodeError) as error:
        raise SheetError([Fault(table.name, f"cannot be read: {error}", "Check the file.")]) from error


def as_text(found: bytes | str) -> str:
    """Return a file's text."""
    return found if isinstance(found, str) else decoded(found)


def _as(old: bytes | str, text: str) -> bytes | str:
    return text if isinstance(old, str) else as_bytes(old, text)


def as_bytes(old: bytes | str, text: str) -> bytes:
    """Write a text in the coding in which the old one was: its byte order mark kept."""
    assert not isinstance(old, str)
    if old.startswith(codecs.BOM_UTF16_LE):
        return codecs.BOM_UTF16_LE + text.encode("utf-16-le")
    if old.startswith(codecs.BOM_UTF16_BE):
        return codecs.BOM_UTF16_BE + text.encode("utf-16-be")
    return (codecs.BOM_UTF8 if old.startswith(codecs.BOM_UTF8) else b"") + text.encode("utf-8")
