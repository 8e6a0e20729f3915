"""What is wrong with a sheet, in words that say where, what is allowed, and how to mend it."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["UNSEEN", "Fault", "SheetError", "nearest", "readable", "written_as"]

UNSEEN = "\\x00-\\x1f\\x7f-\\x9f\\u2028\\u2029"
"""The signs that are orders to a terminal or ends of lines, for a pattern's brackets."""

# Faults that the error's own text holds: of a table without a good row there may be a hundred thousand.
_TOLD = 20

_UNSEEN = re.compile(f"[{UNSEEN}]")


@dataclass(frozen=True)
class Fault:
    """One fault of a sheet.

    Attributes:
        where: file and key, or file, row and column.
        what: the fault, with the value found and what is allowed.
        mend: what to do about it.
    """

    where: str
    what: str
    mend: str

    def __str__(self) -> str:
        """Return the fault as one line."""
        end = "" if self.what.endswith(("?", ".")) else "."
        return f"{readable(self.where, 300)}: {readable(self.what, 600)}{end} {readable(self.mend, 3000)}"


class SheetError(Exception):
    """A sheet that cannot be used; carries all of its faults."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Keep the faults; there is at least one."""
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults[:_TOLD]))


def readable(text: str, most: int = 3000) -> str:
    """Write text so that it is one line and no order to a terminal; of more than `most` letters the ends."""
    if len(text) > most:
        tail = most // 5
        text = f"{text[: most - tail - 5]} ... {text[-tail:]}"
    return _UNSEEN.sub(_escaped, text)


def written_as(value: object) -> str:
    """Write a value as it was given, for a message: long ones and long numbers by their ends."""
    if isinstance(value, int) and not isinstance(value, bool) and value.bit_length() > 200:
        return f"a number of about {int(value.bit_length() * 0.30103) + 1} digits"
    if isinstance(value, list | dict) and len(value) > 20:
        return f"a {'list' if isinstance(value, list) else 'table'} of {len(value)}"
    try:
        return readable(repr(value), 200)
    except (ValueError, RecursionError):
        return f"a {'list' if isinstance(value, list) else 'value'} that is too long or too deep to show"


def _escaped(sign: re.Match[str]) -> str:
    return sign[0].encode("unicode_escape").decode("ascii")


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a sentence that suggests the known name nearest to `word`, or lists the known ones."""
    names = sorted(known)
    match = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    if match:
        return f"Did you mean '{match[0]}'?"
    return f"Known here: {', '.join(names)}."
