"""The tables that a sheet names: which keys name one, where each stands, and what may be told of it."""

import os
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from valvetrain.setup.contents import remembered
from valvetrain.setup.faults import UNSEEN, Fault, SheetError, written_as
from valvetrain.setup.tables.xlsx_file import is_workbook, workbook_file

__all__ = ["PARTS", "TABLE_KEYS", "Shelf", "table_names"]

PARTS = ("rocker", "retainer", "seal", "stand")
_SPRINGS = ("spring", "middle_spring", "inner_spring")

TABLE_KEYS: tuple[tuple[str, str], ...] = (
    ("lobe", "table"),
    *((spring, "tests") for spring in _SPRINGS),
    ("rocker", "pad_outline"),
    ("piston", "readings"),
    ("oil", "network"),
    ("oil", "layouts"),
    *(("shapes", f"{part}_outline") for part in PARTS),
)
"""(section, key) that name a table, besides all of `[tables]`."""

_NO_NAME = re.compile(f"[{UNSEEN}]")

# What the usual systems allow, in bytes of one name, and in letters of a path.
_LONGEST, _PATH = 255, 1000
_REMEMBERED = 1_000_000
"""Bytes of a table of which what was read may be kept."""


def table_names(raw: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the names of all tables in a sheet's parsed text, each once, in order."""

    def named() -> Iterator[Any]:
        yield from _section(raw, "tables").values()
        for section, key in TABLE_KEYS:
            given = _section(raw, section)
            for place in (given, *(each for each in given.values() if isinstance(each, Mapping))):
                yield place.get(key)

    return tuple(dict.fromkeys(name for name in named() if isinstance(name, str)))


def _section(raw: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = raw.get(name)
    return found if isinstance(found, Mapping) else {}


class Shelf:
    """The folder of a sheet, from which its tables are read.

    Attributes:
        folder: the sheet's folder.
        outside: files read that lie outside it, in the order in which they were read.
    """

    def __init__(self, folder: Path) -> None:
        """Begin with nothing read."""
        self.folder = folder
        self.outside: list[str] = []

    def read(self, reader: Callable[..., Any], name: str, *arguments: Any, **named: Any) -> Any:
        """Read a table by `reader(path, name, *arguments, **named)`.

        Of a file outside the sheet's folder no line is told, right or wrong: a sheet from elsewhere must not
        show what else is on this machine.

        Raises:
            SheetError: as the reader does, or the name is none that a file can have.
        """
        pieces = (len(os.fsencode(piece)) for piece in re.split(r"[/\\]", name))
        if _NO_NAME.search(name) or max(pieces) > _LONGEST or len(name) > _PATH or not name.strip():
            what = "is no name of a file" if name.strip() else "names no file"
            raise SheetError([Fault(f"setup.toml, table {written_as(name)}", what, "Correct the name.")])
        path = self.folder / name
        real = Path(os.path.realpath(workbook_file(path)))
        if real.is_relative_to(os.path.realpath(self.folder)):
            # Unlike the Path's own, this only says that there is no such file where a name is too long.
            there = os.path.isfile(path)  # noqa: PTH113
            if is_workbook(path) or not there or path.stat().st_size > _REMEMBERED:
                return reader(path, name, *arguments, **named)
            key = (reader.__qualname__, name, repr(arguments), repr(named))
            return remembered(key, path, lambda: reader(path, name, *arguments, **named))
        if str(real) not in self.outside:
            self.outside.append(str(real))
        try:
            return reader(path, name, *arguments, **named)
        except SheetError as error:
            known = _told(error.faults, name)
            raise SheetError([known]) from None


def _told(faults: tuple[Fault, ...], name: str) -> Fault:
    """Say that a file outside cannot be used, and why only where that tells nothing of what is in it."""
    first = faults[0]
    if (
        first.where == name
        and first.what.startswith(("cannot be read", "is a ", "has "))
        and "column" not in first.what
    ):
        return first
    return Fault(
        name,
        "lies outside the sheet's folder and is no table that fits here; what is wrong with it is not shown",
        "Put the table into the sheet's folder, or correct the name.",
    )
