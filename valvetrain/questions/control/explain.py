"""How the numbers of valve control come about."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isfinite, nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.explain_masses import MASSES
from valvetrain.questions.control.study import STEP
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_RIGID = (
    "own derivation: rigid train without friction, force of the lobe on the tappet = 0 by virtual work; each "
    "mass with its own motion"
)
_WORK = "own derivation: virtual work"
_NOTE = (
    "There the force of the lobe on the tappet is i*(F + k*L) + w^2*I with I = v*m + j*J + f*M, w the cam's "
    "speed; I is below nought where the train wants to fly off."
)


def _squares(result: Any, index: int) -> FloatArray:
    """Square of the cam speed at which the force is nought, at every angle; infinite where it never is."""
    force, inertia, lifted = _static(result, index), _inertia(result, index), result.terms.lifted[index]
    leaving = lifted & (inertia < 0)
    return np.where(leaving, force / np.where(leaving, -inertia, 1.0), np.inf)


def _static(result: Any, index: int) -> FloatArray:
    """Spring's force at the lobe."""
    seat, rate = result.seat_load.value[index], result.springs.rate.value[index]
    return np.asarray(result.terms.ratio[index] * (seat + rate * result.terms.valve_lift[index]))


def _inertia(result: Any, index: int) -> FloatArray:
    """Force of the masses for each square of the cam's speed."""
    terms = result.terms
    return np.asarray(
        terms.valve_side[index] * result.valve_side_mass.value[index]
        + terms.rocker[index] * result.rocker_inertia.value[index]
        + terms.follower[index] * result.follower_mass.value[index]
    )


def _leaving(result: Any, index: int) -> int | None:
    """Return which of the angles is the first at which the train leaves its lobe."""
    if not isfinite(result.limit_speed.value[index]):
        return None
    return int(np.argmin(_squares(result, index)))


def _needing(result: Any, index: int) -> int | None:
    """Return which of the angles needs most of the seat load at the redline."""
    short = _short(result, index)
    return None if np.isnan(short).any() else int(np.argmax(short))


def _short(result: Any, index: int) -> FloatArray:
    squared = (result.redline / 2) ** 2
    need = np.where(result.terms.lifted[index], -_inertia(result, index) / result.terms.ratio[index], 0.0)
    rate = result.springs.rate.value[index]
    return np.asarray(np.maximum(need, 0.0) * squared - rate * result.terms.valve_lift[index])


def _topmost(result: Any, index: int) -> int | None:
    """Return which of the angles carries most, turned slowly."""
    force = _static(result, index)
    return None if np.isnan(force).all() else int(np.nanargmax(force))


_FIELDS = {
    "t": ("angle", "cam angle from the lobe's center", "angle"),
    "i": ("ratio", "ratio there", "ratio"),
    "L": ("valve_lift", "valve lift there", "length"),
    "v": ("valve_side", "motion of the valve there, for each kg and square of the speed [m]", "ratio"),
    "j": ("rocker", "motion of the rocker there, for each kg m2 [1/m]", "ratio"),
    "f": ("follower", "motion of the tappet there: second derivative of its lift [m]", "ratio"),
}


def _at(
    place: Callable[[Any, int], int | None], symbols: str, beside: int = 0, mark: str = ""
) -> dict[str, str | Plain]:
    """Return parts of the force at a cam angle, or at the sampled one beside it."""
    found: dict[str, str | Plain] = {}
    for symbol in symbols.split():
        field, meaning, dimension = _FIELDS[symbol]

        def pick(setup: Setup, answer: Any, index: int, field: str = field) -> float:
            result = answer.rigid
            at = place(result, index)
            if at is None or not 0 <= at + beside < result.angle.size:
                return nan
            values = result.angle if field == "angle" else getattr(result.terms, field)[index]
            return float(values[at + beside])

        words = {-1: ", one step before", 0: "", 1: ", one step after"}[beside]
        found[f"{symbol}{mark}"] = Plain("control", f"{meaning}{words}", dimension, pick)
    return found


_SPRING: Mapping[str, str | Plain] = {
    "F": "control:seat_load",
    "k": Plain(
        "control",
        "spring rate, as a straight line from seat to full lift",
        "stiffness",
        lambda setup, answer, index: float(answer.rigid.springs.rate.value[index]),
        "(open load - seat load)/net lift, from `spring` and `rocker`",
    ),
}
_BODIES = {"m": "control:valve_side_mass", "J": "control:rocker_inertia", "M": "control:follower_mass"}
_I = "v{0}*m + j{0}*J + f{0}*M"
_EVERY = {
    **_at(_leaving, "t i L v j f", -1, "0"),
    **_at(_leaving, "t i L v j f", 0, "1"),
    **_at(_leaving, "t i L v j f", 1, "2"),
}
_VERTEX = (
    *((f"I{one}", _I.format(one)) for one in "012"),
    *((f"q{one}", f"i{one}*(F + k*L{one})/(-I{one})") for one in "012"),
    ("bend", "q0 - 2*q1 + q2"),
    ("rise", "(q2 - q0)/2"),
    ("shift", "where(bend > 0, -rise/bend, 0)"),
)


def _limit(name: str, doc: str, inside: str, alone: str) -> Explanation:
    """Explain the limit by the lowest square and its neighbors, or by itself at a border."""
    own = Explanation(
        name,
        "control",
        doc,
        {**_SPRING, **_BODIES, **_EVERY},
        (*_VERTEX, (name, inside)),
        _RIGID,
        _LOWEST,
        in_si=True,
    )

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        result = results["control"].rigid
        place = _leaving(result, index)
        if place is None:
            never = bool(np.isinf(result.limit_speed.value[index]))
            note = "It never leaves its lobe: no angle pushes it off." if never else _NOTE
            return replace(own, symbols={**_SPRING, **_BODIES}, steps=(), note=note)
        squares = _squares(result, index)
        beside = squares[[max(place - 1, 0), min(place + 1, squares.size - 1)]]
        if 0 < place < squares.size - 1 and np.isfinite(beside).all():
            return own
        return replace(
            own,
            symbols={**_SPRING, **_BODIES, **_at(_leaving, "t i L v j f", 0, "1")},
            steps=(("I1", _I.format("1")), ("q1", "i1*(F + k*L1)/(-I1)"), (name, alone)),
        )

    return replace(own, at=told)


_LOWEST = (
    f"{_NOTE} q: square of the speed at which that force is nought, every 1.5 degrees over the nose; the "
    "least is that of the parabola through the lowest and its neighbors. The crank turns twice as fast."
)


def _gain(name: str, doc: str, formula: str) -> Explanation:
    """Explain a gain: the slope of the limit there, times a tenth."""
    own = Explanation(
        name,
        "control",
        doc,
        {"n": "control:limit_speed", **_SPRING, **_BODIES, **_at(_leaving, "t i L v j f")},
        (("I", _I.format("")), ("w", "n/2"), (name, formula)),
        "own derivation: derivative of the limit speed, its angle held (no first-order effect)",
        f"{_NOTE} The derivative of w by what is changed, times {100 * STEP:.0f} % of it, doubled for the "
        "crank: what a small change does, held for the whole of it. The limit is not worked out again.",
        in_si=True,
    )

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        if isfinite(results["control"].rigid.limit_speed.value[index]):
            return own
        return replace(own, steps=(), note="No limit, or not known: nothing is gained.")

    return replace(own, at=told)


def _nose(name: str, doc: str, formula: str, note: str) -> Explanation:
    return Explanation(
        name,
        "control",
        doc,
        {**_SPRING, **_at(_topmost, "t i L")},
        ((name, formula),),
        _WORK,
        note,
        in_si=True,
    )


_MOST = "The angle over the nose at which the spring presses most on the lobe, every 1.5 degrees of the cam."

EXPLANATIONS = (
    _limit(
        "limit_speed",
        "crank speed at which the train first leaves its lobe",
        "2*sqrt(q1 + rise*shift/2)",
        "2*sqrt(q1)",
    ),
    _limit(
        "limit_angle",
        "crank angle from the lobe's center at which it leaves",
        "2*(t1 + shift*(t2 - t1))",
        "2*t1",
    ),
    Explanation(
        "limit_lift",
        "control",
        "valve lift at which it leaves",
        {**_at(_leaving, "t L")},
        (("limit_lift", "L"),),
        _RIGID,
        "Lift at the cam angle, of those worked out every 1.5 degrees, at which the speed is least.",
    ),
    Explanation(
        "control_margin",
        "control",
        "limit speed over the redline, less 1",
        {"n": "control:limit_speed", "N": "engine.redline"},
        (("control_margin", "n/N - 1"),),
        "definition",
        "",
        "control_margin",
        in_si=True,
    ),
    Explanation(
        "seat_load",
        "control",
        "spring load on the seat, as the spring stands",
        {"F": "spring:seat_load"},
        (("seat_load", "F"),),
        "result of `spring`",
        "A spring that does not press on the closed valve counts as unknown.",
        at=lambda setup, results, index: _seat(results, index),
    ),
    Explanation(
        "seat_load_needed",
        "control",
        "seat load that just holds the train to the redline",
        {"k": _SPRING["k"], "N": "engine.redline", **_BODIES, **_at(_needing, "t i L v j f")},
        (
            ("I", _I.format("")),
            ("need", "where(L > 0, max(-I/i, 0)*(N/2)^2, 0)"),
            ("seat_load_needed", "max(need - k*L, 0)"),
        ),
        _RIGID,
        f"{_NOTE} need: spring force that holds it at the redline. Of the angles, every 1.5 degrees over the "
        "nose, it is the one that asks for most beyond what the rate adds.",
        in_si=True,
    ),
    Explanation(
        "seat_load_spare",
        "control",
        "seat load beyond what is needed",
        {"s": "control:seat_load", "n": "control:seat_load_needed"},
        (("seat_load_spare", "s - n"),),
        "definition",
    ),
    _nose("nose_load", "greatest force of lobe on tappet, engine turned slowly", "i*(F + k*L)", _MOST),
    *MASSES,
    _gain("gain_by_seat_load", "crank speed gained by 10 % more seat load", "2*i/(2*w*(-I))*0.1*F"),
    _gain("gain_by_rate", "crank speed gained by 10 % more spring rate", "2*i*L/(2*w*(-I))*0.1*k"),
    _gain("gain_by_valve_side", "crank speed gained by 10 % less mass at the valve", "-2*w*v/(2*(-I))*0.1*m"),
    _gain("gain_by_rocker", "crank speed gained by 10 % less inertia of the rocker", "-2*w*j/(2*(-I))*0.1*J"),
    _gain(
        "gain_by_follower",
        "crank speed gained by 10 % less mass of pushrod and tappet",
        "-2*w*f/(2*(-I))*0.1*M",
    ),
    _nose(
        "nose_load_by_seat_load",
        "load at the nose that 10 % more seat load adds",
        "i*0.1*F",
        f"{_MOST} The load grows evenly with the seat load, so that this is exact.",
    ),
    _nose(
        "nose_load_by_rate",
        "load at the nose that 10 % more spring rate adds",
        "i*L*0.1*k",
        f"{_MOST} The seat load is kept. The load grows evenly with the rate, so that this is exact.",
    ),
    Explanation(
        "spring_bow",
        "control",
        "how far the spring stays below the straight line taken for it",
        {"k0": "spring:rate", "k1": "spring:rate_open", "L": "rocker:net_lift"},
        (("spring_bow", "(k1 - k0)*L/8"),),
        "own derivation: a rate that grows evenly makes a parabola, farthest below its chord at half lift",
    ),
)


def _seat(results: Mapping[str, Any], index: int) -> Explanation:
    """Seat load; none where the spring does not reach the valve."""
    own = next(each for each in EXPLANATIONS if each.name == "seat_load")
    if results["spring"].seat_load.value[index] > 0:
        return replace(own, at=None)
    return replace(own, at=None, steps=())
