"""What is taken for granted of the linkage where the shop has not measured it: typical ranges, shown as such.

The ranges are common practice for engines of this kind, no source: they are wide, and every one of them is
named in the result so that the owner can put a better value, with its uncertainty, into the sheet instead.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.linkage_fit_readings import Priors
from valvetrain.mechanics.rocker_linkage import pushrod_planar_length_for
from valvetrain.setup.setup import Setup
from valvetrain.studies.linkage_inputs import lobe_lift

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

RATIO = 1.5
"""Ratio taken where neither a nominal ratio nor the arms are known."""


@dataclass(frozen=True)
class Assumption:
    """A typical range, from before any reading.

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
    setup: Setup, group: Sequence[int], known: Mapping[str, float]
) -> tuple[Priors, tuple[Assumption, ...]]:
    """Return the fit's priors and, in words, what they assume.

    Args:
        setup: the setup.
        group: indices of the valves fitted together.
        known: sheet key -> a measured value [SI], from the sheet or the readings: ranges of what is not
            measured are laid about it.
    """
    lift = float(np.nanmedian(lobe_lift(setup).value[list(group)]))
    ratio = known.get("rocker.nominal_ratio", RATIO)
    lash, lash_doubt, lash_known = _lash(setup, group, ratio)
    net = lift * ratio - float(np.mean(lash))
    arm, arm_doubt, arm_from = 0.036, 0.006, "typical of rocker castings"
    if "shaft.setback" in known:
        arm, arm_doubt, arm_from = known["shaft.setback"], 1.0e-3, "about as long as the setback"
    arm = known.get("rocker.pad_arm", arm)
    setback = known.get("shaft.setback", arm)
    setback_from = (
        "about as far as the pad arm is long" if "rocker.pad_arm" in known else "typical of rocker shafts"
    )
    setback_doubt = 1.0e-3 if "rocker.pad_arm" in known else 0.006
    radius = known.get("rocker.pad_radius", 0.012)
    lever = known.get("rocker.socket_arm", arm / ratio)
    line = known.get("tappet.setback", lever)
    height = known.get("shaft.height", radius - 0.5 * net)
    between, lean = known.get("rocker.arm_angle", np.radians(172.0)), known.get("tappet.angle", 0.0)
    rod = known.get("pushrod.length")
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
    ranges = (
        Assumption("setback", setback, setback_doubt, setback_from),
        Assumption("height", height, 2.0e-3, "arm square to the stem near half lift"),
        Assumption("pad_arm", arm, arm_doubt, arm_from),
        Assumption("pad_radius", radius, 3.0e-3, "typical of pads and rollers"),
        Assumption("socket_arm", lever, 1.5e-3, "about the pad arm over the ratio"),
        Assumption("arm_angle", float(between), np.radians(5.0), "typical of rocker castings"),
        Assumption("tappet_setback", line, 2.0e-3, "about as far as the socket arm is long"),
        Assumption("tappet_angle", float(lean), np.radians(3.0), "tappets about in line with the stems"),
        Assumption("tappet_position", position, 5.0e-3 if rod is not None else 0.04, "follows the pushrod"),
        Assumption(
            "pushrod_length",
            free_rod if rod is None else rod,
            5.0e-3 if rod is None else 1.0e-3,
            "follows the tappet",
        ),
        Assumption("ink_margin", 0.10e-3, 0.05e-3, "ink reaches a little beyond the contact"),
    )
    tips, tip_doubt = _tips(setup, group)
    mean: dict[str, FloatArray] = {one.parameter: np.array(one.mean) for one in ranges}
    deviation: dict[str, FloatArray] = {one.parameter: np.array(one.deviation) for one in ranges}
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
    return Priors(len(group), mean, deviation), (*ranges, *others)


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
    doubt = np.where(unknown, 0.1e-3, np.where(wanted & (doubt == 0.0), 0.05e-3, np.maximum(doubt, 1e-6)))
    missing = unknown | wanted
    return value, doubt, not bool(missing.any())


def _tips(setup: Setup, group: Sequence[int]) -> tuple[FloatArray, FloatArray]:
    """Tips above the reference tip, and their doubt."""
    stems = setup.column("valve", "stem_height")
    height, doubt = stems.value[list(group)], stems.uncertainty[list(group)]
    missing = np.isnan(height)
    above = np.where(missing, 0.0, height - reference_height(setup))
    return above, np.where(missing, 0.15e-3, np.maximum(doubt, 1e-6))
