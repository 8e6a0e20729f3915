"""What a question says, drawn on a terminal: tables, sentences, verdicts in words."""

import sys
from collections.abc import Iterable

from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Drawn
from rich.text import Text

from valvetrain.answers.table import KNOWN, SIGNS, Block, Sentence, Table

__all__ = ["STYLES", "console", "draw", "draw_lines", "print_cautions", "print_hanging", "width"]

# A verdict is a word first; the style only helps to find it.
STYLES = {"ok": "", "out": "bold reverse", "unsure": "bold", "unmeasured": "italic"}
_STRONG = "bold reverse"


def console() -> Console:
    """Return the console for human output: as wide as a terminal, or 110 columns when there is none.

    Brackets are brackets, not markup: names and sentences come from the sheet.
    """
    return _Console(highlight=False, markup=False, width=None if sys.stdout.isatty() else 110)


class _Console(Console):
    """A console that leaves it to the command's start what is done where nobody reads."""

    def on_broken_pipe(self) -> None:
        """Raise the error on."""
        raise BrokenPipeError


def draw(blocks: Iterable[Block]) -> None:
    """Print tables and sentences in their order."""
    out = console()
    for block in blocks:
        if isinstance(block, Table):
            out.print(_table(block))
        elif block.mark:
            print_hanging(out, block.mark, block.text)
        else:
            out.print(Text(block.text, style="bold" if block.strong else ""))


def width() -> int:
    """Return how many columns there are: of the terminal or of COLUMNS, in pipes too; else 80."""
    import shutil

    return max(40, shutil.get_terminal_size((80, 24)).columns)


def draw_lines(lines: Iterable[Sentence]) -> None:
    """Print lines as they are: they fit already."""
    out = _Console(highlight=False, markup=False, width=10_000, soft_wrap=True)
    for line in lines:
        out.print(Text(line.text, style="bold" if line.strong else ""))


def _table(table: Table) -> Drawn:
    """Lay out one table; the last row says to what each column is known."""
    drawn = Drawn(title=table.caption, title_justify="left", title_style="bold", header_style="bold")
    for place, name in enumerate(table.columns):
        words = place == 0 or place in table.words
        drawn.add_column(name, justify="left" if words else "right", overflow="fold" if words else "ellipsis")
    if table.verdicts:
        drawn.add_column("verdict", overflow="fold")
    last = len(table.rows) - 1
    for number, row in enumerate(table.rows):
        cells = [
            Text(cell, style=_STRONG if (number, place) in table.strong else "")
            for place, cell in enumerate(row)
        ]
        if table.verdicts:
            verdict = table.verdicts[number]
            cells.append(Text(SIGNS.get(verdict, "-"), style=STYLES.get(verdict, "italic")))
        rule = number in table.breaks or (number == last and bool(table.known))
        drawn.add_row(*cells, end_section=rule)
    if table.known:
        drawn.add_row("+-" if table.known[0] == KNOWN else table.known[0], *table.known[1:])
    return drawn


def print_hanging(out: Console, mark: str, text: str) -> None:
    """Print text whose further lines stay under its start."""
    left = len(mark)
    lines = Text(text).wrap(out, out.width - left)
    for number, line in enumerate(lines):
        line.rstrip()
        out.print(Padding(Text(mark if number == 0 else " " * left) + line, 0))


def print_cautions(cautions: Iterable[str]) -> None:
    """Print the cautions."""
    draw(Sentence(f"Caution: {caution}", strong=True) for caution in cautions)
