"""Strategies for a sheet that somebody has changed: keys, tables, encodings."""

import re
from typing import Any

from hypothesis import strategies as st

from tests.fuzz.known import Key, keys, spec_of_column
from tests.fuzz.sheets import NAMES, Sheet, Table, sample
from tests.fuzz.values import hostile, quantity, value


@st.composite
def sheets(draw: Any) -> Sheet:
    """A sample with up to six changes: two of three sheets with such as an engine may have."""
    sheet = sample(draw(st.sampled_from([NAMES[0], NAMES[0], *NAMES])))
    changes = draw(st.sampled_from([_MILD, _MILD, _ANY]))
    for _ in range(draw(st.integers(0, 6))):
        change = draw(st.sampled_from(changes))
        change(draw, sheet)
    return sheet


@st.composite
def mild(draw: Any) -> Sheet:
    """A sample with up to four changes such as an engine may have."""
    sheet = sample(draw(st.sampled_from([NAMES[0], *NAMES])))
    for _ in range(draw(st.integers(0, 4))):
        draw(st.sampled_from((_nudge_key, _nudge_key, _nudge_cell, _remove_key, _blank_cell)))(draw, sheet)
    return sheet


def system(sheet: Sheet) -> str:
    return str(sheet.toml.get("sheet", {}).get("units", "inch"))


def _set_key(draw: Any, sheet: Sheet) -> None:
    key = draw(st.sampled_from(keys()))
    put(sheet.toml, key.path, draw(value(key, "inch" if system(sheet) == "inch" else "metric")))


def _set_known_key(draw: Any, sheet: Sheet) -> None:
    """Change a key that the sheet has: most of all that it says is used."""
    there = present(sheet)
    if there:
        key = draw(st.sampled_from(there))
        put(sheet.toml, key.path, draw(value(key, "inch" if system(sheet) == "inch" else "metric")))


def _remove_key(draw: Any, sheet: Sheet) -> None:
    there = present(sheet)
    if there:
        path = draw(st.sampled_from(there)).path
        place = sheet.toml
        for step in path[:-1]:
            place = place[step]
        del place[path[-1]]


def _remove_section(draw: Any, sheet: Sheet) -> None:
    if sheet.toml:
        del sheet.toml[draw(st.sampled_from(sorted(sheet.toml)))]


def _add_odd_key(draw: Any, sheet: Sheet) -> None:
    section = draw(st.sampled_from([*sorted(sheet.toml), "odd"]))
    if isinstance(sheet.toml.get(section, {}), dict):
        sheet.toml.setdefault(section, {})[draw(hostile) or "odd"] = draw(hostile)


def _change_cell(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is None or not table.rows:
        return
    row = draw(st.sampled_from(table.rows))
    if not row:
        return
    column = draw(st.integers(0, len(row) - 1))
    spec = spec_of_column(table.header[column]) if column < len(table.header) else None
    written = (
        draw(hostile)
        if spec is None
        else draw(quantity(spec, "inch" if system(sheet) == "inch" else "metric"))
    )
    row[column] = str(written).replace(".", "," if table.separator == ";" else ".")


def _change_header(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is None or not table.header:
        return
    column = draw(st.integers(0, len(table.header) - 1))
    name = table.header[column].partition("[")[0].strip()
    table.header[column] = draw(
        st.sampled_from(
            [f"{name} [mm]", f"{name} [in]", f"{name} [{draw(hostile)}]", name, "", "odd", name.upper()]
        )
    )


def _shuffle_rows(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is not None:
        table.rows[:] = draw(st.permutations(table.rows)) if len(table.rows) < 40 else table.rows[::-1]


def _drop_row(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is not None and table.rows:
        del table.rows[draw(st.integers(0, len(table.rows) - 1))]


def _double_row(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is not None and table.rows:
        table.rows.append(list(draw(st.sampled_from(table.rows))))


def _drop_column(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is None or not table.header:
        return
    column = draw(st.integers(0, len(table.header) - 1))
    for row in (table.header, *table.rows):
        if column < len(row):
            del row[column]


def _write_otherwise(draw: Any, sheet: Sheet) -> None:
    """As another program writes a table."""
    if (table := _some_table(draw, sheet)) is not None:
        table.end = draw(st.sampled_from(["\n", "\r\n", "\r", "\n\n"]))
        table.encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le"]))
        if table.separator == ",":
            table.separator = draw(st.sampled_from([",", "\t", ";"]))


def _raw_table(draw: Any, sheet: Sheet) -> None:
    if (table := _some_table(draw, sheet)) is not None:
        written = table.written()
        cut = draw(st.integers(0, len(written)))
        table.raw = draw(
            st.sampled_from(
                [b"", b"\xff\xfe\x00", written[:cut], written[:cut] + b'"' + written[cut:], b"\x00" * 100]
            )
        )


def _raw_sheet(draw: Any, sheet: Sheet) -> None:
    from tests.fuzz.sheets import toml_text

    written = toml_text(sheet.toml).encode("utf-8", "surrogatepass")
    cut = draw(st.integers(0, len(written)))
    end = draw(st.sampled_from([b"", b"\x00", b'"', b"[", b"=", b"\xff", b"\r", b"[a." * 40]))
    sheet.raw = written[:cut] + end + (written[cut:] if draw(st.booleans()) else b"")


def _nudge_key(draw: Any, sheet: Sheet) -> None:
    """Change a number of the sheet a little, or how surely it is known: a lot."""
    there = [key for key in present(sheet) if key.kind == "quantity"]
    if there:
        path = draw(st.sampled_from(there)).path
        put(sheet.toml, path, draw(nudged(written_at(sheet.toml, path))))


def _nudge_cell(draw: Any, sheet: Sheet) -> None:
    table = sheet.tables.get("valves.csv")
    if table is None or not table.rows:
        return
    row = draw(st.sampled_from(table.rows))
    column = draw(st.integers(1, max(1, len(row) - 1)))
    if column < len(row) and row[column].strip():
        cell = str(draw(nudged(row[column].replace(",", "."))))
        row[column] = cell.replace(".", "," if table.separator == ";" else ".")


def _blank_cell(draw: Any, sheet: Sheet) -> None:
    table = sheet.tables.get("valves.csv")
    if table is not None and table.rows:
        row = draw(st.sampled_from(table.rows))
        if len(row) > 1:
            row[draw(st.integers(1, len(row) - 1))] = ""


@st.composite
def nudged(draw: Any, written: Any) -> Any:
    """A value near another: 1.450, "1.450 +/- 0.003" or "36.8 mm"; what is no such value stays."""
    found = _VALUE.match(str(written))
    if found is None or isinstance(written, bool):
        return written
    value, spread, unit = float(found[1]), found[2], (found[3] or "").strip()
    value *= draw(st.sampled_from([1.0, 1.0, 1.0, 0.999, 1.001, 0.98, 1.03, 0.8, 1.25, 0.0, -1.0]))
    if value == 0.0:
        value = draw(st.sampled_from([0.0, 0.001, -0.001, 0.01]))
    share = draw(st.sampled_from([None, None, 0.0, 1e-4, 1e-3, 0.01, 0.05, 0.2, 0.5, 0.9]))
    text = f"{value:.6g}"
    if share is not None:
        text += f" +/- {share * abs(value) if value else share:.3g}"
    elif spread is not None:
        text += f" +/- {spread}"
    elif not unit:
        return value
    return f"{text} {unit}".strip()


_VALUE = re.compile(r"^\s*([+-]?\d+(?:\.\d*)?)\s*(?:\+/-\s*(\d+(?:\.\d*)?))?\s*([A-Za-z%/*0-9]*)\s*$")


def written_at(document: dict[str, Any], path: tuple[str, ...]) -> Any:
    place: Any = document
    for step in path:
        place = place[step]
    return place


_MILD = (
    *(_nudge_key,) * 6,
    *(_nudge_cell,) * 3,
    *(_remove_key,) * 2,
    _blank_cell,
    _shuffle_rows,
    _set_key,
)
_ANY = (
    _nudge_key,
    _nudge_cell,
    *(_set_known_key,) * 5,
    *(_set_key,) * 4,
    *(_remove_key,) * 3,
    *(_change_cell,) * 5,
    _remove_section,
    _add_odd_key,
    _change_header,
    _shuffle_rows,
    _drop_row,
    _double_row,
    _drop_column,
    _write_otherwise,
    _raw_table,
    _raw_sheet,
)


def _some_table(draw: Any, sheet: Sheet) -> Table | None:
    names = sorted(sheet.tables)
    # The table of valves is read by every command, the others by some.
    return (
        sheet.tables[draw(st.sampled_from([*["valves.csv"] * 3, *names]))] if "valves.csv" in names else None
    )


def put(document: dict[str, Any], path: tuple[str, ...], written: Any) -> None:
    """Set a key, making the sections that it stands in."""
    for step in path[:-1]:
        if not isinstance(document.get(step), dict):
            document[step] = {}
        document = document[step]
    document[path[-1]] = written


def present(sheet: Sheet) -> list[Key]:
    """Return the keys that a sheet has."""
    found = []
    for key in keys():
        place: Any = sheet.toml
        for step in key.path:
            place = place.get(step) if isinstance(place, dict) else None
        if place is not None:
            found.append(key)
    return found
