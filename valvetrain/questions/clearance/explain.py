"""How the numbers of valve, piston and compression come about."""

from collections.abc import Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.piston.clearance import LeastFromReadings, least_from_readings
from valvetrain.questions.clearance.explain_compression import (
    COMPRESSION,
    SLIDER,
    fall,
    first_of,
    place_in_cylinder,
)
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_DERIVED = (
    "own derivation: crank and rod in closed form (method: Khurmi and Gupta, Theory of Machines, chapter 15, "
    "cited from memory) against the valve's lift"
)
_CROWN = {
    "k": "piston.gasket_thickness",
    "d": "piston.deck_clearance",
    "n": "piston.valve_recess",
    "p": "piston.relief_depth",
    "v": "piston.valve_angle",
}


def _sampled(which: str, beside: int, meaning: str, dimension: str) -> Plain:
    """Return crank angle or lift at the lowest of the sampled clearances, or at its neighbor."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        place = _lowest(result, index)
        if place is None:
            return nan
        at = 2 * (min(max(place, 1), (result.crank_angle.size - 1) // 2 - 1) + beside)
        return float(result.crank_angle[at] if which == "angle" else result.lift[index, at])

    return Plain("clearance", meaning, dimension, pick)


def _lowest(result: Any, index: int) -> int | None:
    """Return which of the clearances at every other angle is the lowest; None where unknown."""
    path = result.path[index, ::2]
    return None if np.isnan(path).any() else int(path.argmin())


_NAMES = ((-1, "before that of the lowest"), (0, "of the lowest"), (1, "after that of the lowest"))
_SAMPLED = {
    f"t{number}": _sampled("angle", beside, f"crank angle {words} sample", "angle")
    for number, (beside, words) in enumerate(_NAMES)
} | {
    f"L{number}": _sampled("lift", beside, f"valve's lift at the lash set, at t{number}", "length")
    for number, (beside, words) in enumerate(_NAMES)
}


def _least(setup: Setup, results: Mapping[str, Any], index: int, own: Explanation) -> Explanation:
    """Least of the clearance by its three lowest samples."""
    floor = setup.trains[index].piston.relief_floor
    if floor is None:
        note = f"The relief's floor (piston.relief_floor) is not in the sheet. {_LEAST_NOTE}"
        return replace(own, symbols={**SLIDER, **_CROWN}, steps=(), note=note)
    place, count = _lowest(results["clearance"], index), results["clearance"].path[index, ::2].size
    at_end = place in (0, count - 1)
    along = "1/cos(v)" if floor == "square" else "cos(v)"
    return replace(
        own,
        steps=(
            ("q", "S/2"),
            ("c", along),
            ("G", "(k + d + n + p)*c"),
            *((f"y{one}", f"G + c*({fall(f't{one}')}) - L{one}") for one in "012"),
            ("first", "(y1 - y0)/(t1 - t0)"),
            ("second", "(y2 - y1)/(t2 - t1)"),
            ("bend", "(second - first)/(t2 - t0)"),
            ("slope", "first + bend*(t1 - t0)"),
            ("step", "where(bend > 0, min(max(-slope/(2*bend), t0 - t1), t2 - t1), 0)"),
            (own.name, _ENDS[own.name] if at_end else _INSIDE[own.name]),
        ),
    )


_INSIDE = {"clearance": "y1 + slope*step + bend*step^2", "at_angle": "t1 + step"}
_ENDS = {
    "clearance": "min(y0, y1, y2)",
    "at_angle": "where(y0 <= min(y1, y2), t0, where(y1 <= y2, t1, t2))",
}
_LEAST_NOTE = (
    "Worked out at every second degree from 75 before to 75 after the overlap's top dead center; the least "
    "is that of the parabola through the lowest and its two neighbors. G: gap at top dead center, the valve "
    "shut; c: along the stem for each unit along the cylinder, by the relief's floor; y: clearances. The "
    "lift is the lobe's through the linkage, less the lash."
)


def _curve_least(name: str, doc: str) -> Explanation:
    """Explain the least of the clearance, or where it is."""
    own = Explanation(name, "clearance", doc, {**SLIDER, **_CROWN, **_SAMPLED}, (), _DERIVED, _LEAST_NOTE)
    return replace(own, at=lambda setup, results, index: _least(setup, results, index, own))


def _spline(setup: Setup, index: int) -> LeastFromReadings | None:
    """Return the least of the readings of a valve."""
    readings = setup.trains[index].piston.readings
    if readings is None:
        return None
    return least_from_readings(readings.crank_angles, readings.clearances, readings.reading_uncertainty)


def _read(meaning: str, dimension: str, which: str) -> Plain:
    """Return the lowest reading or the spline's least, or where they are."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        readings, least = setup.trains[index].piston.readings, _spline(setup, index)
        if readings is None or least is None:
            return nan
        lowest = int(np.argmin(readings.clearances))
        return {
            "least": least.clearance,
            "reading": readings.clearances[lowest],
            "read at": readings.crank_angles[lowest],
        }[which]

    def stands(setup: Setup, index: int) -> str:
        readings = setup.trains[index].piston.readings
        return "no readings in the sheet, piston.readings" if readings is None else readings.source

    return Plain("clearance", meaning, dimension, pick, stands)


def _nearest(role: str) -> Plain:
    """Return a head's lift where the two heads are nearest, both shut where that is everywhere."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        cylinder = result.cylinders.index(setup.trains[index].cylinder)
        at = result.gap_angle.value[cylinder]
        if isnan(at):
            return nan
        return float(np.interp(at, result.crank_angle, result.lift[place_in_cylinder(setup, index, role)]))

    return Plain("clearance", f"lift of the {role} valve where they are nearest", "length", pick)


_HEADS = {
    "D1": first_of("intake", "valve", "head_diameter", "head of the intake valve", "length"),
    "D2": first_of("exhaust", "valve", "head_diameter", "head of the exhaust valve", "length"),
    "W": first_of("intake", "piston", "valve_spacing", "between the middles of the closed heads", "length"),
    "beta": first_of("intake", "piston", "valves_between", "between the two stems", "angle"),
}
_LIFTS = {"L1": _nearest("intake"), "L2": _nearest("exhaust")}
_HEADS_DERIVED = (
    "own derivation: distance of the two heads as rectangles in the plane of their stems (shapely)"
)
_HEADS_NOTE = (
    "Stems that lean together bring the heads together as they open: each head is set at its own lift, at "
    "every degree of the overlap, and the least distance is taken."
)


def _lean(setup: Setup, index: int) -> bool:
    """Say whether the stems lean together."""
    between = _HEADS["beta"].pick(setup, None, index)
    return bool(between) and not isnan(between)


def _leaning(own: Explanation, setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Return the heads' explanation, with their lifts where they are nearest at one place."""
    apart = isnan(_LIFTS["L1"].pick(setup, results["clearance"], index))
    return replace(own, symbols=_HEADS if apart else {**_HEADS, **_LIFTS})


def _valve_gap(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Gap of the two heads: in steps where the stems are parallel."""
    if _lean(setup, index):
        return _leaning(_VALVE_GAP, setup, results, index)
    return replace(
        _VALVE_GAP,
        symbols={symbol: _HEADS[symbol] for symbol in ("D1", "D2", "W")},
        steps=(("valve_gap", "max(W - D1/2 - D2/2, 0)"),),
        publication="geometry: the heads of parallel stems are nearest where they are level",
        note="The stems are parallel (valves_between is nought or left out).",
    )


_VALVE_GAP = Explanation(
    "valve_gap",
    "clearance",
    "least gap between the intake and exhaust heads of the cylinder",
    {**_HEADS, **_LIFTS},
    (),
    _HEADS_DERIVED,
    _HEADS_NOTE,
    "valve_to_valve",
)


_GAP_ANGLE = Explanation(
    "gap_angle",
    "clearance",
    "crank angle at which the two heads are nearest",
    {**_HEADS, **_LIFTS},
    (),
    _HEADS_DERIVED,
    f"{_HEADS_NOTE} None where they are nearest over many degrees, as parallel stems or shut valves are.",
)


_JUDGED = Explanation(
    "judged",
    "clearance",
    "clearance that intake_piston_clearance and exhaust_piston_clearance judge",
    {"m": "clearance:measured", "c": "clearance:clearance"},
    (("judged", "either(m, c)"),),
    "definition",
    "Measured where there is a reading, else worked out.",
)

EXPLANATIONS = (
    _curve_least("clearance", "least clearance of valve to piston along the stem"),
    _curve_least("at_angle", "crank angle of that least clearance, after the overlap's top dead center"),
    Explanation(
        "measured",
        "clearance",
        "least clearance from dial or clay readings, brought to the lash set",
        {
            "m": _read("least of the smooth curve through the readings", "length", "least"),
            "x": _read("lowest reading", "length", "reading"),
            "g": "rocker:lash",
            "g0": "piston.readings_lash",
        },
        (("measured", "m + g - g0"),),
        "measured; a cubic spline through the readings",
        "More lash than at the reading lets the valve down by as much less.",
    ),
    Explanation(
        "measured_angle",
        "clearance",
        "crank angle of the least measured clearance",
        {
            "x": _read("lowest reading", "length", "reading"),
            "t": _read("crank angle of the lowest reading", "angle", "read at"),
            "m": _read("least of the smooth curve through the readings", "length", "least"),
        },
        (),
        "measured; a cubic spline through the readings",
        "Where the cubic spline through the readings is least.",
    ),
    replace(
        _JUDGED,
        also=("intake_piston_clearance", "exhaust_piston_clearance"),
        at=lambda setup, results, index: replace(_JUDGED, check=f"{setup.roles[index]}_piston_clearance"),
    ),
    Explanation(
        "relief_gap",
        "clearance",
        "valve head to the wall of its relief, seen along the stem",
        {
            "R": "piston.relief_radius",
            "D": "valve.head_diameter",
            "x": "piston.relief_offset_along",
            "y": "piston.relief_offset_across",
        },
        (("relief_gap", "R - hypot(x, y) - D/2"),),
        "geometry: two circles",
        "",
        "relief_clearance",
    ),
    replace(_VALVE_GAP, at=_valve_gap),
    replace(_GAP_ANGLE, at=lambda setup, results, index: _leaning(_GAP_ANGLE, setup, results, index)),
    *COMPRESSION,
)
