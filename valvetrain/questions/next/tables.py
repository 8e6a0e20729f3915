"""What to measure next, as sentences."""

from collections.abc import Iterator, Mapping, Sequence

from valvetrain.answers.table import Block, Sentence
from valvetrain.questions.next.checks import NextMeasurement
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["next_tables"]

_LISTED = 8


def next_tables(
    setup: Setup, ranked: Sequence[NextMeasurement], counts: Mapping[str, int], system: str
) -> Iterator[Block]:
    """List the measurements, the most useful first; `counts`: verdicts unsure and unmeasured."""
    yield Sentence(setup.title, strong=True)
    if not ranked:
        why = "Every verdict is decided." if not any(counts.values()) else "No measurement would help."
        yield Sentence(f"Nothing to measure next. {why}", strong=True)
        return
    waiting = f"{counts['unsure']} verdicts unsure, {counts['unmeasured']} not measured"
    yield Sentence(f"Measure next, the most useful first ({waiting}; +- with k = 2)", strong=True)
    for number, one in enumerate(ranked[:_LISTED], 1):
        tools = dict.fromkeys(one.instruments)
        whole = len(one.valves) == len(setup.valves)
        where = "" if whole else f" at {', '.join(one.valves)}"
        together = " together:" if len(one.keys) > 1 else ""
        text = f"{together} {', '.join(one.keys)}{where}, with {', '.join(tools)}".strip()
        yield Sentence(text, mark=f" {number:2d}  ")
        said = []
        if one.decided >= 0.05:
            said.append(f"decides about {one.decided:.1f} verdicts that are unsure")
        elif not one.opened:
            said.append("makes surer, but decides no verdict by itself")
        if one.opened:
            said.append(f"opens {one.opened} {'verdicts' if one.opened > 1 else 'verdict'} not measured yet")
        for name, (dimension, now, after) in one.after.items():
            # Two digits, so that a small gain shows.
            unit = display_unit(dimension, system)
            before, then = (2 * from_si(one_u, dimension, system, difference=True) for one_u in (now, after))
            said.append(f"{name}: +-{before:.2g} to +-{then:.2g} {unit}".strip())
        yield Sentence("; ".join(said) + ".", mark="      ")
    if len(ranked) > _LISTED:
        yield Sentence(f"and {len(ranked) - _LISTED} more (--json lists all)", mark="      ")
