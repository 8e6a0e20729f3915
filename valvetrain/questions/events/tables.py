"""What is said of the cam events: at the lash set, against lash, and the degree wheel against the card."""

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from valvetrain.answers.table import Block, Sentence, Table, bare, columns, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.events.answer import EventsAnswer
from valvetrain.questions.events.lash_sweep import EventsSweep
from valvetrain.questions.events.study import EventsResult
from valvetrain.questions.events.wheel import WheelResult
from valvetrain.setup.units import display_unit, from_si, shown

__all__ = ["cam_move", "case_in_words", "events_tables"]


def case_in_words(lift: float, at: str, system: str) -> str:
    """Name a checking lift."""
    return "lift-off and seating" if lift == 0 else f"{shown(lift, 'length', system)} at the {at}"


def events_tables(answer: EventsAnswer, checks: list[Check], system: str) -> Iterator[Block]:
    """Say the events at every checking lift, then against lash, then the degree wheel's."""
    yield from _case(answer, verdicts_of(checks, answer.valves), system)
    for each in answer.more:
        yield from _case(each, (), system)
    if answer.lift_off is not None:
        for each in (answer, *answer.more):
            yield from _difference(each, answer.lift_off, system)
    if answer.hot is not None and (answer.hot.checked_at == "valve"):  # the tappet knows no lash
        yield from _hot(answer.hot, system)
    yield from _notes(answer)
    if answer.sweep is not None:
        for number, (_, at) in enumerate(answer.sweep.checks):
            if at == "valve":
                yield from _sweep(answer.sweep, number, system)
    if answer.wheel is not None:
        yield from _wheel(answer.wheel, system)


def _case(result: EventsResult, verdicts: tuple[str, ...], system: str) -> Iterator[Block]:
    """Say one table of events, the overlaps below it."""
    at = case_in_words(result.checking_lift, result.checked_at, system)
    length, area = display_unit("length", system), display_unit("lift_area", system)
    yield valve_table(
        f"Events at {at} (lengths in {length}, area in {area}, angles in crank degrees)",
        result.valves,
        columns(result, "lash", "opens", "closes", "duration", "centerline", "max_lift", "area"),
        system,
        verdicts,
    )
    for title, quantity, unit in (
        ("Overlap", result.overlap, "crank deg"),
        ("Lobe separation", result.separation, "cam deg"),
    ):
        written = [
            shown(float(value), "angle", system, float(doubt)).removesuffix(" deg")
            for value, doubt in zip(quantity.value, quantity.uncertainty, strict=True)
        ]
        each = [f"cylinder {number} {text}" for number, text in zip(result.cylinders, written, strict=True)]
        if len(set(written)) == 1:
            each = [f"{written[0]} at every cylinder"]
        yield Sentence(f"{title} [{unit}]: {', '.join(each)}")
    gone = [valve for valve, absent in zip(result.valves, result.absent, strict=True) if absent]
    if gone:
        reach = "reaches" if len(gone) == 1 else "reach"
        yield Sentence(f"No such event: {', '.join(gone)} never {reach} {at}.")


def _notes(result: EventsResult) -> Iterator[Block]:
    """Say how the angles are counted, and which lobes were synthesised."""
    yield Sentence(
        "opens: intake before TDC, exhaust before BDC; closes: intake after BDC, exhaust after TDC; minus: "
        "on the other side."
    )
    if all(math.isnan(each) for each in result.lash.value):
        yield Sentence(
            "The lash is not known at any valve: write what is found into the table of valves (without a "
            "column lash the wanted one of [lash] counts), or ask with --lash what another would give."
        )
    made = [
        valve for valve, source in zip(result.valves, result.lobe_source, strict=True) if source == "card"
    ]
    if made:
        yield Sentence(
            f"Lobes of {', '.join(made)} are synthesised from the cam card: timing between the card's own "
            "lifts is a likely figure, with the uncertainty shown."
        )


def _hot(result: EventsResult, system: str) -> Iterator[Block]:
    """Say the events at the hot lash."""
    at = case_in_words(result.checking_lift, result.checked_at, system)
    yield valve_table(
        f"The same hot, {at} (lengths in {display_unit('length', system)}, angles in crank degrees)",
        result.valves,
        [("hot lash", result.lash), *columns(result, "opens", "closes", "duration", "max_lift")],
        system,
    )


def _difference(result: EventsResult, lift_off: EventsResult, system: str) -> Iterator[Block]:
    """Say by how much the duration at a checking lift differs from that between lift-off and seating."""
    roles = []
    for role in ("intake", "exhaust"):
        own = np.array([each == role for each in result.roles])
        here, there = _middle(result.duration.value[own]), _middle(lift_off.duration.value[own])
        if math.isnan(here) or math.isnan(there):
            continue
        more = math.degrees(here - there)
        roles.append(
            f"{role} {math.degrees(here):.0f}, from lift-off {math.degrees(there):.0f} "
            f"({abs(more):.0f} {'less' if more > 0 else 'more'})"
        )
    if roles:
        at = case_in_words(result.checking_lift, result.checked_at, system)
        yield Sentence(
            f"Duration at {at} against lift-off and seating of the valve at its lash, middle valve [crank "
            f"deg]: {'; '.join(roles)}"
        )


def _sweep(sweep: EventsSweep, number: int, system: str) -> Iterator[Block]:
    """Say the events against lash: the middle valve of each role, and how far the valves differ."""

    lift, at = sweep.checks[number]
    length = display_unit("length", system)
    across = []
    for role in ("intake", "exhaust"):
        own = np.array([each == role for each in sweep.roles])
        for name in ("opens", "closes", "duration", "max_lift"):
            values = sweep.values[name][:, number][:, own]
            doubts = sweep.uncertainties[name][:, number][:, own]
            head = f"{role} {'lift' if name == 'max_lift' else name}"
            across.append((head, "length" if name == "max_lift" else "angle", values, doubts))
    across.append(
        ("overlap", "angle", sweep.values["overlap"][:, number], sweep.uncertainties["overlap"][:, number])
    )
    rows = []
    for row, lash in enumerate(sweep.lashes):
        written = [bare(float(lash), "length", system)]
        for _, dimension, values, doubts in across:
            middle, doubt = _middle(values[row]), _middle(doubts[row])
            text = shown(middle, dimension, system, doubt)
            unit = display_unit(dimension, system)
            written.append("none" if math.isnan(middle) else text.removesuffix(f" {unit}"))
        rows.append(tuple(written))
    last = ["spread"]
    for _, dimension, values, _ in across:
        known = values[~np.isnan(values).any(axis=1)]
        spread = float(np.max(np.ptp(known, axis=1))) if known.size else math.nan
        digits = 1 if dimension == "angle" else (4 if system == "inch" else 3)
        written_spread = from_si(spread, dimension, system, difference=True)
        last.append("" if math.isnan(spread) else f"{written_spread:.{digits}f}")
    yield Table(
        f"Against lash, {case_in_words(lift, at, system)}, the middle of each role's valves "
        f"(lengths in {length}, angles in crank degrees)",
        ("lash", *(head for head, *_ in across)),
        tuple(rows),
        tuple(last),
    )


def _middle(values: Any) -> float:
    """Return the middle of the values that are known."""
    known = np.asarray(values)[~np.isnan(values)]
    return float(np.median(known)) if known.size else math.nan


def _wheel(wheel: WheelResult, system: str) -> Iterator[Block]:
    """Say the degree wheel's readings against the card, and what to do with the cam."""
    rows, breaks = [], set()
    for each in wheel.comparisons:
        reading = each.reading
        first = (
            reading.valve,
            f"{shown(reading.checking_lift.value, 'length', system)} {reading.checked_at}",
            "its own" if each.from_card else "worked out",
        )
        for name, part in each.figures.items():
            valve, where, source = first
            first = ("", "", "")
            figures = [math.degrees(number) for number in (part.should, part.value, 2 * part.uncertainty)]
            known = [f"{figures[0]:.1f}", f"{figures[1]:+.1f}", f"{figures[2]:.1f}"]
            told = ["-"] * 3 if math.isnan(part.should) else known
            rows.append((valve, where, name, f"{math.degrees(part.read):.1f}", *told, source))
        breaks.add(len(rows) - 1)
    yield Table(
        "Degree wheel against the card at the same checking lift (crank degrees, +-: k = 2)",
        ("valve", "checked at", "what", "read", "card", "read - card", "+-", "card's figure"),
        tuple(rows),
        words=frozenset({0, 1, 2, 7}),
        breaks=frozenset(breaks),
    )
    yield Sentence(cam_move(wheel))


def cam_move(wheel: WheelResult) -> str:
    """Say which way and how far to move the cam."""
    if math.isnan(wheel.advance):
        return "Cam: no centerline of the card is known; nothing to compare."
    crank, doubt = math.degrees(wheel.advance), 2 * math.degrees(wheel.uncertainty)
    if abs(crank) <= doubt:
        text = f"Cam: agrees with the card within {doubt:.1f} crank degrees; leave it."
    else:
        way = "Advance" if crank > 0 else "Retard"
        text = (
            f"Cam: {way.lower()} it by {abs(crank):.1f} +-{doubt:.1f} crank degrees "
            f"({abs(crank) / 2:.1f} cam degrees): its lobes come {'late' if crank > 0 else 'early'}."
        )
    if wheel.spread > max(wheel.advance * 0, math.radians(1.0), 3 * wheel.uncertainty):
        text += (
            f" The centerlines do not move together (one differs by {math.degrees(wheel.spread):.1f} crank "
            "degrees): read that lobe again before moving the cam; it may stand wrong on the camshaft."
        )
    return text
