"""What is taken for granted of the linkage where the shop has not measured it: typical ranges, shown as such.

The ranges are common practice for engines of this kind, no source: they are wide, and every one of them is
named in the result so that the owner can put a better value, with its uncertainty, into the sheet instead.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.readings import SHARED, Layout, Priors
from valvetrain.mechanics.rocker.linkage import pushrod_planar_length_for
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["PARAMETER_KEYS", "Assumption", "assumed", "reference_height"]

PARAMETER_KEYS = {
    "setback": "shaft.setback",
    "height": "shaft.height",
    "pad_arm": "rocker.pad_arm",
    "pad_radius": "rocker.pad_radius",
    "socket_arm": "rocker.socket_arm",
    "arm_angle": "rocker.arm_angle",
    "tappet_setback": "tappet.setback",
    "tappet_angle": "tappet.angle",
}
"""Parameter of the fit -> the sheet key that it is."""

_OPEN = 5.0
"""Typical ranges are wider by this where the dimension was measured."""

RATIO = 1.5
"""Ratio taken where neither a nominal ratio nor the arms are known."""


@dataclass(frozen=True)
class Assumption:
    """A range from before any reading, with what was measured of other dimensions taken in.

    Attributes:
        parameter: of the fit.
        mean, deviation: of the range [SI].
        basis: where it comes from, in words.
    """

    parameter: str
    mean: float
    deviation: float
    basis: str


def reference_height(setup: Setup) -> float:
    """Stem height to which the shaft's height refers [m]: as written, or the mean of those measured."""
    written = setup.column("shaft", "reference_stem_height").value
    if np.any(np.isfinite(written)):
        return float(written[np.isfinite(written)][0])
    stems = setup.column("valve", "stem_height").value
    return float(np.mean(stems[np.isfinite(stems)])) if np.any(np.isfinite(stems)) else 0.0


def assumed(
    setup: Setup, group: Sequence[int], known: Mapping[str, tuple[float, float]]
) -> tuple[Priors, tuple[Assumption, ...]]:
    """Return the fit's priors and, in words, what they assume.

    Args:
        setup: the setup.
        group: indices of the valves fitted together.
        known: sheet key -> (measured value, standard uncertainty) [SI], from the sheet or the readings:
            ranges of what is not measured are laid about it.
    """
    lift = float(np.nanmedian(lobe_lift(setup).value[list(group)]))
    ratio, ratio_doubt = known.get("rocker.nominal_ratio", (RATIO, 0.15))
    lash, lash_doubt, lash_known = _lash(setup, group, ratio)
    net = lift * ratio - float(np.mean(lash))

    def center(key: str, otherwise: float) -> float:
        return known[key][0] if key in known else otherwise

    # Of setback and arm the one that is known is where the other's range lies.
    arm = center("rocker.pad_arm", center("shaft.setback", 0.036))
    setback = center("shaft.setback", arm)
    radius = center("rocker.pad_radius", 0.012)
    lever = center("rocker.socket_arm", arm / ratio)
    line = center("tappet.setback", lever)
    height = center("shaft.height", radius - 0.5 * net)
    between, lean = center("rocker.arm_angle", np.radians(172.0)), center("tappet.angle", 0.0)
    rod = known["pushrod.length"][0] if "pushrod.length" in known else None
    position = -(rod if rod is not None else 0.2)
    geometry = {
        "height": height,
        "pad_arm": arm,
        "pad_radius": radius,
        "socket_arm": lever,
        "arm_angle": between,
        "lash": float(np.mean(lash)),
        "tappet_setback": line,
        "tappet_angle": lean,
    }
    if rod is not None:
        # The tappet stands where this pushrod sets this lash: a few steps find it.
        for _ in range(8):
            needed = pushrod_planar_length_for(**geometry, tappet_position=np.array(position))
            position += float(needed) - rod
    free_rod = float(pushrod_planar_length_for(**geometry, tappet_position=np.array(position)))
    # Own part of each range, and what it is laid about. Setback and arm of one casting go together; so do
    # height and pad radius, and the levers. Independent ranges would count twice what both say.
    ranges: tuple[tuple[str, float, float, dict[str, float], str], ...] = (
        ("setback", setback, 6.0e-3, {}, "typical of rocker shafts"),
        ("pad_arm", arm, 1.0e-3, {"setback": 1.0}, "about as long as the setback"),
        ("pad_radius", radius, 3.0e-3, {}, "typical of pads and rollers"),
        (
            "height",
            height,
            math.hypot(2.0e-3, 0.5 * lift * ratio_doubt),
            {"pad_radius": 1.0},
            "arm square to the stem near half lift",
        ),
        (
            "socket_arm",
            lever,
            math.hypot(1.5e-3, arm / ratio * ratio_doubt / ratio),
            {"pad_arm": 1.0 / ratio},
            "about the pad arm over the ratio",
        ),
        ("arm_angle", between, np.radians(5.0), {}, "typical of rocker castings"),
        ("tappet_setback", line, 2.0e-3, {"socket_arm": 1.0}, "about as far as the socket arm is long"),
        ("tappet_angle", lean, np.radians(3.0), {}, "tappets about in line with the stems"),
        ("tappet_position", position, 5.0e-3 if rod is not None else 0.04, {}, "follows the pushrod"),
        (
            "pushrod_length",
            free_rod if rod is None else rod,
            5.0e-3 if rod is None else 1.0e-3,
            {},
            "follows the tappet",
        ),
        ("ink_margin", 0.10e-3, 0.05e-3, {}, "ink reaches a little beyond the contact"),
    )
    tips, tip_doubt = _tips(setup, group)
    mean: dict[str, FloatArray] = {name: np.array(value) for name, value, *_ in ranges}
    # A measured dimension lies where it was measured, and its measurement says how surely: counted once.
    open_ = {name: _OPEN if PARAMETER_KEYS.get(name) in known else 1.0 for name, *_ in ranges}
    deviation: dict[str, FloatArray] = {name: np.array(own * open_[name]) for name, _, own, *_ in ranges}
    shares = {name: about for name, _, _, about, _ in ranges if about}
    mean |= {"tip_height": tips, "lash": lash, "ink_zero": np.array(0.0), "dial_zero": np.array(0.0)}
    deviation |= {
        "tip_height": tip_doubt,
        "lash": lash_doubt,
        "ink_zero": np.array(0.05e-3),
        "dial_zero": np.array(0.010e-3),
    }
    others = [
        Assumption("ink_zero", 0.0, 0.05e-3, "zero of a valve's ink edges"),
        Assumption("dial_zero", 0.0, 0.01e-3, "zero of a valve's dial"),
    ]
    stems = setup.column("valve", "stem_height").value[list(group)]
    if np.any(np.isnan(stems)):
        others.append(Assumption("tip_height", 0.0, 0.15e-3, "tips about level with each other"))
    if not lash_known:
        others.append(Assumption("lash", float(np.mean(lash)), float(np.max(lash_doubt)), "lash as wanted"))
    priors = Priors(len(group), mean, deviation, shares)
    typical = {name: np.array(own) for name, _, own, *_ in ranges}
    before = _before_readings(Priors(len(group), mean, deviation | typical, shares), known)
    shown = [Assumption(name, value, before[name], basis) for name, value, _, _, basis in ranges]
    return priors, (*shown, *others)


def _before_readings(priors: Priors, known: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    """Standard deviation of each shared parameter once the known dimensions are taken in, in any order."""
    layout = Layout(priors)
    spread = layout.factor @ layout.factor.T
    place = {name: index for index, name in enumerate(np.array(layout.names)[layout.free]) if name in SHARED}
    for name, key in PARAMETER_KEYS.items():
        if key in known and name in place:
            column = spread[:, place[name]]
            spread = spread - np.outer(column, column) / (column[place[name]] + known[key][1] ** 2)
    return {name: float(np.sqrt(max(spread[index, index], 0.0))) for name, index in place.items()}


def _lash(setup: Setup, group: Sequence[int], ratio: float) -> tuple[FloatArray, FloatArray, bool]:
    """Lash at the valve, its doubt, and whether it was measured at every valve."""
    index = list(group)
    column, asked = setup.column("lash", "lash"), setup.column("lash", "wanted")
    at_pushrod = np.array([setup.trains[one].lash.at == "pushrod" for one in index])
    factor = np.where(at_pushrod, ratio, 1.0)
    value, doubt = column.value[index] * factor, column.uncertainty[index] * factor
    # Where nobody measured it the sheet's lash is the one wanted: known no better than a feeler sets it.
    wanted = np.array([column.source[one] == asked.source[one] for one in index])
    unknown = np.isnan(value)
    value = np.where(unknown, 0.35e-3, value)
    doubt = np.where(unknown, 0.1e-3, np.where(wanted, np.maximum(doubt, 0.05e-3), np.maximum(doubt, 1e-6)))
    missing = unknown | wanted
    return value, doubt, not bool(missing.any())


def _tips(setup: Setup, group: Sequence[int]) -> tuple[FloatArray, FloatArray]:
    """Tips above the reference tip, and their doubt."""
    stems = setup.column("valve", "stem_height")
    height, doubt = stems.value[list(group)], stems.uncertainty[list(group)]
    missing = np.isnan(height)
    above = np.where(missing, 0.0, height - reference_height(setup))
    return above, np.where(missing, 0.15e-3, np.maximum(doubt, 1e-6))
