"""What a question prints, caught as tables and sentences, so that a page says what the command says."""

from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Printed
from rich.text import Text

from valvetrain.answers.table import Table
from valvetrain_cli import tables

__all__ = ["recorded"]

# No sentence is broken into lines on its way into a page.
_WIDE = 100_000


class _Recorder(Console):
    """A console that keeps what is printed."""

    def __init__(self) -> None:
        super().__init__(highlight=False, markup=False, width=_WIDE, color_system=None)
        self.kept: list[Any] = []

    def print(self, *objects: Any, **options: Any) -> None:
        """Keep what would be printed; `options` are a terminal's matter."""
        self.kept.extend(objects)


def recorded(prints: Callable[[], None]) -> tuple[Table | str, ...]:
    """Return what a function prints through `tables.console`, in order; empty lines are left out."""
    recorder = _Recorder()
    token = tables.RECORDER.set(recorder)
    try:
        prints()
    finally:
        tables.RECORDER.reset(token)
    blocks: list[Table | str] = []
    for each in recorder.kept:
        if isinstance(each, Padding):
            each = each.renderable
        if isinstance(each, Printed):
            blocks.append(_table(each))
        elif text := _plain(each):
            blocks.append(text)
    return tuple(blocks)


def _plain(text: Any) -> str:
    """Return the words of what was printed."""
    words = text.plain if isinstance(text, Text) else str(text)
    return " ".join(words.split())


def _table(printed: Printed) -> Table:
    """Turn a terminal's table into one of a page."""
    columns = [[_plain(cell) for cell in column._cells] for column in printed.columns]
    rows = list(zip(*columns, strict=True))
    known: tuple[str, ...] = ()
    if rows and rows[-1][0] == "+-":
        known = ("+- at most (k = 2)", *rows.pop()[1:])
    words = frozenset(place for place, column in enumerate(printed.columns) if column.justify == "left")
    headers = tuple(_plain(column.header) for column in printed.columns)
    return Table(_plain(printed.title or ""), headers, tuple(rows), known, words)
