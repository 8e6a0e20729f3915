"""The re-check as a table: what was foretold, what was read, and what would explain the difference."""

from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, valve_table
from valvetrain.questions.center.recheck import Recheck
from valvetrain.setup.units import display_unit, shown

__all__ = ["recheck_tables", "suspect_lines"]


def recheck_tables(recheck: Recheck, system: str) -> Iterator[Block]:
    """Say what was foretold and what was read, then "done" or the change that is left."""
    unit = display_unit("length", system)
    words = [
        "-" if value != value else "agrees" if agrees else "NOT AS PLANNED"
        for value, agrees in zip(recheck.measured.value, recheck.agrees, strict=True)
    ]
    yield valve_table(
        f"Measured again after assembly by the plan: offsets in {unit}",
        recheck.valves,
        [
            ("foretold", recheck.predicted),
            ("read", recheck.measured),
            ("difference", recheck.difference),
            ("best estimate", recheck.now.offset_before),
            ("with the plan", words),
        ],
        system,
    )
    for line in suspect_lines(recheck, system):
        yield Sentence(line, mark="  [ ] ")
    if recheck.done:
        yield Sentence("Done: every rocker that was measured again sits as planned.", strong=True)
    elif not any(recheck.now.moved) and not any(recheck.now.reason):
        yield Sentence("Nothing to change: every rocker that was measured is within its limits.", strong=True)


def suspect_lines(recheck: Recheck, system: str) -> list[str]:
    """Say which shims would explain what does not agree with the plan."""
    lines = []
    for valve in dict.fromkeys(suspect.valve for suspect in recheck.suspects):
        ways = [
            f"a shim of {shown(each.shim, 'length', system)} "
            + (
                f"stood {each.side} that belongs on the other side"
                if each.kind == "moved"
                else f"too many stood {each.side}, or one too few on the other side"
            )
            for each in recheck.suspects
            if each.valve == valve
        ]
        lines.append(f"{valve}: it sits as if {', or '.join(ways)}. Look before changing anything.")
    return lines
