"""What is said of the lash: ramps and adjuster, cold and hot, the trend over a range."""

import math
from collections.abc import Iterator

from valvetrain.answers.table import (
    Block,
    Sentence,
    Table,
    columns,
    known_somewhere,
    valve_table,
    verdicts_of,
    with_doubt,
)
from valvetrain.answers.verdict import Check
from valvetrain.questions.events.lash_growth import growth_words
from valvetrain.questions.events.lash_sweep import lash_cells
from valvetrain.questions.lash.answer import LashAnswer, LashTrend
from valvetrain.setup.units import shown, written_unit

__all__ = ["lash_details", "lash_tables"]


def lash_tables(result: LashAnswer, checks: list[Check], system: str) -> Iterator[Block]:
    """Say lash and lash window at every valve; one line where the sheet says nothing of either."""
    across = known_somewhere(
        columns(
            result, "cold_lash", "hot_lash", "opening_left", "closing_left", "least_lash", "greatest_lash"
        )
    )
    ramps = not all(math.isnan(each) for each in result.opening_ramp.value)
    grows = not all(math.isnan(each) for each in result.growth.value)
    if ramps or grows:
        what = f"Lash, and {_running(result)} against the cam's ramps" if ramps else "Lash"
        yield valve_table(
            f"{what}; at the valve, in {written_unit('length', system)}",
            result.valves,
            across,
            system,
            verdicts_of(checks, result.valves) if checks else (),
        )
        if not ramps:
            yield Sentence(
                "Ramps: a cam card does not show them; write ramp_height in [lobe] as the cam maker states "
                "it, or read a lift table."
            )
    else:
        yield Sentence(
            "Lash window: not asked, since the sheet gives neither ramps (a lift table, or ramp_height in "
            "[lobe]) nor how the lash grows ([hot], [thermal])."
        )


def lash_details(result: LashAnswer, checks: list[Check], system: str) -> Iterator[Block]:
    """Say how the lash is taken up and set, what it grows by, and the trend that was asked for."""
    across = known_somewhere(
        columns(
            result,
            "opening_velocity",
            "closing_velocity",
            "closing_speed",
            "turns",
            "growth",
            "cold_to_set",
        )
    )
    if across:
        grows = any(name == "growth" for name, _ in across)
        rate, speed = written_unit("lift_rate", system), written_unit("speed", system)
        yield valve_table(
            f"At {_running(result)}: speed of the tappet in {rate} of the cam, seating in {speed} at the "
            "redline;\nturns of the adjuster from zero lash"
            + (f"; growth and lash to set cold in {written_unit('length', system)}" if grows else ""),
            result.valves,
            [*across, ("growth from", result.thermal.source)] if grows else across,
            system,
        )
    yield from _notes(result, system)
    yield from _growth(result, system)
    if result.trend is not None:
        yield from _trend(result, result.trend, system)


def _running(result: LashAnswer) -> str:
    """Say at which lash the ramps are judged."""
    if all(result.runs_hot):
        return "the hot lash"
    return "the hot lash where it is known" if any(result.runs_hot) else "the lash as set"


def _growth(result: LashAnswer, system: str) -> Iterator[Block]:
    """Say of what the growth is made, or what is lacking."""
    if any(not math.isnan(each) for each in result.growth.value):
        yield Sentence("Growth, cold to hot, is positive where the lash opens.")
        if all(math.isnan(each) for each in result.cold_to_set.value):
            yield Sentence("To set cold: write the hot lash wanted as wanted_hot_lash in [hot].")
        for name, own in result.shafts.items():
            said = ", ".join(_grown(result, own, role, system) for role in dict.fromkeys(result.roles))
            yield Sentence(f"Shaft {name}: growth {said}.")
        for index in _one_a_role(result):
            parts = ", ".join(
                f"{name} {shown(value, 'length', system)}" for name, value in result.thermal.parts[index]
            )
            if parts:
                yield Sentence(f"Growth of {result.valves[index]}: {parts}.")
    for words in growth_words(result.thermal):
        yield Sentence(words)


def _grown(result: LashAnswer, own: tuple[int, ...], role: str, system: str) -> str:
    """Say the growth of one role's valves on one shaft: the middle of what is known there."""
    grown = [float(result.growth.value[index]) for index in own if result.roles[index] == role]
    known = sorted(each for each in grown if not math.isnan(each))
    return f"{role} {shown(known[len(known) // 2], 'length', system) if known else 'not known'}"


def _one_a_role(result: LashAnswer) -> list[int]:
    """Return the first valve of each role."""
    return [result.roles.index(role) for role in ("intake", "exhaust") if role in result.roles]


def _notes(result: LashAnswer, system: str) -> Iterator[Block]:
    """Say what the ramps and the adjuster's turns rest on."""
    if "table" in result.ramp_from:
        rows = [
            f"{role} {shown(float(result.opening_ramp.value[index]), 'length', system)} and "
            f"{shown(float(result.closing_ramp.value[index]), 'length', system)}"
            for role, index in zip(("intake", "exhaust"), _one_a_role(result), strict=False)
        ]
        yield Sentence(
            f"Ramp ends as read off the lift tables, at the tappet, opening and closing: {'; '.join(rows)}."
        )
    if any(not math.isnan(each) for each in result.turns.value):
        yield Sentence(
            "Turns: back from the point where the lash is just gone, locknut tightened afterwards; they do "
            "not care about a pad worn hollow, a feeler does."
        )
    seating = result.closing_speed
    if any(doubt > 0.5 * speed for speed, doubt in zip(seating.value, seating.uncertainty, strict=True)):
        yield Sentence(
            "A cam card does not show how fast the ramps are: seating speed is a guess, a lift table tells."
        )
    for valve, error in zip(result.valves, result.feeler_error, strict=True):
        if error > 0:
            yield Sentence(
                f"{valve}: the feeler spans the hollow of the pad; the true lash is "
                f"{shown(float(error), 'length', system)} more than it says. Set this one by turns."
            )


def _trend(result: LashAnswer, trend: LashTrend, system: str) -> Iterator[Block]:
    """Say ramp left and seating speed against lash, for the first valve of each role."""
    length, speed = written_unit("length", system), written_unit("speed", system)
    states = {"hot" if hot else "as set" for hot in result.runs_hot}
    running = f"; judged at {_running(result)} that comes of it" if "hot" in states else ""
    across = [
        (result.valves[index], name, words)
        for index in _one_a_role(result)
        for name, words in (
            ("opening_left", "left opening"),
            ("closing_left", "left closing"),
            ("closing_speed", "seating"),
        )
    ]
    rows = []
    for row, lash in enumerate(lash_cells(trend.lashes, system, changed=trend.changed)):
        cells = [lash]
        for valve, name, _ in across:
            place = row, result.valves.index(valve)
            value, doubt = float(trend.values[name][place]), float(trend.uncertainties[name][place])
            cells.append(with_doubt(value, doubt, trend.dimensions[name], system))
        rows.append(tuple(cells))
    against = "Each valve's own lash changed" if trend.changed else "Against lash as set"
    yield Table(
        f"{against}{running}: ramp left at the valve in {length}, seating in {speed} at the redline, with +- "
        "(k = 2)",
        ("change" if trend.changed else "lash", *(f"{valve} {words}" for valve, _, words in across)),
        tuple(rows),
    )
    yield Sentence("Seating faster means more noise and wear; past the ramp the speed is the flank's.")
