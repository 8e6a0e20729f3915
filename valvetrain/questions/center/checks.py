"""Verdicts on where each rocker sits along the shaft."""

import math

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check, decided, judged
from valvetrain.mechanics.row.shaft import Stand, bays, placed
from valvetrain.parts.row import ShaftRow
from valvetrain.questions.center.study import LEAST_PLAY, CenteringResult
from valvetrain.questions.center.words import cure
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["centering_checks"]

_CONTACT = ("rocker.pad_width", "valve.stem_diameter", "valve.tip_chamfer")


def centering_checks(setup: Setup, result: CenteringResult, system: str) -> list[Check]:
    """Judge every rocker along its shaft.

    The share of the contact kept on the tip and the end clearance always; the offset itself where the sheet
    limits it; the end clearance when warm, the bore's clearance on the shaft and the springs on the shaft
    where the sheet tells of them.
    """
    cures = tuple(
        cure(result, index, system)
        + _to_look_at(setup, result, index)
        + _to_buy(setup, result, index, system)
        for index in range(len(setup.valves))
    )
    found = judged(
        setup,
        "contact_share",
        result.contact_share,
        needs=("station.offset", *_CONTACT),
        cure=cures,
        system=system,
    )
    own = setup.limits["offset"]
    if math.isfinite(own.low) or math.isfinite(own.high):
        found += judged(
            setup, "offset", result.offset_before, needs=("station.offset",), cure=cures, system=system
        )
    found += judged(
        setup,
        "end_clearance",
        result.end_clearance_before,
        needs=("station.end_clearance",),
        cure=cures,
        system=system,
    )
    if result.growth is not None:
        found += judged(
            setup,
            "hot_end_clearance",
            result.growth.end_clearance_hot,
            needs=("station.end_clearance",),
            cure=tuple(_wider(result, index, system) for index in range(len(setup.valves))),
            system=system,
        )
    bore = setup.column("rocker", "bore_clearance")
    if not np.all(np.isnan(bore.value)):
        found += judged(
            setup,
            "bore_clearance",
            Quantity("length", bore.value, bore.uncertainty, {"rocker.bore_clearance": bore.uncertainty}),
            needs=("rocker.bore_clearance",),
            cure=("Bush the rocker or replace it; measure the shaft there as well.",) * len(setup.valves),
            system=system,
        )
    for row in setup.shaft_rows:
        found += _spring_checks(row)
    return found


def _to_look_at(setup: Setup, result: CenteringResult, index: int) -> str:
    """Say that shims are to come out which the sheet does not say are there."""
    if result.shafts is not None:
        return ""
    station = setup.trains[index].station
    unknown = [
        key
        for key, shims, removed in (
            ("front_shims", station.front_shims, result.front_removed[index]),
            ("rear_shims", station.rear_shims, result.rear_removed[index]),
        )
        if removed and not shims
    ]
    if not unknown:
        return ""
    return (
        f" Look first: the sheet does not say which shims are there ({', '.join(unknown)}). With none to "
        "take out, describe the shaft in [[row]]: the plan then says what to machine."
    )


def _to_buy(setup: Setup, result: CenteringResult, index: int, system: str) -> str:
    """Say how thick the shims must be that take up too much play, where the drawer has none that do.

    Where the shaft is described its plan says what to buy.
    """
    play = float(result.end_clearance_before.value[index])
    range_ = setup.limits["end_clearance"]
    if result.shafts is not None or not result.reason[index] or not math.isfinite(range_.high):
        return ""
    if play <= range_.high:
        return ""
    low, high = play - range_.high, play - max(range_.low, LEAST_PLAY)
    between = f"{shown(low, 'length', system)} to {shown(high, 'length', system)}"
    return (
        f" Buy or grind shims that together make {between}: behind the rocker where it is to move "
        "forward, in front where it is to move back, on both sides where it is right."
    )


def _wider(result: CenteringResult, index: int, system: str) -> str:
    """Say what keeps a rocker from binding when warm."""
    assert result.growth is not None
    short = max(-float(result.growth.end_clearance_hot.value[index]), 0.0)
    return f"Leave at least {shown(short, 'length', system)} more end clearance cold."


def _spring_checks(row: ShaftRow) -> list[Check]:
    """Judge the length of every spring on a shaft."""
    checks: list[Check] = []
    lengths = {each.valve: each.spring_lengths for each in placed(row.parts).rockers}
    for bay in bays(row.parts):
        if not bay.springs or not bay.rockers:
            continue
        valve = bay.rockers[0].valve
        doubt = _room_doubt(row, valve) / len(bay.springs)
        for spring, length in zip(bay.springs, lengths[valve], strict=True):
            low, high = spring.least_length, spring.most_length
            verdict = decided(length, doubt, low, high)
            advice = {
                "out": "Change the spring, or the shims and spacers of its bay (center --plan).",
                "unsure": "Measure the spacing of its walls and the widths between them more surely.",
            }.get(verdict, "")
            checks.append(
                Check(
                    "shaft_spring_length",
                    valve,
                    "length of the spring on the shaft in its bay",
                    "length",
                    length,
                    doubt,
                    low,
                    high,
                    verdict,
                    "your own range, from [[row]]; solid and free length where it gives none",
                    advice,
                )
            )
    return checks


def _room_doubt(row: ShaftRow, valve: str) -> float:
    """Standard uncertainty [m] of what is left for the springs of a rocker's bay."""
    at = row.kinds.index(valve)
    walls = [k for k, part in enumerate(row.parts) if isinstance(part, Stand)]
    front = max(k for k in walls if k < at)
    rear = min(k for k in walls if k > at)
    return math.sqrt(sum(row.spread[k] ** 2 for k in range(front + 1, rear + 1)))
