"""CSV tables as spreadsheets write them, read into named columns of text cells."""

import codecs
import csv
import re
from dataclasses import dataclass
from pathlib import Path

from valvetrain.setup.faults import UNSEEN, Fault, SheetError, written_as
from valvetrain.setup.tables.file_content import content_of
from valvetrain.setup.tables.xlsx_file import is_workbook, workbook_text
from valvetrain.setup.units import is_unit
from valvetrain.setup.values import is_value

__all__ = ["Table", "decoded", "plain_cell", "read_table", "split_table", "table_text", "unguarded"]

# A first line by which some spreadsheet programs say what stands between the cells.
_SEPARATOR = re.compile(r'^\s*"?sep=(?P<separator>[,;\t])"?\s*$', re.IGNORECASE)
_LINE_END = re.compile(r"\r\n|\r|\n")
_NO_TEXT = re.compile(rf"(?!\t)[{UNSEEN}]")

# Signs with which a spreadsheet program takes a cell for a formula, behind the mark that keeps it from that.
_GUARDED = ("'=", "'+", "'-", "'@")

# What a table may have at most: a fleet's record of years has a fifth of it.
_MOST_BYTES = 16_000_000
_MOST_LINES = 250_000
_LONGEST = 20_000

_HEADER = re.compile(r"^(?P<name>[^\[]*?)\s*(?:\[(?P<unit>[^\]]*)\])?$")


@dataclass(frozen=True)
class Table:
    """A table's cells.

    Attributes:
        file: its file name, for messages.
        units: column name -> unit named in the header, or None; in the table's order.
        rows: (line number in the file, column name -> cell text), blank lines and comments left out.
    """

    file: str
    units: dict[str, str | None]
    rows: tuple[tuple[int, dict[str, str]], ...]

    def where(self, line: int, column: str) -> str:
        """Name a cell, for a message."""
        return f"{self.file} line {line}, column {column}"


def split_table(
    path: Path, shown_as: str, required: tuple[str, ...] = ()
) -> tuple[list[tuple[int, str]], str, list[str], dict[str, str | None]]:
    """Read a CSV table's lines and header, as `read_table` does.

    Returns:
        (line number and text of every line that counts, header first; delimiter; name of each cell of the
        header, empty where it has none; column name -> its unit or None).

    Raises:
        SheetError: the file cannot be read, is empty, has a doubled or a missing column.
    """
    try:
        text = table_text(path, shown_as)
    except UnicodeError as error:
        raise SheetError(
            [Fault(shown_as, "is not UTF-8 text", "Save it from the spreadsheet as CSV UTF-8.")]
        ) from error
    written = _LINE_END.split(text)
    lines = [
        (number, line)
        for number, line in enumerate(written, 1)
        if line.strip().strip(",;\t ") and not line.lstrip().lstrip('"').startswith("#")
    ]
    _must_be_text(lines, shown_as)
    named = None
    if lines and (says := _SEPARATOR.match(lines[0][1])):
        named = says["separator"]
        lines = lines[1:]
    if not lines:
        raise SheetError(
            [Fault(shown_as, "the table is empty", "Write a header line and a row for each entry.")]
        )
    delimiter = named or _delimiter(lines[0][1])
    units: dict[str, str | None] = {}
    faults: list[Fault] = []
    names: list[str] = []
    for head in next(csv.reader([lines[0][1]], delimiter=delimiter)):
        match = _HEADER.match(head.strip())
        name = (match["name"] if match else head).strip()
        if name and name in units:
            faults.append(Fault(shown_as, f"column '{name}' stands twice", "Keep one of them."))
        names.append(name)
        if name:
            units[name] = match["unit"].strip() if match and match["unit"] is not None else None
            if units[name] and not is_unit(units[name] or ""):
                faults.append(
                    Fault(
                        f"{shown_as} header",
                        f"column '{name}': {written_as(units[name])} is not a unit",
                        "Write it like mm or lbf/in, or leave the brackets out.",
                    )
                )
    faults += [
        Fault(
            shown_as,
            f"column '{name}' is missing",
            f"Add it; the header has: {', '.join(units) or 'nothing'}.",
        )
        for name in required
        if name not in units
    ]
    if faults:
        raise SheetError(faults)
    return lines, delimiter, names, units


def table_text(path: Path, shown_as: str) -> str:
    """Return a table's text, a spreadsheet file's as CSV.

    Raises:
        UnicodeError, SheetError: it cannot be read.
    """
    if is_workbook(path):
        return workbook_text(path, shown_as)
    found = _content(path, shown_as)
    return found if isinstance(found, str) else decoded(found)


def read_table(path: Path, shown_as: str, required: tuple[str, ...] = ()) -> Table:
    """Read a CSV table: BOM, comma, semicolon or tab, blank lines and # comments are accepted.

    UTF-16, as some spreadsheet programs save their text, is read too; a name that ends in .xlsx is that of a
    spreadsheet file, read by the same rules.

    Args:
        path: the file.
        shown_as: its name in messages.
        required: columns that must be there.

    Raises:
        SheetError: the file cannot be read, is empty, has a doubled, missing or ragged column.
    """
    lines, delimiter, names, units = split_table(path, shown_as, required)
    faults: list[Fault] = []
    rows: list[tuple[int, dict[str, str]]] = []
    for number, line in lines[1:]:
        try:
            row = next(csv.reader([line], delimiter=delimiter, strict=True))
        except csv.Error:
            faults.append(
                Fault(
                    f"{shown_as} line {number}",
                    "a quoted cell does not end on its line, or goes on after its quote",
                    "Take the line break or the stray quotation mark out of the cell.",
                )
            )
            continue
        extra = [cell for cell in row[len(names) :] if cell.strip()]
        if extra:
            faults.append(
                Fault(
                    f"{shown_as} line {number}",
                    f"has {len(row)} cells where the header has {len(names)}",
                    "A decimal comma in a comma-separated file? Use points, or semicolons between cells.",
                )
            )
            continue
        row = row + [""] * (len(names) - len(row))
        rows.append((number, {name: _plain(cell) for name, cell in zip(names, row, strict=False) if name}))
    if not rows and not faults:
        faults.append(Fault(shown_as, "the table has a header but no rows", "Add a row for each entry."))
    if faults:
        raise SheetError(faults)
    return Table(shown_as, units, tuple(rows))


def _content(path: Path, shown_as: str) -> bytes | str:
    """Read the file; its lines are counted before they are parted."""
    found = content_of(path, shown_as, _MOST_BYTES)
    if isinstance(found, str):
        return found
    lines = max(found.count(b"\n"), found.count(b"\r"))
    if lines > _MOST_LINES:
        raise SheetError(
            [
                Fault(
                    shown_as,
                    f"has {lines:,} lines, more than the {_MOST_LINES:,} that are read",
                    "Is it the right file? Keep the rows that are needed.",
                )
            ]
        )
    return found


def _must_be_text(lines: list[tuple[int, str]], shown_as: str) -> None:
    """Refuse lines that hold what is no text, or that no table has."""
    faults = []
    for number, line in lines:
        if (sign := _NO_TEXT.search(line)) is not None:
            faults.append(
                Fault(
                    f"{shown_as} line {number}",
                    f"holds a sign that is no text ({written_as(sign[0])})",
                    "Take it out; is the file a text file?",
                )
            )
        elif len(line) > _LONGEST:
            faults.append(
                Fault(
                    f"{shown_as} line {number}",
                    f"has {len(line):,} letters, more than the {_LONGEST:,} of any line",
                    "Is it the right file? Put a line break behind every row.",
                )
            )
    if faults:
        raise SheetError(faults)


def plain_cell(cell: str) -> str:
    """Write a cell so that no spreadsheet program takes it for a formula; values stay as they are."""
    formula = cell.lstrip()[:1] in ("=", "+", "-", "@")
    return f"'{cell}" if formula and not is_value(cell) else cell


def unguarded(cell: str) -> str:
    """Return what `plain_cell` was given."""
    return cell[1:] if cell.startswith(_GUARDED) else cell


def _delimiter(header: str) -> str:
    """Return the separator that the header line uses most."""
    return max(("\t", ";", ","), key=header.count)


def decoded(content: bytes) -> str:
    """Decode UTF-8, or UTF-16 that says so by its byte order mark."""
    utf16 = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    return content.decode("utf-16" if utf16 else "utf-8-sig")


def _plain(cell: str) -> str:
    """Write a typographic minus and fixed spaces as plain ones."""
    cell = cell.replace("\u2212", "-").replace("\u00a0", " ").replace("\u202f", " ").strip()
    return unguarded(cell)
