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


_LIFT = Plain(
    "clearance",
    "valve's lift there, at the lash set",
    "length",
    lambda setup, result, index: float(result.least_lift[index]),
)
_LEAST_NOTE = (
    "Looked for along the whole path, closer and closer about its lowest place, since the path has a kink "
    "where the valve leaves or meets its seat. G: gap at top dead center, the valve shut; c: along the stem "
    "for each unit along the cylinder, by the relief's floor. The lift is the lobe's through the linkage, "
    "less the lash."
)


def _least(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Least clearance, at the crank angle that was found."""
    floor = setup.trains[index].piston.relief_floor
    if floor is None:
        note = f"The relief's floor (piston.relief_floor) is not in the sheet. {_LEAST_NOTE}"
        return replace(_CLEARANCE, symbols={**SLIDER, **_CROWN}, steps=(), note=note)
    along = "1/cos(v)" if floor == "square" else "cos(v)"
    steps = (
        ("q", "S/2"),
        ("c", along),
        ("G", "(k + d + n + p)*c"),
        ("clearance", f"G + c*({fall('t')}) - L"),
    )
    return replace(_CLEARANCE, steps=steps)


_CLEARANCE = Explanation(
    "clearance",
    "clearance",
    "least clearance of valve to piston along the stem",
    {**SLIDER, **_CROWN, "t": "clearance:at_angle", "L": _LIFT},
    (),
    _DERIVED,
    _LEAST_NOTE,
)


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
    replace(_CLEARANCE, at=_least),
    Explanation(
        "at_angle",
        "clearance",
        "crank angle of that least clearance, after the overlap's top dead center",
        {**SLIDER, **_CROWN, "L": _LIFT},
        (),
        _DERIVED,
        _LEAST_NOTE,
    ),
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
