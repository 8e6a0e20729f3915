"""The least clearances as a table, and what the shapes were taken as."""

from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.interference.study import InterferenceResult
from valvetrain.setup.units import display_unit

__all__ = ["interference_details", "interference_tables"]


def interference_tables(result: InterferenceResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say the least clearances, or that nothing of it is in the sheet."""
    if not result.asked:
        yield Sentence("Clearance of rocker, retainer, seal and stand: not asked, the sheet has no [shapes].")
        return
    yield valve_table(
        f"Least clearance through the lift, and the valve lift where: {display_unit('length', system)}",
        result.valves,
        [
            ("rocker to retainer", result.rocker_to_retainer),
            ("at lift", result.rocker_to_retainer_at),
            ("retainer to seal", result.retainer_to_seal),
            ("at lift ", result.retainer_to_seal_at),
            ("rocker to stand", result.rocker_to_stand),
            ("at lift  ", result.rocker_to_stand_at),
        ],
        system,
        verdicts_of(checks, result.valves),
    )


def interference_details(result: InterferenceResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say what the shapes were taken as."""
    for words in dict.fromkeys(each for each in result.shapes if each):
        yield Sentence(f"Shapes: {words}.", mark="  ")
    yield Sentence(
        "Simple shapes are boxes and a bar: where it is close, look with clay or wire solder.", mark="  "
    )
