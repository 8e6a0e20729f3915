"""A worksheet of a spreadsheet file, turned into the CSV lines that the tables are read from."""

import csv
import datetime
import io
import re
from pathlib import Path
from typing import Any

from valvetrain.setup.contents import content, text_for
from valvetrain.setup.faults import Fault, SheetError

__all__ = ["is_workbook", "workbook_text"]

_NAMED = re.compile(r"^(?P<file>.+\.xlsx)(?:#(?P<sheet>.+))?$", re.IGNORECASE)
_SHOWN_WORDS = re.compile(r'"([^"]*[^\W\d_][^"]*)"')


def is_workbook(path: Path) -> bool:
    """Say whether a table's name is that of a spreadsheet file: `NAME.xlsx`, or `NAME.xlsx#WORKSHEET`."""
    return _NAMED.match(path.name) is not None


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
    file, wanted = path.with_name(match["file"]), match["sheet"]
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
    try:
        found = content(file)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SheetError(
            [Fault(shown_as, f"cannot be read: {reason}", "Check the name in the sheet and the folder.")]
        ) from error
    assert isinstance(found, bytes)
    try:
        shown = load_workbook(io.BytesIO(found), data_only=True)
        written = load_workbook(io.BytesIO(found))
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
        each.title
        for each in book.worksheets
        if any(cell.value is not None for row in each.iter_rows() for cell in row)
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
    for row, formulas in zip(shown.iter_rows(), written.iter_rows(), strict=True):
        cells = []
        for cell, formula in zip(row, formulas, strict=True):
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
