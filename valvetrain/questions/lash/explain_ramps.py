"""How the numbers of the cam's ramps come about: their ends, what the lash leaves of them, speeds there."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isnan, nan
from typing import Any

import numpy as np

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lash_ramp import RAMP_END_FRACTION, Ramps, detected_ramps
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.setup.setup import Setup

__all__ = ["RAMPS", "RUNNING"]

_PRACTICE = "common practice, no source: ramp height x ratio - lash"
_SPLINE = "slope of the lobe's lift curve"


def _plain(field: str, meaning: str) -> Plain:
    """Return a plain length of the study's result."""
    return Plain("lash", meaning, "length", lambda setup, result, index: float(getattr(result, field)[index]))


RUNNING = _plain("running_lash", "lash that the engine runs with: hot where known, else as set")


def _ramps(setup: Setup, index: int) -> Ramps | None:
    """Ramp ends as read off the lobe's table."""
    curve = lobe_curve(setup.trains[index].lobe)
    try:
        return None if curve is None else detected_ramps(curve)
    except ValueError:
        return None


def _read_off(end: str, what: str) -> Callable[[Setup, Any, int], float]:
    """Return angle, lift, or share of the peak acceleration at a ramp's end."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        curve, ramps = lobe_curve(setup.trains[index].lobe), _ramps(setup, index)
        if curve is None or ramps is None:
            return nan
        angle = float(getattr(ramps, f"{end}_end"))
        grid = curve.fine_grid[0]
        side = grid[grid < curve.peak_angle] if end == "opening" else grid[grid > curve.peak_angle]
        peak = float(np.max(curve.acceleration(side)))
        return {
            "angle": angle,
            "lift": float(curve.lift(angle)),
            "share": float(curve.acceleration(angle)) / peak,
        }[what]

    return pick


def _table(setup: Setup, index: int) -> str:
    table = setup.trains[index].lobe.table
    return f"curve through {table.source}" if table else "not in the sheet, lobe.table"


def _ramp(end: str, doc: str) -> Explanation:
    """Explain the height of a ramp: stated, or read off the table's curve."""
    name = f"{end}_ramp"
    own = Explanation(
        name,
        "lash",
        doc,
        {
            "t": Plain(
                "lash",
                "cam angle of its end, from the lobe's center",
                "angle",
                _read_off(end, "angle"),
                _table,
            ),
            "s": Plain("lash", "tappet lift there", "length", _read_off(end, "lift"), _table),
            "A": Plain(
                "lash", "acceleration there over the flank's peak", "ratio", _read_off(end, "share"), _table
            ),
            "f": Plain(
                "lash",
                "share of the peak at which a ramp ends",
                "ratio",
                lambda *_: RAMP_END_FRACTION,
                "own choice, no source",
            ),
        },
        ((name, "s"),),
        "own method: acceleration of the smoothing spline through the lift table",
        "From the peak of the flank's acceleration outward, the ramp ends where it has first fallen to the "
        "share f.",
        proof=(("off", "A - f"),),
    )

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        came = results["lash"].ramp_from[index]
        if came == "table":
            return own
        if came == "law" and setup.trains[index].lobe.ramp_height is None:
            note = "The motion law given has no ramp."
            return replace(
                own, symbols={}, steps=((name, "0"),), publication="definition", note=note, proof=()
            )
        symbols: dict[str, str | Plain] = {"s": "lobe.ramp_height"}
        step = "s"
        if end == "closing":
            symbols, step = {"z": "lobe.closing_ramp_height", "s": "lobe.ramp_height"}, "either(z, s)"
        note = "A cam card does not tell of ramps." if came == "card" else "As the sheet states it."
        return replace(own, symbols=symbols, steps=((name, step),), publication="given", note=note, proof=())

    return replace(own, at=told)


_LEFT: Mapping[str, str | Plain] = {"p": "rocker.take_up", "i": "lash:ratio_at_opening"}


def _left(end: str) -> Explanation:
    return Explanation(
        f"{end}_left",
        "lash",
        f"what is left of the {end} ramp, at the valve",
        {"s": f"lash:{end}_ramp", **_LEFT, "R": RUNNING},
        ((f"{end}_left", "(s - either(p, 0))*i - R"),),
        _PRACTICE,
        "p: play that the tappet takes up first; none where left out.",
    )


_BOTH: Mapping[str, str | Plain] = {"o": "lash:opening_ramp", "c": "lash:closing_ramp", **_LEFT}


def _end(own: Explanation) -> Explanation:
    """End of the window of lashes; none where the ramps begin above the end of the lower one."""

    def told(setup: Setup, results: Mapping[str, Any], index: int) -> Explanation:
        result = results["lash"]
        if isnan(result.least_lash.value[index]) and not isnan(result.opening_ramp.value[index]):
            return replace(own, steps=(), note="No lash keeps both ends on the ramps.")
        return own

    return replace(own, at=told)


_LEAST = Explanation(
    "least_lash",
    "lash",
    "least lash that keeps both ends on the ramps",
    {
        **_BOTH,
        "b": _plain("ramp_begun", "tappet lift below which the ramp counts as not begun: runout and noise"),
    },
    (("least_lash", "max((b - either(p, 0))*i, 0)"),),
    _PRACTICE,
)
_GREATEST = Explanation(
    "greatest_lash",
    "lash",
    "greatest lash that keeps both ends on the ramps",
    _BOTH,
    (("greatest_lash", "(min(o, c) - either(p, 0))*i"),),
    _PRACTICE,
)


def _event(end: str, what: str) -> Callable[[Setup, Any, int], float]:
    """Return cam angle, lift or slope where the lash is taken up or given back."""

    def pick(setup: Setup, result: Any, index: int) -> float:
        curve = lobe_curve(setup.trains[index].lobe)
        if curve is None:
            return nan
        angle = float(getattr(crossings(curve, result.taken_up_lift[index]), end))
        if what == "angle" or isnan(angle):
            return angle
        return float(curve.lift(angle) if what == "lift" else curve.velocity(angle))

    return pick


def _velocity(end: str, doc: str) -> Explanation:
    """Explain the tappet's velocity at the lift that takes the lash up."""
    name = f"{end}_velocity"
    return Explanation(
        name,
        "lash",
        doc,
        {
            "u": _plain("taken_up_lift", "tappet lift at which lash and play are taken up"),
            "t": Plain("lash", "cam angle there, from the lobe's center", "angle", _event(end, "angle")),
            "s": Plain("lash", "lift of the lobe's curve at that angle", "length", _event(end, "lift")),
            "v": Plain("lash", "slope of the lobe's curve at that angle", "lift_rate", _event(end, "slope")),
        },
        ((name, "abs(v)"),),
        f"{_SPLINE}: a smoothing spline through its table, its law, or a curve through the cam card",
        "The angle is found by Newton's method and halving.",
        in_si=True,
        proof=(("off", "s - u"),),
    )


def _speed(end: str, doc: str) -> Explanation:
    return Explanation(
        f"{end}_speed",
        "lash",
        doc,
        {"v": f"lash:{end}_velocity", "w": "engine.redline", "i": "lash:ratio_at_opening"},
        ((f"{end}_speed", "v*w/2*i"),),
        "definition: the cam turns at half the crank's speed; rigid parts",
        in_si=True,
    )


RAMPS = (
    _ramp("opening", "tappet lift at which the opening ramp ends"),
    _ramp("closing", "tappet lift at which the closing ramp begins, seen from the nose"),
    _left("opening"),
    _left("closing"),
    Explanation(
        "ramp_left",
        "lash",
        "what is left of the lesser ramp",
        {"o": "lash:opening_left", "c": "lash:closing_left"},
        (("ramp_left", "min(o, c)"),),
        "definition",
        "",
        "ramp_left",
    ),
    _end(_LEAST),
    _end(_GREATEST),
    _velocity("opening", "tappet velocity where the lash is taken up, over cam angle"),
    _velocity("closing", "tappet velocity where the lash is given back, over cam angle"),
    _speed("opening", "speed at which the pad meets the tip, at the redline"),
    _speed("closing", "speed at which the valve meets its seat, at the redline"),
)
