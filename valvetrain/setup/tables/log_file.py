"""Adding rows to a record on disk: under a lock, checked, whole or not at all, the old bytes untouched."""

import codecs
import csv
import io
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from valvetrain.setup.faults import SheetError
from valvetrain.setup.tables.csv_file import plain_cell, split_table
from valvetrain.setup.tables.log_columns import LOG_COLUMNS, LOG_SPECS
from valvetrain.setup.tables.xlsx_file import is_workbook
from valvetrain.setup.units import display_unit
from valvetrain.setup.writing import held, write_with

__all__ = ["LogRefusedError", "appended"]


class LogRefusedError(Exception):
    """The rows were not added; the sentence says why, and the file is as it was."""


def appended(
    path: Path,
    rows: Sequence[Mapping[str, str]],
    *,
    system: str,
    new: bool,
    check: Callable[[Path], int],
) -> int:
    """Add rows to a record.

    Args:
        path: the record; a link is followed, so that the file it leads to is the one that changes.
        rows: column -> cell; plain numbers are in the units of `system`.
        system: the sheet's units.
        new: begin the record; it must not be there yet. Without it, it must be.
        check: reads the record as it will be and returns its number of rows, or raises.

    Returns:
        the number of rows now in the record.

    Raises:
        LogRefusedError: the file is or is not there, or has no column for a value.
        OSError: it cannot be written.
    """
    if path.is_symlink() and not path.exists():
        raise LogRefusedError(f"is a link to {os.path.realpath(path)}, which does not exist. Name that file.")
    path = Path(os.path.realpath(path))
    if is_workbook(path):
        raise LogRefusedError(
            "is a spreadsheet file. A record is kept as CSV: save it so, and name that file."
        )
    if not path.parent.is_dir():
        raise LogRefusedError(f"the folder {path.parent} does not exist. Make it first.")
    with held(path.parent):
        if new and path.exists():
            raise LogRefusedError("exists already. Leave out --new to add to it.")
        if not new and not path.exists():
            raise LogRefusedError("does not exist. Begin it with --new, or check the name.")
        old = b"" if new else path.read_bytes()
        if old.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            raise LogRefusedError("is UTF-16 text, to which nothing is added. Save it as CSV UTF-8 first.")
        text = old + _lines(path, rows, system, new, old)
        count = 0

        def write(beside: Path) -> None:
            nonlocal count
            beside.write_bytes(text)
            count = check(beside)

        write_with(path, write, force=not new)
    return count


def _lines(path: Path, rows: Sequence[Mapping[str, str]], system: str, new: bool, old: bytes) -> bytes:
    """Write the rows as the record writes its own: its columns, separator and line ends."""
    if new:
        used = {name for row in rows for name in row}
        names = [name for name in LOG_COLUMNS if name in used | {"valve", "lash_found", "lash_left", "state"}]
        units: Mapping[str, str | None] = {
            name: _unit(name, system) if name in LOG_SPECS else None for name in names
        }
        head = ",".join(f"{name} [{units[name]}]" if units[name] else name for name in names)
        delimiter, end = ",", "\n"
        start = f"{head}{end}"
    else:
        try:
            _, delimiter, names, units = split_table(path, path.name, ("valve",))
        except SheetError as error:
            raise LogRefusedError("; ".join(str(fault) for fault in error.faults)) from error
        end = "\r\n" if b"\r\n" in old else "\n"
        start = "" if old.endswith((b"\n", b"\r")) else end
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    for row in rows:
        homeless = [name for name in row if name not in names and name != "engine"]
        if homeless:
            raise LogRefusedError(f"has no column '{homeless[0]}'. Add it to the header first.")
        cells = [plain_cell(_cell(name, row.get(name, ""), units.get(name), system)) for name in names]
        if any("\n" in cell or "\r" in cell for cell in cells):
            raise LogRefusedError("a value holds a line break. Write it on one line.")
        if cells[0].lstrip().startswith("#"):
            raise LogRefusedError("a row that begins with # would be a comment. Write it otherwise.")
        writer.writerow(cells)
    return (start + out.getvalue()).encode("utf-8")


def _cell(name: str, cell: str, unit: str | None, system: str) -> str:
    """Write a value as its column means it: a plain number in other units than the column's gets its unit."""
    if not cell or name not in LOG_SPECS:
        return cell
    own = _unit(name, system)
    plain = cell.replace(",", ".", 1)
    try:
        float(plain)
    except ValueError:
        return cell
    return cell if unit in (None, own) else f"{cell} {own}"


def _unit(name: str, system: str) -> str:
    dimension = LOG_SPECS[name].dimension
    assert dimension is not None
    return display_unit(dimension, system)
