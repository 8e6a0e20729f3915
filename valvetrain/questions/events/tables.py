"""What is said of the cam events: at the lash set, against lash, and the degree wheel against the card."""

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from valvetrain.answers.table import (
    Block,
    Sentence,
    Table,
    columns,
    valve_table,
    verdicts_of,
    with_doubt,
)
from valvetrain.answers.verdict import Check
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.events.answer import EventsAnswer
from valvetrain.questions.events.checks import cam_move
from valvetrain.questions.events.lash_growth import growth_words
from valvetrain.questions.events.lash_sweep import EventsSweep, lash_cells
from valvetrain.questions.events.study import EventsResult
from valvetrain.questions.events.wheel import WheelResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["case_in_words", "events_tables"]


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
    if any(at == "valve" for _, at in _cases(answer)):
        for words in growth_words(answer.growth):
            yield Sentence(words)
    if answer.sweep is not None:
        for number, (_, at) in enumerate(answer.sweep.checks):
            if at == "valve":
                yield from _sweep(answer.sweep, number, system)
    if answer.wheel is not None:
        yield from _wheel(answer.wheel, system)
        yield Sentence(
            "Events are for the cam as the degree wheel found it; --cam card asks for it as on its card."
            if answer.cam_position == "wheel"
            else "Events are for the cam as on its card, not as the degree wheel found it."
        )


def _cases(answer: EventsAnswer) -> list[tuple[float, str]]:
    """Return the checking lifts asked for."""
    return [(each.checking_lift, each.checked_at) for each in (answer, *answer.more)]


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
        written = _with_doubts(
            quantity.value[:, np.newaxis], quantity.uncertainty[:, np.newaxis], "angle", system
        )
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
        "on the other side. centerline: the middle between opening and closing at this checking lift, of an "
        "asymmetric lobe neither that at another lift nor the nose; a card's and a degree wheel's is read "
        "0.050 in (1.27 mm) below full lift."
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
    """Say the events against lash: the middle valve of each role, and the overlap of the middle cylinder."""
    lift, at = sweep.checks[number]
    length = display_unit("length", system)
    lashes = lash_cells(sweep.lashes, system, changed=sweep.changed)
    own_lash = "each valve's own lash changed" if sweep.changed else "against lash"
    for role in ("intake", "exhaust"):
        own = np.array([each == role for each in sweep.roles])
        if not own.any():
            continue
        names = ("opens", "closes", "duration", "max_lift")
        dimensions = ("angle", "angle", "angle", "length")
        parts = [
            _with_doubts(
                sweep.values[name][:, number][:, own],
                sweep.uncertainties[name][:, number][:, own],
                dimension,
                system,
            )
            for name, dimension in zip(names, dimensions, strict=True)
        ]
        if role == "intake":
            both = sweep.values["overlap"][:, number], sweep.uncertainties["overlap"][:, number]
            parts.append(_with_doubts(*both, "angle", system))
        yield Table(
            f"{role.capitalize()}, {own_lash}, {case_in_words(lift, at, system)}: the middle of its valves "
            f"with +- (k = 2)\n(lengths in {length}, angles in crank degrees)",
            ("change" if sweep.changed else "lash", "opens", "closes", "duration", "greatest lift")
            + (("overlap",) if role == "intake" else ()),
            tuple(zip(lashes, *parts, strict=True)),
        )


def _with_doubts(values: FloatArray, doubts: FloatArray, dimension: str, system: str) -> list[str]:
    """Write the middle of each row with its doubt."""
    return [
        with_doubt(_middle(row), _middle(spread), dimension, system)
        for row, spread in zip(values, doubts, strict=True)
    ]


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
