"""What a question says, as tables and sentences: plain data that terminal, page and PDF each draw.

Every text is as it is to be read, in the units asked for.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from valvetrain.answers.output import outputs
from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.setup.units import shown, shown_spread, written_unit

__all__ = [
    "KNOWN",
    "SIGNS",
    "Block",
    "Sentence",
    "Table",
    "bare",
    "cells",
    "columns",
    "known_somewhere",
    "known_to",
    "valve_table",
    "verdicts_of",
    "with_doubt",
    "worst",
]

# A verdict is a word first; the sign and the style only help to find it.
SIGNS = {"ok": "ok", "out": "OUT <<", "unsure": "unsure ?", "unmeasured": "not measured"}
KNOWN = "+- at most (k = 2)"
"""Name of the last row, where the columns are quantities."""
_RANK = ("out", "unsure", "unmeasured", "ok")


@dataclass(frozen=True)
class Table:
    """One table.

    Attributes:
        caption: its title, with the units.
        columns: headers; the first column names the rows.
        rows: cells as text.
        known: the last row, to what each column is known, its own name first; empty where there is none.
        words: places of columns that hold words, so that they stand at the left.
        verdicts: of each row, drawn as a last column, "" where a row is not judged; empty where none is.
        breaks: rows after which a line is drawn.
        strong: cells (row, column) that should be seen first.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    known: tuple[str, ...] = ()
    words: frozenset[int] = frozenset()
    verdicts: tuple[str, ...] = ()
    breaks: frozenset[int] = frozenset()
    strong: frozenset[tuple[int, int]] = field(default=frozenset())

    @property
    def spelled(self) -> "Table":
        """Return the table with its verdicts as a last column of words."""
        if not self.verdicts:
            return self
        rows = (
            (*row, SIGNS.get(verdict, "-")) for row, verdict in zip(self.rows, self.verdicts, strict=True)
        )
        return replace(
            self,
            columns=(*self.columns, "verdict"),
            rows=tuple(rows),
            known=(*self.known, "") if self.known else (),
            words=self.words | {len(self.columns)},
            verdicts=(),
        )


@dataclass(frozen=True)
class Sentence:
    """One sentence, or a heading.

    Attributes:
        text: the words.
        strong: True for headings and what must not be missed.
        mark: what stands before it, as a box to tick; further lines stay under its start.
    """

    text: str
    strong: bool = False
    mark: str = ""


Block = Table | Sentence


def worst(verdicts: Sequence[str]) -> str:
    """Return the verdict that matters most; "ok" where there is none."""
    return next((verdict for verdict in _RANK if verdict in verdicts), "ok")


def verdicts_of(checks: Sequence[Check], valves: Sequence[str]) -> tuple[str, ...]:
    """Return the worst verdict of each valve; on what it is stands in the list of what to do."""
    return tuple(worst([check.verdict for check in checks if check.valve == valve]) for valve in valves)


def bare(value: float, dimension: str, system: str) -> str:
    """Write a value without its unit, which stands in a header; "-" where it is unknown."""
    if math.isnan(value):
        return "-"
    return shown(value, dimension, system).removesuffix(f" {written_unit(dimension, system)}")


def cells(quantity: Quantity, system: str) -> tuple[str, ...]:
    """Write a quantity at every valve, without its unit, to the digits that its doubt deserves."""
    unit = written_unit(quantity.dimension, system)
    written = []
    for value, uncertainty in zip(quantity.value, quantity.uncertainty, strict=True):
        text = shown(float(value), quantity.dimension, system, float(uncertainty))
        written.append("-" if math.isnan(value) else text.removesuffix(f" {unit}"))
    return tuple(written)


def with_doubt(value: float, doubt: float, dimension: str, system: str) -> str:
    """Write a value with its expanded uncertainty (k = 2), without their unit; "none" where it is unknown."""
    if math.isnan(value):
        return "none"
    unit = f" {written_unit(dimension, system)}"
    text = shown(value, dimension, system, doubt).removesuffix(unit)
    if math.isnan(doubt) or doubt == 0:
        return text
    return f"{text} +-{shown_spread(2 * doubt, dimension, system).removesuffix(unit)}"


def known_to(quantity: Quantity, system: str) -> str:
    """Write the greatest expanded uncertainty (k = 2) of a quantity over the valves."""
    known = [2 * float(each) for each in quantity.uncertainty if math.isfinite(each)]
    if not known or max(known) == 0.0:
        return ""
    unit = written_unit(quantity.dimension, system)
    return shown_spread(max(known), quantity.dimension, system).removesuffix(f" {unit}")


def columns(result: Any, *names: str) -> list[tuple[str, Quantity | Sequence[str]]]:
    """Return columns for a table: fields of a result under the headings that they give themselves."""
    told = outputs(type(result))
    return [(told[name].heading, getattr(result, name)) for name in names]


def known_somewhere(
    across: Sequence[tuple[str, Quantity | Sequence[str]]],
) -> list[tuple[str, Quantity | Sequence[str]]]:
    """Return the columns that are known at some valve; words always are."""
    return [
        (name, each)
        for name, each in across
        if not isinstance(each, Quantity) or not all(math.isnan(value) for value in each.value)
    ]


def valve_table(
    caption: str,
    valves: Sequence[str],
    across: Sequence[tuple[str, Quantity | Sequence[str]]],
    system: str,
    verdicts: Sequence[str] = (),
) -> Table:
    """Lay out a table with the valves down and the columns across, the verdicts last.

    Args:
        caption: its title, with the units.
        valves: names of the rows.
        across: columns: heading, and a quantity or the cells.
        system: "inch" or "metric".
        verdicts: of each valve; none where nothing is judged.
    """
    written = [cells(each, system) if isinstance(each, Quantity) else tuple(each) for _, each in across]
    return Table(
        caption,
        ("valve", *(name for name, _ in across)),
        tuple((valve, *(column[index] for column in written)) for index, valve in enumerate(valves)),
        (KNOWN, *(known_to(each, system) if isinstance(each, Quantity) else "" for _, each in across)),
        words=frozenset({0}),
        verdicts=tuple(verdicts),
    )
