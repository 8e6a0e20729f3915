"""What a feeler gauge reads under a pad worn hollow.

The tip wears a hollow no wider than itself into the pad. A flat, stiff blade wider than the hollow lies on
the tip and stops at the hollow's rims, so it reads less than the gap between tip and pad: the true lash is
larger than the feeler says. Lash set by turns of the adjuster is free of this. Derived.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, positive
from valvetrain.mechanics.rocker.pad_outline import checked_outline

__all__ = ["FeelerReading", "feeler_reading"]


@dataclass(frozen=True)
class FeelerReading:
    """Gaps over a closed tip [m], shape of the pad angles.

    Attributes:
        true_gap: least gap over the tip itself: the lash.
        blade_gap: thickest flat blade that goes in.
        error: true_gap - blade_gap: what the feeler leaves unseen; >= 0 for a blade no narrower than the tip.
    """

    true_gap: FloatArray
    blade_gap: FloatArray
    error: FloatArray


def feeler_reading(
    outline: ArrayLike,
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_angle: ArrayLike,
    tip_width: float,
    blade_width: float,
) -> FeelerReading:
    """True lash and feeler reading, the blade centered on the stem axis and lying flat on the tip.

    Args:
        outline: points of the working face [m, 2] [m], see `pad_outline`; straight between the points.
        setback, height: shaft axis at (-setback, height) from the closed tip [m], any shape.
        pad_angle: pad arm from +x [rad], any shape, broadcast with these.
        tip_width: of the flat of the tip (stem less chamfers) in the rocker's plane [m], > 0.
        blade_width: of the feeler in the rocker's plane [m], > 0. A blade narrower than the tip touches
            the tip over its own width only and may miss the true gap: the reading is then no less than it.

    Raises:
        ValueError: as `checked_outline`, or a width that is not above zero.
    """
    face = checked_outline(outline)
    half_tip, half_blade = 0.5 * positive("tip_width", tip_width), 0.5 * positive("blade_width", blade_width)
    back, up = floats(setback, height)
    angle = np.asarray(pad_angle, float)[..., np.newaxis]
    x = face[:, 0] * np.cos(angle) - face[:, 1] * np.sin(angle) - back[..., np.newaxis]
    y = face[:, 0] * np.sin(angle) + face[:, 1] * np.cos(angle) + up[..., np.newaxis]
    true_gap, blade_gap = _least_gap(x, y, half_tip), _least_gap(x, y, half_blade)
    return FeelerReading(true_gap, blade_gap, true_gap - blade_gap)


def _least_gap(x: FloatArray, y: FloatArray, half: FloatArray) -> FloatArray:
    """Least height of the broken line (x, y), last axis along it, over -half to half; NaN where it is not."""
    inside = np.where(np.abs(x) <= half, y, np.nan)
    candidates = [inside]
    for edge in (-half, half):
        ahead, behind = x[..., 1:] - edge, x[..., :-1] - edge
        crosses = ahead * behind < 0
        share = np.where(crosses, behind / np.where(crosses, behind - ahead, 1.0), 0.0)
        candidates.append(np.where(crosses, y[..., :-1] + share * np.diff(y, axis=-1), np.nan))
    everything = np.concatenate(candidates, axis=-1)
    nothing = np.isnan(everything).all(axis=-1)
    least = np.min(np.where(np.isnan(everything), np.inf, everything), axis=-1)
    return np.where(nothing, np.nan, least)
