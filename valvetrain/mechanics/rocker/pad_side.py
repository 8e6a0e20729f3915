"""The valve's side of the rocker: pad, arm and shaft position, without pushrod and tappet.

A circular pad on a flat tip touches straight below the center of its radius. So where it touches follows
from the shaft's position, the arm, the pad's radius and how far the pad has come down, which a shop reads
with a dial indicator on the retainer even when the pushrod's side has not been measured.

Valve frame: origin at the center of the closed tip, +y out of the head along the stem, +x from the rocker
shaft toward the stem; the shaft axis is at (-setback, height). The pad arm points toward the valve
(branch of positive x) and opening the valve makes its angle fall. Derived; no publication needed.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, not_negative, positive

__all__ = [
    "closed_pad_angle",
    "contact_at_pad_drop",
    "pad_angle_at_pad_drop",
    "valve_lift",
]


def closed_pad_angle(
    *, height: ArrayLike, pad_arm: ArrayLike, pad_radius: ArrayLike, lash: ArrayLike
) -> FloatArray:
    """Angle of the pad arm from +x [rad], in [-pi/2, pi/2], the pad `lash` above the closed tip.

    Args:
        height: shaft axis above the closed tip [m], either sign.
        pad_arm: shaft axis to the center of the pad's radius [m], > 0.
        pad_radius: radius of pad or roller [m], >= 0.
        lash: gap along the stem [m], negative if the valve is held open.

    Returns:
        shape broadcast; NaN where the arm cannot reach or an input is NaN.
    """
    arm, radius = positive("pad_arm", pad_arm), not_negative("pad_radius", pad_radius)
    up, gap = floats(height, lash)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.arcsin((radius + gap - up) / arm))


def pad_angle_at_pad_drop(
    *,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    lash: ArrayLike,
    pad_drop: ArrayLike,
) -> FloatArray:
    """Angle of the pad arm [rad] when the pad has fallen by `pad_drop` [m] from its base-circle position.

    Geometry of shape [...], `pad_drop` of shape [..., n]; returns [..., n], NaN where the arm cannot reach.
    """
    arm, radius = positive("pad_arm", pad_arm), not_negative("pad_radius", pad_radius)
    up, gap, drop = floats(height, lash, pad_drop)
    rise = np.asarray(radius + gap - up)[..., np.newaxis] - drop
    with np.errstate(invalid="ignore"):
        return np.asarray(np.arcsin(rise / arm[..., np.newaxis]))


def contact_at_pad_drop(
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    lash: ArrayLike,
    pad_drop: ArrayLike,
) -> FloatArray:
    """Where the pad touches (or would touch, before the lash is taken up) the tip [m].

    Args:
        setback: shaft axis to stem axis, square to the stem [m].
        height, pad_arm, pad_radius, lash: as in `closed_pad_angle`, shape [...].
        pad_drop: fall of the pad from its base-circle position [m], shape [..., n] (valve lift + lash).

    Returns:
        x of the contact from the stem axis, positive on the side away from the shaft, shape [..., n];
        NaN where the arm cannot reach.
    """
    arm, radius = positive("pad_arm", pad_arm), not_negative("pad_radius", pad_radius)
    up, gap, drop = floats(height, lash, pad_drop)
    rise = np.asarray(radius + gap - up)[..., np.newaxis] - drop
    with np.errstate(invalid="ignore"):
        # (arm - rise)(arm + rise) keeps its digits where the arm stands nearly along the stem.
        along = np.sqrt((arm[..., np.newaxis] - rise) * (arm[..., np.newaxis] + rise))
    return np.asarray(along - np.asarray(setback, float)[..., np.newaxis])


def valve_lift(*, pad_drop: ArrayLike, lash: ArrayLike) -> FloatArray:
    """Valve lift [m] = max(0, pad drop - lash): `pad_drop` [..., n], `lash` [...]; NaN stays."""
    drop, gap = floats(pad_drop, lash)
    return np.asarray(np.maximum(drop - gap[..., np.newaxis], 0.0))
