"""The text of a sheet: where it stands, that it is TOML, and that its words are words."""

import re
import tomllib
from pathlib import Path
from typing import Any

from valvetrain.setup.faults import UNSEEN, Fault, SheetError, readable, written_as
from valvetrain.setup.tables.file_content import content_of

__all__ = ["FILE", "key_place", "parsed", "sheet_file", "sheet_title"]

FILE = "setup.toml"

_GIVE = "Give the folder that holds setup.toml, or the file itself."
_UNSEEN = re.compile(f"[{UNSEEN}]")

# What a sheet's text may have at most: a full one has a hundredth of it, and sections four deep.
_MOST_BYTES = 2_000_000
_DEEPEST = 12


def sheet_file(path: Path) -> Path:
    """Find the sheet's TOML file.

    Raises:
        SheetError: there is none.
    """
    try:
        is_folder, there = path.is_dir(), path.exists()
        toml = path / FILE if is_folder else path
        filled = toml.exists()
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise SheetError([Fault(readable(str(path), 200), f"cannot be read: {reason}", _GIVE)]) from error
    if not there:
        raise SheetError([Fault(readable(str(path), 200), "does not exist", _GIVE)])
    if not filled:
        raise SheetError(
            [Fault(str(path), "this folder holds no setup.toml", "Give the folder of a setup sheet.")]
        )
    return toml


def parsed(toml: Path) -> dict[str, Any]:
    """Parse the TOML text."""
    found = content_of(toml, FILE, _MOST_BYTES, mend="Check the file.")
    try:
        raw = tomllib.loads(found if isinstance(found, str) else found.decode("utf-8-sig"))
    except tomllib.TOMLDecodeError as error:
        mend = "Mend that line."
        if "invalid value" in str(error).lower():
            mend = "Write a value behind the =, words in quotes; or put # before the line if it is unknown."
        raise SheetError([Fault(FILE, f"is not valid TOML: {error}", mend)]) from error
    except UnicodeDecodeError as error:
        raise SheetError([Fault(FILE, "is not UTF-8 text", "Save it as UTF-8.")]) from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits, brackets in brackets
        what = "holds a number too long, or brackets too deep, to be read"
        raise SheetError([Fault(FILE, what, "Is it a setup sheet? Mend that line.")]) from error
    _must_be_plain(raw)
    return raw


def sheet_title(toml: Path) -> str:
    """Return the title that a sheet gives, or an empty one.

    Raises:
        SheetError: it is not TOML.
    """
    sheet = parsed(toml).get("sheet")
    return str(sheet.get("title", "")) if isinstance(sheet, dict) else ""


def _must_be_plain(raw: dict[str, Any]) -> None:
    """Refuse words with orders to a terminal or line breaks in them, and sections nested without end."""
    faults: list[Fault] = []
    waiting: list[tuple[tuple[str, ...], Any]] = [((), raw)]
    while waiting:
        path, value = waiting.pop()
        where = key_place(list(path)) if path else FILE
        if len(path) > _DEEPEST:
            faults.append(Fault(readable(where, 100), "lies too deep in sections or lists", "Take it out."))
            break
        if isinstance(value, dict):
            waiting += [((*path, key), each) for key, each in value.items()]
            faults += [_not_plain(FILE, f"the key {written_as(key)}") for key in value if _UNSEEN.search(key)]
        elif isinstance(value, list):
            waiting += [((*path, str(place)), each) for place, each in enumerate(value)]
        elif isinstance(value, str) and _UNSEEN.search(value):
            faults.append(_not_plain(where, written_as(value)))
    if faults:
        raise SheetError(faults)


def _not_plain(where: str, what: str) -> Fault:
    return Fault(
        where, f"{what} holds a line break or another sign that is no letter", "Write it on one line."
    )


def key_place(path: list[str]) -> str:
    """Name a key as it stands in the file."""
    if len(path) == 1:
        return f"{FILE} [{path[0]}]"
    section = path[0]
    for step in path[1:-1]:
        section += f" entry {int(step) + 1}" if step.isdigit() else f".{step}"
    return f"{FILE} [{section}] {path[-1]}"
