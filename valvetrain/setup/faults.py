"""What is wrong with a sheet, in words that say where, what is allowed, and how to mend it."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Fault", "SheetError", "nearest"]


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
        return f"{self.where}: {self.what}{end} {self.mend}"


class SheetError(Exception):
    """A sheet that cannot be used; carries all of its faults."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Keep the faults; there is at least one."""
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a sentence that suggests the known name nearest to `word`, or lists the known ones."""
    names = sorted(known)
    match = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    if match:
        return f"Did you mean '{match[0]}'?"
    return f"Known here: {', '.join(names)}."
