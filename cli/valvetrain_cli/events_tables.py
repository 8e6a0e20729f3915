"""Tables of the cam events: at the lash set, against lash, and the degree wheel against the card."""

import math
from typing import TYPE_CHECKING, Any

from valvetrain.setup.units import display_unit, from_si, shown
from valvetrain_cli.tables import console, print_table, verdict_cells

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.events.answer import EventsAnswer
    from valvetrain.questions.events.lash_sweep import EventsSweep
    from valvetrain.questions.events.study import EventsResult
    from valvetrain.questions.events.wheel import WheelResult

__all__ = ["case_in_words", "print_events"]


def case_in_words(lift: float, at: str, system: str) -> str:
    """Name a checking lift."""
    return "lift-off and seating" if lift == 0 else f"{shown(lift, 'length', system)} at the {at}"


def print_events(answer: "EventsAnswer", checks: "list[Check]", system: str) -> None:
    """Print the events at every checking lift, then against lash, then the degree wheel's."""
    _print_case(answer, checks, system)
    for each in answer.more:
        _print_case(each, None, system)
    if answer.lift_off is not None:
        for each in (answer, *answer.more):
            _print_difference(each, answer.lift_off, system)
    if answer.hot is not None and (answer.hot.checked_at == "valve"):  # the tappet knows no lash
        _print_hot(answer.hot, system)
    _print_notes(answer)
    if answer.sweep is not None:
        for number, (_, at) in enumerate(answer.sweep.checks):
            if at == "valve":
                _print_sweep(answer.sweep, number, system)
    if answer.wheel is not None:
        _print_wheel(answer.wheel, system)


def _print_case(result: "EventsResult", checks: "list[Check] | None", system: str) -> None:
    """Print one table of events, the overlaps below it."""
    at = case_in_words(result.checking_lift, result.checked_at, system)
    length, area = display_unit("length", system), display_unit("lift_area", system)
    print_table(
        f"Events at {at} (lengths in {length}, area in {area}, angles in crank degrees)",
        result.valves,
        [
            ("lash", result.lash),
            ("opens", result.opens),
            ("closes", result.closes),
            ("duration", result.duration),
            ("centerline", result.centerline),
            ("greatest lift", result.max_lift),
            ("area", result.area),
        ],
        system,
        None if checks is None else verdict_cells(checks, result.valves),
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
        console().print(f"{title} [{unit}]: {', '.join(each)}", markup=False)
    gone = [valve for valve, absent in zip(result.valves, result.absent, strict=True) if absent]
    if gone:
        reach = "reaches" if len(gone) == 1 else "reach"
        console().print(f"No such event: {', '.join(gone)} never {reach} {at}.", markup=False)


def _print_notes(result: "EventsResult") -> None:
    """Say how the angles are counted, and which lobes were synthesised."""
    console().print(
        "opens: intake before TDC, exhaust before BDC; closes: intake after BDC, exhaust after TDC; minus: "
        "on the other side.",
        markup=False,
    )
    if all(math.isnan(each) for each in result.lash.value):
        console().print(
            "The lash is not known at any valve: write what is found into the table of valves (without a "
            "column lash the wanted one of [lash] counts), or ask with --lash what another would give.",
            markup=False,
        )
    made = [
        valve for valve, source in zip(result.valves, result.lobe_source, strict=True) if source == "card"
    ]
    if made:
        console().print(
            f"Lobes of {', '.join(made)} are synthesised from the cam card: timing between the card's own "
            "lifts is a likely figure, with the uncertainty shown.",
            markup=False,
        )


def _print_hot(result: "EventsResult", system: str) -> None:
    """Print the events at the hot lash."""
    at = case_in_words(result.checking_lift, result.checked_at, system)
    print_table(
        f"The same hot, {at} (lengths in {display_unit('length', system)}, angles in crank degrees)",
        result.valves,
        [
            ("hot lash", result.lash),
            ("opens", result.opens),
            ("closes", result.closes),
            ("duration", result.duration),
            ("greatest lift", result.max_lift),
        ],
        system,
    )


def _print_difference(result: "EventsResult", lift_off: "EventsResult", system: str) -> None:
    """Say by how much the duration at a checking lift differs from that between lift-off and seating."""
    import numpy as np

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
        console().print(
            f"Duration at {at} against lift-off and seating of the valve at its lash, middle valve [crank "
            f"deg]: {'; '.join(roles)}",
            markup=False,
        )


def _print_sweep(sweep: "EventsSweep", number: int, system: str) -> None:
    """Print the events against lash: the middle valve of each role, and how far the valves differ."""
    import numpy as np
    from rich.table import Table

    lift, at = sweep.checks[number]
    length = display_unit("length", system)
    table = Table(
        title=f"Against lash, {case_in_words(lift, at, system)}, the middle of each role's valves "
        f"(lengths in {length}, angles in crank degrees)",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("lash", justify="right")
    columns = []
    for role in ("intake", "exhaust"):
        own = np.array([each == role for each in sweep.roles])
        for name in ("opens", "closes", "duration", "max_lift"):
            values = sweep.values[name][:, number][:, own]
            doubts = sweep.uncertainties[name][:, number][:, own]
            head = f"{role} {'lift' if name == 'max_lift' else name}"
            columns.append((head, "length" if name == "max_lift" else "angle", values, doubts))
    columns.append(
        ("overlap", "angle", sweep.values["overlap"][:, number], sweep.uncertainties["overlap"][:, number])
    )
    for head, *_ in columns:
        table.add_column(head, justify="right")
    for row, lash in enumerate(sweep.lashes):
        written = [shown(float(lash), "length", system).removesuffix(f" {length}")]
        for _, dimension, values, doubts in columns:
            middle, doubt = _middle(values[row]), _middle(doubts[row])
            text = shown(middle, dimension, system, doubt)
            unit = display_unit(dimension, system)
            written.append("none" if math.isnan(middle) else text.removesuffix(f" {unit}"))
        table.add_row(*written, end_section=row == len(sweep.lashes) - 1)
    last = ["spread"]
    for _, dimension, values, _ in columns:
        known = values[~np.isnan(values).any(axis=1)]
        spread = float(np.max(np.ptp(known, axis=1))) if known.size else math.nan
        digits = 1 if dimension == "angle" else (4 if system == "inch" else 3)
        written_spread = from_si(spread, dimension, system, difference=True)
        last.append("" if math.isnan(spread) else f"{written_spread:.{digits}f}")
    table.add_row(*last)
    console().print(table)


def _middle(values: Any) -> float:
    """Return the middle of the values that are known."""
    import numpy as np

    known = np.asarray(values)[~np.isnan(values)]
    return float(np.median(known)) if known.size else math.nan


def _print_wheel(wheel: "WheelResult", system: str) -> None:
    """Print the degree wheel's readings against the card, and what to do with the cam."""
    from rich.table import Table

    table = Table(
        title="Degree wheel against the card at the same checking lift (crank degrees, +-: k = 2)",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    for head in ("valve", "checked at", "what"):
        table.add_column(head)
    for head in ("read", "card", "read - card", "+-"):
        table.add_column(head, justify="right")
    table.add_column("card's figure")
    for each in wheel.comparisons:
        reading = each.reading
        where = f"{shown(reading.checking_lift.value, 'length', system)} {reading.checked_at}"
        source = "its own" if each.from_card else "worked out"
        names = ("centerline", "opens", "closes", "duration")
        for name in names:
            part = getattr(each, name)
            known = not math.isnan(part.should)
            figures = [math.degrees(number) for number in (part.should, part.value, 2 * part.uncertainty)]
            table.add_row(
                reading.valve if name == names[0] else "",
                where if name == names[0] else "",
                name,
                f"{math.degrees(part.read):.1f}",
                *([f"{figures[0]:.1f}", f"{figures[1]:+.1f}", f"{figures[2]:.1f}"] if known else ["-"] * 3),
                source if name == names[0] else "",
                end_section=name == names[-1],
            )
    out = console()
    out.print(table)
    out.print(cam_move(wheel), markup=False)


def cam_move(wheel: "WheelResult") -> str:
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
