"""How the events' numbers come about."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.cam.events import crossings
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.events.cam_position import centerlines
from valvetrain.questions.rocker.explain_linkage import ARMS, CLOSURE, LINKAGE_NOTE, closed, risen
from valvetrain.setup.setup import Setup

__all__ = ["EXPLANATIONS"]

_CURVE = {
    "table": "periodic smoothing spline through the lift table",
    "law": "the motion law, in closed form",
    "card": "own method: a curve through the cam card's durations",
    "": "the lobe is not described",
}
_PLACED = "definition: the crank turns twice as far as the cam"


def _flank(end: str, what: str) -> Callable[[Setup, Any, int], float]:
    """Return cam angle of an event from the lobe's center, or the lobe's lift there."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        curve = lobe_curve(setup.trains[index].lobe)
        if curve is None:
            return nan
        angle = float(getattr(crossings(curve, result.tappet_lift_at_event.value[index]), end))
        return angle if what == "angle" or isnan(angle) else float(curve.lift(angle))

    return pick


def _lobe(setup: Setup, index: int) -> str:
    curve = lobe_curve(setup.trains[index].lobe)
    return f"{_CURVE['' if curve is None else curve.source]}, by Newton's method"


def _angle(end: str) -> Plain:
    return Plain(
        "events", f"cam angle of the {end} from the lobe's center", "angle", _flank(end, "angle"), _lobe
    )


def _lift(end: str) -> Plain:
    return Plain("events", "lift of the lobe's curve at that angle", "length", _flank(end, "lift"))


def _center(setup: Setup, result: Any, index: int) -> float:
    return float(_centers(setup).value[index])


def _center_at(setup: Setup, index: int) -> str:
    return _centers(setup).source[index] or "not in the sheet: cam.intake_centerline, cam.exhaust_centerline"


def _centers(setup: Setup) -> Any:
    return centerlines(setup, [lobe_curve(train.lobe) for train in setup.trains])


_CENTER = Plain(
    "events",
    "lobe's center on the crank: intake after, exhaust before top dead center",
    "angle",
    _center,
    _center_at,
)
_LEVEL = "events:tappet_lift_at_event"


def _by_role(own: Explanation, intake: str, exhaust: str) -> Explanation:
    """Explain an event by the role of its valve."""

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        step = intake if setup.roles[index] == "intake" else exhaust
        return replace(own, steps=((own.name, step),), note=f"{own.note} {_checked(results['events'])}")

    return replace(own, steps=((own.name, intake),), at=told)


def _checked(result: Any) -> str:
    if result.checking_lift == 0.0:
        return "Checking lift: none, where the valve leaves its seat and comes back to it."
    return f"Checking lift read at the {result.checked_at}."


def _event(name: str, end: str, doc: str, intake: str, exhaust: str) -> Explanation:
    own = Explanation(
        name,
        "events",
        doc,
        {"t": _angle(end), "C": _CENTER, "u": _LEVEL, "s": _lift(end)},
        (),
        _PLACED,
        "t: where the lobe's curve has the tappet lift u.",
        proof=(("off", "s - u"),),
    )
    return _by_role(own, intake, exhaust)


_CHECK = Plain(
    "events", "checking lift", "length", lambda setup, result, index: result.checking_lift, "asked for"
)
_NOMINAL = {"n": "rocker.nominal_ratio"}


def _tappet_lift(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Tappet lift at the event: the checking lift itself at the tappet, and none where never reached."""
    result = results["events"]
    if isnan(result.tappet_lift_at_event.value[index]) and result.absent[index]:
        note = "The lobe never lifts the tappet so far."
        return replace(_TAPPET_LIFT, steps=(), note=note)
    if result.checked_at == "tappet":
        return replace(_TAPPET_LIFT, symbols={"c": _CHECK}, steps=(("tappet_lift_at_event", "c"),))
    return _TAPPET_LIFT


_TAPPET_LIFT = Explanation(
    "tappet_lift_at_event",
    "events",
    "tappet lift at which the events are",
    {**ARMS, **_NOMINAL, "c": _CHECK},
    (
        *closed(),
        ("phi", "asin((r - h - c)/a)"),
        ("psi", "phi + alpha - tau"),
        ("y", "b*sin(psi) - sqrt(p^2 - (e + b*cos(psi))^2)"),
        ("tappet_lift_at_event", "either(y - y0, (c + g)/n)"),
    ),
    CLOSURE,
    f"Where the pad has dropped by lash and checking lift; else by the nominal ratio. {LINKAGE_NOTE}",
)


def _max_lift(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
    """Greatest lift at the valve, or at the tappet."""
    if results["events"].checked_at == "tappet":
        return replace(
            _MAX_LIFT,
            symbols={"s": "rocker:lobe_lift"},
            steps=(("max_lift", "s"),),
            publication="definition",
            note="At the tappet, as the checking lift is.",
        )
    return _MAX_LIFT


_MAX_LIFT = Explanation(
    "max_lift",
    "events",
    "greatest lift: net at the valve, or lobe lift at the tappet",
    {**ARMS, **_NOMINAL, "s": "rocker:lobe_lift"},
    (
        *closed(),
        *risen(),
        ("gross", "a*(sin(phi0) - sin(phi))"),
        ("max_lift", "max(either(gross, n*s) - g, 0)"),
    ),
    CLOSURE,
    f"By the linkage, or the nominal ratio without one. {LINKAGE_NOTE}",
)


def _of_role(name: str, role: str, how: Callable[[Any], float], meaning: str) -> Plain:
    """Return an event of the valves of a role of the cylinder: of several, as `how` says."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        cylinder = setup.trains[index].cylinder
        own = [
            float(getattr(result, name).value[at])
            for at, train in enumerate(setup.trains)
            if train.cylinder == cylinder and train.role == role
        ]
        return nan if not own or any(map(isnan, own)) else how(own)

    return Plain("events", meaning, "angle", pick)


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


_CAM_LATE = Explanation(
    "cam_late",
    "events",
    "how late the degree wheel found the cam against its card",
    {"C": _CENTER},
    (),
    "definition",
    "Mean of the readings' centerlines less the card's at the same checking lift, each weighed by its doubt; "
    "an exhaust centerline counts before top dead center, so that it is later where it is smaller.",
    "cam_position",
)

EXPLANATIONS = (
    _CAM_LATE,
    _event("opens", "opening", "opening, at the checking lift", "-(C + 2*t)", "-pi - (2*t - C)"),
    _event("closes", "closing", "closing, at the checking lift", "C + 2*t - pi", "2*t - C"),
    Explanation(
        "duration",
        "events",
        "crank angle from opening to closing",
        {
            "t1": _angle("opening"),
            "t2": _angle("closing"),
            "u": _LEVEL,
            "s1": _lift("opening"),
            "s2": _lift("closing"),
        },
        (("duration", "2*(t2 - t1)"),),
        _PLACED,
        "t1, t2: where the lobe's curve has the tappet lift u. The same as opens + 180 degrees + closes.",
        proof=(("off", "max(abs(s1 - u), abs(s2 - u))"),),
    ),
    Explanation(
        "lash",
        "events",
        "lash as used, along the stem",
        {"g": "rocker:lash"},
        (("lash", "g"),),
        "measured",
        "As set; at the pushrod, times the ratio on the base circle.",
    ),
    _by_role(
        Explanation(
            "centerline",
            "events",
            "middle of the two events, intake after, exhaust before top dead center",
            {"o": "events:opens", "c": "events:closes"},
            (),
            "definition",
            "Half the duration less the opening (intake) or less the closing (exhaust).",
        ),
        "(o + pi + c)/2 - o",
        "(o + pi + c)/2 - c",
    ),
    replace(_MAX_LIFT, at=_max_lift),
    Explanation(
        "area",
        "events",
        "area under the lift between the two events, over crank angle",
        {"t1": _angle("opening"), "t2": _angle("closing"), "M": "events:max_lift"},
        (),
        "own derivation: integral of the lift by Gauss and Legendre's rule, 12 points on either half",
        "The lift over cam angle from t1 to t2 is the lobe's, cut off at the lift found, through the linkage "
        "less the lash (or the tappet's own); the crank turns twice as far. Were the lift M throughout, "
        "it would be 2*(t2 - t1)*M.",
    ),
    replace(_TAPPET_LIFT, at=_tappet_lift),
    Explanation(
        "overlap",
        "events",
        "crank angle for which both valves of the cylinder are open",
        {
            "o": _of_role("opens", "intake", max, "first opening of the intake, before top dead center"),
            "c": _of_role("closes", "exhaust", max, "last closing of the exhaust, after top dead center"),
        },
        (("overlap", "o + c"),),
        "definition",
    ),
    Explanation(
        "separation",
        "events",
        "angle between the two centerlines, on the cam",
        {
            "i": _of_role("centerline", "intake", _mean, "centerline of the intake, after top dead center"),
            "x": _of_role("centerline", "exhaust", _mean, "centerline of the exhaust, before it"),
        },
        (("separation", "(i + x)/2"),),
        "definition: the cam turns half as far as the crank",
    ),
)
