"""A worksheet of a spreadsheet file, turned into the CSV lines that the tables are read from."""

import csv
import datetime
import io
import re
import zipfile
from pathlib import Path
from typing import Any

from valvetrain.setup.contents import text_for
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.file_content import content_of

__all__ = ["is_workbook", "workbook_file", "workbook_text"]

_NAMED = re.compile(r"^(?P<file>.+\.xlsx)(?:#(?P<sheet>.+))?$", re.IGNORECASE)
# What a file may have at most, packed and unpacked; cells farther apart than _FAR are no table.
_MOST_BYTES = 8_000_000
_MOST_UNPACKED = 16_000_000
_FAR = 1000

_SHOWN_WORDS = re.compile(r'"([^"]*[^\W\d_][^"]*)"')


def is_workbook(path: Path) -> bool:
    """Say whether a table's name is that of a spreadsheet file: `NAME.xlsx`, or `NAME.xlsx#WORKSHEET`."""
    return _NAMED.match(path.name) is not None


def workbook_file(path: Path) -> Path:
    """Return the path of the file itself: a table's name may have a worksheet behind it."""
    match = _NAMED.match(path.name)
    return path if match is None else path.with_name(match["file"])


def workbook_text(path: Path, shown_as: str) -> str:
    """Return a worksheet as CSV text, tab between cells; line numbers are those of the rows.

    The only worksheet that holds something is taken, or the one named after `#`.

    Args:
        path: the file, its name with `#WORKSHEET` at the end where one is named.
        shown_as: its name in messages.

    Raises:
        SheetError: openpyxl is not installed, the file cannot be read, which worksheet is meant is not clear,
            or a cell holds an error, a formula never worked out, or a unit that only its format shows.
    """
    match = _NAMED.match(path.name)
    assert match is not None
    kept = text_for(path)
    if kept is not None:
        return kept
    file, wanted = workbook_file(path), match["sheet"]
    try:
        from openpyxl import load_workbook
    except ImportError as error:
        raise SheetError(
            [
                Fault(
                    shown_as,
                    "is a spreadsheet file, and openpyxl, which reads it, is not installed",
                    'Run: pip install "valvetrain[xlsx]". Or save the table as CSV and name that file.',
                )
            ]
        ) from error
    content = content_of(file, shown_as, _MOST_BYTES)
    assert isinstance(content, bytes)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            size = sum(each.file_size for each in packed.infolist())
        if size > _MOST_UNPACKED:
            raise SheetError(
                [
                    Fault(
                        shown_as,
                        f"has {size / 1e6:.0f} million bytes unpacked, more than the "
                        f"{_MOST_UNPACKED / 1e6:.0f} million that are read",
                        "Is it the right file? Keep the rows that are needed, or save them as CSV.",
                    )
                ]
            )
        shown = load_workbook(io.BytesIO(content), data_only=True)
        written = load_workbook(io.BytesIO(content))
    except SheetError:
        raise
    except Exception as error:  # openpyxl lets through what zip and XML readers raise
        raise SheetError(
            [Fault(shown_as, "is not a spreadsheet file (.xlsx)", "Save it again as .xlsx, or as CSV.")]
        ) from error
    name = _worksheet(shown, shown_as, wanted)
    return _lines(shown[name], written[name], shown_as)


def _worksheet(book: Any, shown_as: str, wanted: str | None) -> str:
    """Find the worksheet that is meant."""
    names: list[str] = [each.title for each in book.worksheets]
    if wanted is not None:
        if wanted not in names:
            raise SheetError(
                [Fault(shown_as, f"has no worksheet '{wanted}'", f"It has: {', '.join(names)}.")]
            )
        return wanted
    filled = [
        each.title for each in book.worksheets if any(cell.value is not None for cell in each._cells.values())
    ]
    if len(filled) > 1:
        raise SheetError(
            [
                Fault(
                    shown_as,
                    f"has {len(filled)} worksheets with something in them: {', '.join(filled)}",
                    f'Say which, for example "{shown_as}#{filled[0]}".',
                )
            ]
        )
    return filled[0] if filled else names[0]


def _lines(shown: Any, written: Any, shown_as: str) -> str:
    """Write the rows as text; every fault of a cell is reported at once."""
    faults: list[Fault] = []
    out = io.StringIO()
    writer = csv.writer(out, delimiter="\t", lineterminator="\n")
    row_written = 0
    for number, columns in _filled(written, shown_as):
        while row_written < number - 1:
            out.write("\n")
            row_written += 1
        row_written += 1
        cells = []
        for column in range(1, max(columns) + 1):
            cell, formula = shown.cell(number, column), written.cell(number, column)
            where = f"{shown_as} cell {cell.coordinate}"
            if cell.data_type == "e":
                faults.append(Fault(where, f"holds the error {cell.value}", "Mend its formula."))
            elif formula.data_type == "f" and cell.value is None and cell.data_type == "n":
                faults.append(
                    Fault(
                        where,
                        "holds a formula whose result is not in the file",
                        "Open the file in the spreadsheet program and save it, or write the number.",
                    )
                )
            else:
                try:
                    cells.append(_text(cell))
                    continue
                except ValueError as error:
                    faults.append(Fault(where, str(error), "Write the unit into the column's header."))
            cells.append("")
        writer.writerow(cells)
    if faults:
        raise SheetError(faults)
    return out.getvalue()


def _filled(worksheet: Any, shown_as: str) -> list[tuple[int, list[int]]]:
    """Return the rows that hold something, with their columns; one far from all others is a fault.

    What is there is asked for, not what lies between: a stray cell may stand in the last row of a worksheet,
    with ten thousand million others before it.
    """
    rows: dict[int, list[int]] = {}
    for (row, column), cell in worksheet._cells.items():
        if cell.value is not None:
            rows.setdefault(row, []).append(column)
    faults, before = [], 0
    for row in sorted(rows):
        if row - before > _FAR:
            faults.append(
                _stray(worksheet, row, min(rows[row]), f"{row - before - 1:,} rows below", shown_as)
            )
        before = row
        gaps = sorted(rows[row])
        for one, next_one in zip([0, *gaps], gaps, strict=False):
            if next_one - one > _FAR:
                faults.append(
                    _stray(worksheet, row, next_one, f"{next_one - one - 1:,} columns from", shown_as)
                )
    if faults:
        raise SheetError(faults)
    return sorted(rows.items())


def _stray(worksheet: Any, row: int, column: int, far: str, shown_as: str) -> Fault:
    name = worksheet.cell(row, column).coordinate
    return Fault(
        f"{shown_as} cell {name}",
        f"stands alone, {far} the rest",
        "Clear that cell: mark its row or column in the spreadsheet program and delete it.",
    )


def _text(cell: Any) -> str:
    """Write one cell as a person would in CSV."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ")
    if isinstance(value, int | float):
        form = str(cell.number_format or "")
        words = _SHOWN_WORDS.search(form)
        if words:
            raise ValueError(f"shows '{words[1].strip()}' by its format alone: the file holds only {value}")
        return f"{100 * value:.15g} %" if "%" in form else f"{value:.15g}"
    # A line break would end the row, and a # at the start would make it a comment only where one is meant.
    return " ".join(str(value).split())
