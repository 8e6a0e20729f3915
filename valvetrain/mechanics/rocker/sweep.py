"""Sweep of the pad across the valve tip, and the shaft height that puts it right.

The pad touches the tip only while the valve is off its seat: from the instant the lash is taken up to full
lift. In that time the pad's center falls from `pad_radius` above the closed tip by the net lift, whatever
the pushrod's side is, so width and middle need only the shaft's position, the arm, the pad's radius and the
net lift. Least sweep (derived): the arm square to the stem at half lift, a (1 - sqrt(1 - (L/2a)^2)).

`pad_arm` [m] > 0, `pad_radius` [m] >= 0, `setback` and `height` [m] in the valve frame: shaft axis at
(-setback, height) from the center of the closed tip; x positive from the shaft toward the stem. All inputs
of any broadcastable shape [...]; NaN in or out of reach gives NaN.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, not_negative, positive

__all__ = [
    "Sweep",
    "height_for_square_arm",
    "least_sweep_width",
    "lift_fraction_at_square_arm",
    "stand_shim_for_centered_sweep",
    "stand_shim_for_square_arm",
    "sweep",
]

# At most: each halves the way to a zero that the peak only just touches, and squares it to any other.
_STEPS = 100


@dataclass(frozen=True)
class Sweep:
    """Contact across the tip, x from the stem axis [m], positive on the side away from the shaft.

    Attributes:
        width: greatest less least contact x, >= 0.
        middle: midway between them.
        least, greatest: the ends of the pattern.
        at_opening: where the pad first touches, the lash just taken up.
        at_full_lift: where it touches at full lift.
    """

    width: FloatArray
    middle: FloatArray
    least: FloatArray
    greatest: FloatArray
    at_opening: FloatArray
    at_full_lift: FloatArray


def sweep(
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    net_lift: ArrayLike,
) -> Sweep:
    """Sweep over the part of the lift in which pad and tip touch.

    `net_lift` [m] >= 0 is the valve's own full lift, lash already taken off. NaN where the arm cannot reach
    the tip at either end of the lift.
    """
    arm, radius = positive("pad_arm", pad_arm), not_negative("pad_radius", pad_radius)
    start = radius - np.asarray(height, float)
    full = start - not_negative("net_lift", net_lift)
    first, last = _reach(arm, start), _reach(arm, full)
    least = np.minimum(first, last)
    # The arm reaches farthest when square to the stem.
    passes_square = (start >= 0) & (full <= 0)
    greatest = np.where(passes_square & ~np.isnan(least), arm, np.maximum(first, last))
    back = np.asarray(setback, float)
    return Sweep(
        width=greatest - least,
        middle=0.5 * (greatest + least) - back,
        least=least - back,
        greatest=greatest - back,
        at_opening=first - back,
        at_full_lift=last - back,
    )


def _reach(arm: FloatArray, rise: FloatArray) -> FloatArray:
    """How far the arm reaches toward the valve when its end is `rise` above the shaft."""
    with np.errstate(invalid="ignore"):
        return np.asarray(np.sqrt((arm - rise) * (arm + rise)))


def least_sweep_width(*, pad_arm: ArrayLike, lift: ArrayLike) -> FloatArray:
    """Least possible sweep [m] of an arm [m] over a lift [m]; NaN where the lift exceeds twice the arm.

    a (1 - sqrt(1 - (L/2a)^2)), about L^2/(8a) (derived). Give the net lift for the pattern on the tip, the
    gross lift for the pad's whole travel.
    """
    arm, half = positive("pad_arm", pad_arm), 0.5 * not_negative("lift", lift)
    # The same as arm - sqrt(arm^2 - half^2), without losing digits for small lifts.
    return np.asarray(half**2 / (arm + _reach(arm, half)))


def height_for_square_arm(
    *, pad_radius: ArrayLike, net_lift: ArrayLike, lift_fraction: ArrayLike = 0.5
) -> FloatArray:
    """Shaft height above the closed tip [m] with the arm square to the stem at `lift_fraction` of the lift.

    One half gives the least sweep. Does not depend on the arm's length.
    """
    fraction, lift = floats(lift_fraction, net_lift)
    return np.asarray(not_negative("pad_radius", pad_radius) - fraction * lift)


def lift_fraction_at_square_arm(
    *, height: ArrayLike, pad_radius: ArrayLike, net_lift: ArrayLike
) -> FloatArray:
    """Fraction of the net lift at which the arm stands square to the stem; outside 0 to 1 it never does.

    Below 0 the shaft is too high, above 1 far too low. NaN for no lift.
    """
    lift = np.asarray(net_lift, float)
    rise = not_negative("pad_radius", pad_radius) - np.asarray(height, float)
    return np.asarray(rise / np.where(lift > 0, lift, np.nan))


def stand_shim_for_square_arm(
    *,
    height: ArrayLike,
    pad_radius: ArrayLike,
    net_lift: ArrayLike,
    stand_angle: ArrayLike = 0.0,
    lift_fraction: ArrayLike = 0.5,
) -> FloatArray:
    """Change of stand shim [m] that has the arm square to the stem at `lift_fraction` of this net lift.

    Positive: add; negative: take out or machine the stand. `stand_angle` [rad] between -pi/2 and pi/2 is the
    stand's axis from the stem's, positive where the top of the stand leans toward the valve. The net lift
    itself changes a little with the shim; `stand_shims.settled_stand_shim` follows that.
    """
    wanted = height_for_square_arm(pad_radius=pad_radius, net_lift=net_lift, lift_fraction=lift_fraction)
    up, lean = floats(height, stand_angle)
    return np.asarray((wanted - up) / np.cos(lean))


def stand_shim_for_centered_sweep(
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    net_lift: ArrayLike,
    stand_angle: ArrayLike = 0.0,
) -> FloatArray:
    """Change of stand shim [m] that brings the middle of the sweep onto the stem axis; the smaller of two.

    The middle moves outward as the shaft nears the height of least sweep and back beyond it, so there are
    two such shims or none: NaN where no shim can (the arm is too short for the setback, or too long).
    Signs as in `stand_shim_for_square_arm`.
    """
    back, up, arm, radius, lift, lean = np.broadcast_arrays(
        *floats(setback, height, pad_arm, pad_radius, net_lift, stand_angle)
    )
    positive("pad_arm", arm)
    cosine, sine = np.cos(lean), np.sin(lean)

    def middle(shim: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Middle of the sweep and its slope over the shim; a concave function."""
        start = radius - up - shim * cosine
        full = start - lift
        first, last = _reach(arm, start), _reach(arm, full)
        nearer = np.where(first < last, start, full)
        farther = np.where(first < last, full, start)
        square = (start >= 0) & (full <= 0)
        least, greatest = np.minimum(first, last), np.maximum(first, last)
        slope = cosine * (nearer / least + np.where(square, 0.0, farther / greatest))
        return 0.5 * (np.where(square, arm, greatest) + least) - back + shim * sine, 0.5 * slope + sine

    # Shims at which the arm just reaches, full lift above and closed below; a hair inside both.
    hair = 1e-12 * arm
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        low = _crossing(middle, (radius - up - arm + hair) / cosine, 1.0, arm)
        high = _crossing(middle, (radius - up - lift + arm - hair) / cosine, -1.0, arm)
    only = np.where(np.isnan(low), high, low)
    return np.where(np.abs(high) < np.abs(low), high, only)


def _crossing(
    middle: Callable[[FloatArray], tuple[FloatArray, FloatArray]],
    outer: FloatArray,
    way: float,
    arm: FloatArray,
) -> FloatArray:
    """Shim at which the middle is zero, coming from `outer` where it is below; NaN where it never is.

    Newton's steps on a concave function never pass the zero; where there is none they pass the peak.
    """
    shim = outer
    below = middle(shim)[0] < 0
    for _ in range(_STEPS):
        value, slope = middle(shim)
        step = np.where(value < 0, -value / slope, 0.0)
        shim = np.where((value >= 0) | (way * step > 0), shim + step, np.nan)
        if not np.any(np.abs(step) > 1e-15 * arm):
            break
    return np.where(below, shim, np.nan)
