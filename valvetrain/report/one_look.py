"""The whole engine in one look: what is right, what to do, what is not measured; lines that fit a width."""

import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from valvetrain.answers.finding import Finding
from valvetrain.answers.grid import grid, legend
from valvetrain.answers.table import Sentence, worst
from valvetrain.answers.verdict import Check
from valvetrain.questions.rocker.shafts import ShaftSummary, shaft_summaries
from valvetrain.report.findings import findings
from valvetrain.report.order import in_words
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import brief, display_unit

__all__ = ["headline", "one_look", "shaft_line", "unmeasured_lines"]

_UNSURE_SHOWN = 5


def one_look(
    setup: Setup,
    results: Mapping[str, Any],
    checks: Mapping[str, Sequence[Check]],
    system: str,
    width: int,
    first_to_measure: str = "",
) -> Iterator[Sentence]:
    """Say how the engine stands in lines no wider than `width` columns.

    Args:
        setup: the engine.
        results: question -> result, the rocker's among them.
        checks: question -> verdicts.
        system: "inch" or "metric".
        width: columns of the terminal.
        first_to_measure: what to measure next, in words; empty where nothing helps.
    """
    yield from headline(setup, checks, width)
    yield from _grid(setup, checks, width)
    found = findings(setup, results, checks, system)
    units = f"{display_unit('length', system)}, {display_unit('force', system)}"
    out = [each for each in found if each.verdict == "out"]
    unsure = [each for each in found if each.verdict == "unsure"]
    if out:
        yield Sentence(f"Put right, in the order of assembly ({units})", strong=True)
    yield from _numbered(out, 1, width)
    if unsure:
        yield Sentence(f"Unsure: measure better ({units}, +- with k = 2)", strong=True)
    yield from _numbered(unsure[:_UNSURE_SHOWN], len(out) + 1, width)
    if len(unsure) > _UNSURE_SHOWN:
        yield Sentence(f"    and {len(unsure) - _UNSURE_SHOWN} more: see --tables")
    for summary in shaft_summaries(setup, results["rocker"]):
        yield from _wrapped(shaft_line(summary, system), width, "    ")
    for line in _lash_lines(setup, system):
        yield from _wrapped(line, width, "    ")
    for line in unmeasured_lines(checks, first_to_measure):
        yield from _wrapped(line, width, "    ")
    if setup.not_borrowed:
        keys = ", ".join(map(in_words, setup.not_borrowed))
        line = f"Blank cells of {keys} count as not measured: the section's value is not taken for them."
        yield from _wrapped(line, width, "    ")


def headline(setup: Setup, checks: Mapping[str, Sequence[Check]], width: int) -> Iterator[Sentence]:
    """Say the engine's name and how many valves are right; the engine's own faults count beside them."""
    every = [check for own in checks.values() for check in own]
    own = {valve: [check.verdict for check in every if check.valve == valve] for valve in setup.valves}
    verdicts = [worst(each) if each else "unmeasured" for each in own.values()]
    words = (("ok", "right"), ("out", "not"), ("unsure", "unsure"), ("unmeasured", "not measured"))
    counts = [(sum(each == verdict for each in verdicts), name) for verdict, name in words]
    told = ", ".join(f"{count} {name}" for count, name in counts if count)
    text = f"{len(verdicts)} valves: {told}"
    title = " ".join(setup.title.split())
    gap = width - len(title) - len(text)
    if gap >= 2:
        yield Sentence(title + " " * gap + text, strong=True)
    else:
        yield Sentence(textwrap.shorten(title, width, placeholder=" ..."), strong=True)
        yield Sentence(text, strong=True)


def _grid(setup: Setup, checks: Mapping[str, Sequence[Check]], width: int) -> Iterator[Sentence]:
    """Lay out the worst verdict of every question at every valve."""
    rows = {}
    for question, own in checks.items():
        by_valve = {valve: [each.verdict for each in own if each.valve == valve] for valve in setup.valves}
        if any(by_valve.values()):
            rows[question] = [worst(each) if each else "" for each in by_valve.values()]
    yield from map(Sentence, grid(rows, setup.valves, width))
    if meant := legend(rows):
        yield Sentence(meant)


def _numbered(found: Sequence[Finding], start: int, width: int) -> Iterator[Sentence]:
    """Write findings as numbered lines, the action first."""
    room = min(14, max((len(each.where) for each in found), default=0))
    for number, each in enumerate(found, start):
        what = f"{each.do}: {each.fact}" if each.fact else each.do
        if each.then:
            what += f"; then {each.then}"
        yield from _wrapped(f"{number:2d}  {each.where:<{room}}  {what}", width, " " * 6)


def shaft_line(summary: ShaftSummary, system: str) -> str:
    """Say one shaft in a line: what is, what the best stock shim would bring, worth it or not."""

    def length(value: float) -> str:
        return brief(value, "length", system)

    name = f"{summary.shaft} shaft" if summary.shaft else "Shaft"
    if not summary.known:
        return f"{name}: no valve of it is measured."
    square = (
        "" if math.isnan(summary.square_now) else f", arm square at {100 * summary.square_now:.0f} % of lift"
    )
    now = f"{name}: sweep {length(summary.sweep_now)}{square}"
    if not summary.change:
        return f"{now}; no stock shim does better."
    way = "+" if summary.change > 0 else "-"
    brings = f"{way}{length(abs(summary.change))} makes it {length(summary.sweep_then)}"
    if math.isfinite(summary.lift_gain):
        gain = summary.lift_gain
        brings += f", {'gains' if gain >= 0 else 'costs'} {length(abs(gain))} of lift"
    return f"{now}; {brings}: {'worth it' if summary.worth_it else 'not needed'}."


def _lash_lines(setup: Setup, system: str) -> Iterator[str]:
    """Say what lash to set, valves of one role together."""
    wanted = setup.column("lash", "wanted").value
    groups: dict[tuple[str, str, str], list[str]] = {}
    for value, train in zip(wanted, setup.trains, strict=True):
        if not math.isnan(value):
            key = (brief(float(value), "length", system), train.lash.at or "", train.lash.state or "")
            groups.setdefault(key, []).append(train.role)
    if groups:
        parts = [f"{' and '.join(dict.fromkeys(roles))} {lash}" for (lash, _, _), roles in groups.items()]
        (_, at, state), *_ = groups
        where = f" at the {at}" if at else ""
        yield f"Lash to set {state}{where}: {', '.join(parts)}.".replace("  ", " ")


def unmeasured_lines(checks: Mapping[str, Sequence[Check]], first: str) -> Iterator[str]:
    """Say what is not measured, valves of the same wants together, and what to measure next."""
    wants: dict[str, dict[str, None]] = {}
    for own in checks.values():
        for check in own:
            if check.verdict == "unmeasured":
                keys = wants.setdefault(check.valve or "engine", {})
                keys |= {in_words(key): None for key in check.missing}
    together: dict[tuple[str, ...], list[str]] = {}
    for valve, keys in wants.items():
        together.setdefault(tuple(keys), []).append(valve)
    if together:
        parts = [
            f"{', '.join(valves)} ({', '.join(keys)})" if keys else ", ".join(valves)
            for keys, valves in together.items()
        ]
        yield f"Not measured: {'; '.join(parts)}."
    if first:
        yield f"Measure next: {first}."


def _wrapped(text: str, width: int, indent: str) -> Iterator[Sentence]:
    """Break a line at blanks, further lines under an indent."""
    lines = textwrap.wrap(
        text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )
    for line in lines:
        yield Sentence(line)
