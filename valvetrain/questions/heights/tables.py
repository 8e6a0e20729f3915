"""The ledger, what the adjusters say, and what it implies."""

from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, columns, valve_table
from valvetrain.answers.verdict import Check
from valvetrain.mechanics.rocker.height_ledger import ITEMS
from valvetrain.questions.heights.checks import ledger_sentences
from valvetrain.questions.heights.study import HeightsResult
from valvetrain.setup.units import display_unit, shown, shown_spread

__all__ = ["heights_tables"]


def heights_tables(result: HeightsResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say the ledger, what the adjusters say, and what it implies."""
    unit = display_unit("length", system)
    if not result.ledger.lines:
        yield Sentence(
            "Height ledger: empty. Name a table in [tables] heights, with columns item and change."
        )
    for line in result.ledger.lines:
        amount = "unknown amount"
        if line.change == line.change:
            spread = shown_spread(2 * line.uncertainty, "length", system)
            amount = f"{shown(line.change, 'length', system)} (+-{spread})"
        valve = f" at {line.valve}" if line.valve else ""
        name = line.item.replace("_", " ")
        yield Sentence(f"{name}{valve}: {amount}; {ITEMS[line.item][2]}", mark="  ")
    yield valve_table(
        f"Height stack from the adjusters: {unit}; plus is taller, or more thread",
        result.valves,
        columns(
            result,
            "exposure_change",
            "known_exposure_change",
            "unknown_reach",
            "unknown_rise",
            "own_part",
            "pushrod_change",
            "stand_shim_change",
        ),
        system,
    )
    for sentence in ledger_sentences(result, system):
        yield Sentence(sentence, mark="  ")
