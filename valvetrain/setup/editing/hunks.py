"""Which lines of a text were changed, put back or done again."""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Hunk", "hunks", "turned"]


@dataclass(frozen=True)
class Hunk:
    """Lines of a text, and what they became.

    Attributes:
        at: place of the first of them, counted from 0, in both texts as far as earlier hunks do not shift it.
        old, new: the lines before and after, with their ends.
    """

    at: int
    old: tuple[str, ...]
    new: tuple[str, ...]

    @property
    def back(self) -> "Hunk":
        """The hunk that takes this one back."""
        return Hunk(self.at, self.new, self.old)


def hunks(before: str, after: str) -> tuple[Hunk, ...]:
    """Return what turns one text into the other, in the order of the lines; `at` counts in the later text."""
    one, other = before.splitlines(keepends=True), after.splitlines(keepends=True)
    if len(one) == len(other):
        return _line_by_line(one, other)
    head = 0
    while head < min(len(one), len(other)) and one[head] == other[head]:
        head += 1
    tail = 0
    while tail < min(len(one), len(other)) - head and one[-1 - tail] == other[-1 - tail]:
        tail += 1
    # A line beside it that stays, by which lines that were only added or taken out find their place.
    if head:
        head -= 1
    elif tail:
        tail -= 1
    return (Hunk(head, tuple(one[head : len(one) - tail]), tuple(other[head : len(other) - tail])),)


def _line_by_line(one: Sequence[str], other: Sequence[str]) -> tuple[Hunk, ...]:
    return tuple(
        Hunk(at, (old,), (new,)) for at, (old, new) in enumerate(zip(one, other, strict=True)) if old != new
    )


def turned(text: str, changes: Sequence[Hunk]) -> str | None:
    """Put the new lines of each hunk where its old ones stand.

    Returns:
        The text; None where some lines are not there any more, neither at their place nor once elsewhere.
    """
    lines = text.splitlines(keepends=True)
    for change in changes:
        at = _found(lines, change)
        if at is None:
            return None
        lines[at : at + len(change.old)] = change.new
    return "".join(lines)


def _found(lines: list[str], change: Hunk) -> int | None:
    size, old = len(change.old), list(change.old)
    if lines[change.at : change.at + size] == old and (size or change.at == len(lines)):
        return change.at
    if not size:
        return None
    places = [at for at in range(len(lines) - size + 1) if lines[at : at + size] == old]
    return places[0] if len(places) == 1 else None
