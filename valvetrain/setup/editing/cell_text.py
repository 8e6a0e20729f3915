"""One cell in the text of a table of valves: found, put in, blanked; every other letter stays as it is."""

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path

from valvetrain.setup.contents import reading
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.csv_file import plain_cell, split_table, unguarded

__all__ = ["cell_in", "with_cell"]

# Parted where a table's reading parts them.
_LINES = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$")


def cell_in(text: str, shown_as: str, valve: str, column: str) -> str | None:
    """Return a cell as it is written; None where the valve has no row, the table no such column, or blank."""
    lines, delimiter, names = _split(text, shown_as)
    at = _column(names, column)
    row = _row(lines, delimiter, names, valve)
    if at is None or row is None:
        return None
    cells = next(csv.reader([lines[row][1]], delimiter=delimiter))
    return (unguarded(cells[at].strip()) or None) if at < len(cells) else None


def with_cell(
    text: str,
    shown_as: str,
    valve: str,
    column: str,
    written: str | None,
    otherwise: Callable[[str, str], str] = lambda valve, column: "",
) -> str:
    """Put a value into a cell, or blank it; a column or a row that is not there is added at the end.

    A blank cell was not measured, also where its section has a value. So that a new column or row takes no
    value from anywhere, its other cells are filled with what has held there until now.

    Args:
        text: of the table.
        shown_as: its name, for messages.
        valve: the valve.
        column: the column.
        written: the value as a person writes it; None blanks the cell.
        otherwise: (valve, column) -> what holds there without a cell.

    Raises:
        SheetError: the table cannot be read, or the value has a line break.
    """
    value = "" if written is None else written.strip()
    if "\n" in value or "\r" in value:
        raise SheetError(
            [Fault(f"{shown_as}, {valve}.{column}", "the value has a line break", "Write it on one line.")]
        )
    value = plain_cell(value)
    lines, delimiter, names = _split(text, shown_as)
    physical = _LINES.findall(text)
    at = _column(names, column)
    row = _row(lines, delimiter, names, valve)
    if not value and (at is None or row is None):
        return text
    if at is None:
        at = len(names)
        header = lines[0][0] - 1
        physical[header] = _appended(physical[header], delimiter + column)
        place = names.index("valve")
        for number, line in lines[1:]:
            cells = next(csv.reader([line], delimiter=delimiter))
            other = cells[place].strip().upper() if place < len(cells) else ""
            if other and (kept := otherwise(other, column)):
                physical[number - 1] = _replaced(physical[number - 1], delimiter, at, kept)
    if row is None:
        cells = [otherwise(valve, name) if name else "" for name in names] + [""] * (at + 1 - len(names))
        cells[names.index("valve")], cells[at] = valve, value
        ends = re.search(r"[\r\n]*$", physical[lines[0][0] - 1])
        end = (ends[0] if ends else "") or "\n"
        if not physical[-1].endswith(("\n", "\r")):
            physical[-1] += end
        physical.append(_joined(cells, delimiter) + end)
        return "".join(physical)
    number = lines[row][0] - 1
    physical[number] = _replaced(physical[number], delimiter, at, value)
    return "".join(physical)


def _split(text: str, shown_as: str) -> tuple[list[tuple[int, str]], str, list[str]]:
    """Read the text as the table is read."""
    path = Path(shown_as)
    with reading({path: text}):
        lines, delimiter, names, _ = split_table(path, shown_as, required=("valve",))
    return lines, delimiter, names


def _column(names: list[str], column: str) -> int | None:
    """Find the column of that name, or of another name of the same key."""
    if column in names:
        return names.index(column)
    key = COLUMNS.get(column)
    for at, name in enumerate(names):
        if key is not None and name in COLUMNS and COLUMNS[name][:2] == key[:2]:
            return at
    return None


def _row(lines: list[tuple[int, str]], delimiter: str, names: list[str], valve: str) -> int | None:
    """Find the row of a valve."""
    at = names.index("valve")
    for row, (_, line) in enumerate(lines[1:], 1):
        cells = next(csv.reader([line], delimiter=delimiter))
        if at < len(cells) and cells[at].strip().upper() == valve:
            return row
    return None


def _spans(line: str, delimiter: str) -> list[tuple[int, int]]:
    """Return where each cell of a line begins and ends, its quotation marks with it."""
    spans, start, quoted = [], 0, False
    for at, letter in enumerate(line):
        if letter == '"' and (quoted or at == start):
            quoted = not quoted
        elif letter == '"' and line[at - 1] == '"':
            quoted = True  # a doubled mark inside a quoted cell
        elif letter == delimiter and not quoted:
            spans.append((start, at))
            start = at + 1
    spans.append((start, len(line)))
    return spans


def _replaced(line: str, delimiter: str, at: int, value: str) -> str:
    """Put a value into the cell at that place; spaces around it stay."""
    bare = line.rstrip("\r\n")
    end = line[len(bare) :]
    spans = _spans(bare, delimiter)
    if at >= len(spans):
        missing = delimiter * (at - len(spans) + 1)
        return bare + missing + _joined([value], delimiter) + end
    first, last = spans[at]
    old = bare[first:last]
    before = old[: len(old) - len(old.lstrip(" "))] if old.strip() else ""
    after = old[len(old.rstrip(" ")) :] if old.strip() else ""
    found = bare[:first] + before + _joined([value], delimiter) + after + bare[last:]
    wanted = next(csv.reader([bare], delimiter=delimiter))
    wanted[at] = before + value + after
    if next(csv.reader([found], delimiter=delimiter)) != wanted:
        wanted[at] = value
        found = _joined(wanted, delimiter)  # written out of the ordinary: the line anew
    return found + end


def _appended(line: str, more: str) -> str:
    bare = line.rstrip("\r\n")
    return bare + more + line[len(bare) :]


def _joined(cells: list[str], delimiter: str) -> str:
    """Write cells as a spreadsheet does, in quotation marks only where they are needed."""
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(cells)
    text = out.getvalue()
    return "" if cells == [""] else text  # the writer quotes a lone empty cell
