"""What a page says, before it becomes HTML or PDF: plain data, every text as it is to be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from valvetrain.answers.table import Table

__all__ = [
    "BLANK",
    "BOX",
    "BenchCard",
    "Drawing",
    "Explained",
    "Glance",
    "Page",
    "Section",
    "Stage",
    "Step",
    "Verdict",
]


@dataclass(frozen=True)
class Drawing:
    """One plot: caption, text for who cannot see it, and the SVG or PDF that was drawn."""

    caption: str
    alternative: str
    svg: str = ""
    pdf: bytes = b""


@dataclass(frozen=True)
class Verdict:
    """One verdict that is not ok, or the worst of a kind.

    Attributes:
        valve: its name; empty where it concerns the engine.
        quantity, value, allowed, basis, advice: as text.
        verdict: "ok", "out", "unsure" or "unmeasured".
    """

    valve: str
    quantity: str
    value: str
    allowed: str
    verdict: str
    basis: str
    advice: str


@dataclass(frozen=True)
class Explained:
    """How one quantity comes about.

    Attributes:
        name, doc: the quantity, and what it is.
        steps: (symbol, formula), the last one the quantity; empty where a fit or search finds it.
        publication, note: where the formula is from, and what else matters.
        symbols: (symbol, meaning, where it stands in the sheet).
        table: inputs and result at every valve.
    """

    name: str
    doc: str
    steps: tuple[tuple[str, str], ...]
    publication: str
    note: str
    symbols: tuple[tuple[str, str, str], ...]
    table: Table


@dataclass(frozen=True)
class Section:
    """One question: what was found, and all that stands behind it.

    Attributes:
        name: the command that asks it.
        question: in words.
        verdicts: those that are not ok.
        summary: how many verdicts came out how, in a sentence.
        blocks: tables and sentences in the order in which the command prints them.
        limits: the limits and their basis.
        budget: where the doubt of each quantity comes from.
        drawing: its plot, if it has one.
        explained: how its numbers come about.
        cautions: of this work.
    """

    name: str
    question: str
    verdicts: tuple[Verdict, ...]
    summary: str
    blocks: tuple[Table | str, ...]
    limits: Table | None = None
    budget: Table | None = None
    drawing: Drawing | None = None
    explained: tuple[Explained, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """One thing to do: at which valves, and what."""

    valves: tuple[str, ...]
    what: str

    @property
    def where(self) -> str:
        """Name the valves, or the engine."""
        return ", ".join(self.valves) or "engine"


@dataclass(frozen=True)
class Stage:
    """The things to do at one stage of assembly; `none` says what holds where there is nothing."""

    title: str
    steps: tuple[Step, ...]
    none: str = ""


@dataclass(frozen=True)
class BenchCard:
    """What hangs on the wall while the engine is put together.

    Attributes:
        fit: per valve what goes in where; None where the sheet tells of nothing.
        set_up: per valve what to set, each figure beside a blank for what is found, and a box to tick.
    """

    fit: Table | None
    set_up: Table


BLANK = ""
"""A cell to write into."""

BOX = "\u2610"
"""A box to tick."""


@dataclass(frozen=True)
class Glance:
    """Verdict of every question at every valve.

    Attributes:
        valves: across.
        rows: (question's name, question in words, verdict at every valve, or "" where it is not asked).
    """

    valves: tuple[str, ...]
    rows: tuple[tuple[str, str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Page:
    """The whole page.

    Attributes:
        title, sheet, version: of the engine, the sheet's name, the program.
        facts: the engine in a few words.
        headline: the answer in one or two sentences.
        not_asked: questions of which the sheet says nothing.
        verdicts: every verdict of every question.
        moving: data of the moving drawing, ready to be written as JSON; empty where no valve can be drawn.
    """

    title: str
    sheet: str
    version: str
    facts: tuple[str, ...]
    headline: str
    glance: Glance
    stages: tuple[Stage, ...]
    card: BenchCard
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    not_asked: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    moving: Mapping[str, Any] = field(default_factory=dict)
