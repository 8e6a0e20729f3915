"""Events of a lift curve: the cam angles at which a lift is reached and left, at the tappet or at the valve.

Bracketed on the curve's fine grid, then refined to the last digits. All angles are cam radians on the curve's
own scale, 0 at the lobe center, rising in the order in which the cam shows them to the tappet (with time).
Where a lift is crossed more than once on a flank (base-circle noise, a bump on a ramp), the crossing
nearest the nose counts: the one from which the lift stays above the level.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.lift_curve import LiftCurve

__all__ = [
    "LobeEvents",
    "area_under_lift",
    "crossings",
    "lobe_events",
    "sampled_pad_drop_inverse",
    "tappet_lift_at",
]

PadDropInverse = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class LobeEvents:
    """Opening and closing of lobes at levels; arrays of one shape, cam radians about the lobe center.

    Attributes:
        opening, closing: NaN where the lift is never reached, or never left.
        duration: closing - opening.
        centerline: midpoint of opening and closing, which on an asymmetric lobe moves with the level.
    """

    opening: FloatArray
    closing: FloatArray

    @property
    def duration(self) -> FloatArray:
        """Closing less opening [cam rad]."""
        return self.closing - self.opening

    @property
    def centerline(self) -> FloatArray:
        """Midpoint of opening and closing [cam rad]."""
        return 0.5 * (self.opening + self.closing)


def crossings(curve: LiftCurve, level: ArrayLike) -> LobeEvents:
    """Events of one lobe at tappet lifts.

    Args:
        curve: the lobe.
        level: tappet lift [m], any shape. 0 asks where the lift leaves the flat base circle.

    Returns:
        `LobeEvents` of level's shape. NaN where the level is NaN, at or above full lift, or not left within
        half a turn of the peak (a level below the lowest lift: the valve never closes).
    """
    wanted = np.asarray(level, float)
    levels = wanted.ravel()
    angle, lift = curve.fine_grid
    top = int(np.searchsorted(angle, curve.peak_angle))
    # A level at full lift touches and does not open; a plateau is full lift to the last digits only.
    reached = levels < curve.max_lift * (1 - 1e-12)
    found, outer, inner = [], [], []
    for sign in (-1, 1):
        # Lowest lift between the peak and each point: it falls outward, so that it can be searched.
        lowest = np.minimum.accumulate(lift[top::sign])
        # First point outward at which the lift has fallen to the level.
        first = lowest.size - np.searchsorted(lowest[::-1], levels, side="right")
        usable = reached & (first > 0) & (first < lowest.size)
        step = first[usable]
        found.append(usable)
        outer.append(angle[top + sign * step])
        inner.append(angle[top + sign * (step - 1)])
    # Both flanks are refined at once: half the calls of the spline.
    inside = np.concatenate(found)
    both = np.full(inside.size, np.nan)
    both[inside] = _refined(curve, np.tile(levels, 2)[inside], np.concatenate(outer), np.concatenate(inner))
    return LobeEvents(both[: levels.size].reshape(wanted.shape), both[levels.size :].reshape(wanted.shape))


def lobe_events(curves: Sequence[LiftCurve], levels: ArrayLike) -> LobeEvents:
    """Events of several lobes.

    Args:
        curves: n lobes.
        levels: tappet lift [m], shape [n, ...] (for example [lobes, lashes, checking lifts]), or a shape
            without the first axis where all lobes are asked for the same.

    Returns:
        `LobeEvents` of shape [n, ...].

    Raises:
        ValueError: a first axis that is not the number of lobes, where `levels` has more than one value.
    """
    wanted = np.asarray(levels, float)
    if wanted.ndim == 0:
        wanted = np.broadcast_to(wanted, (len(curves),))
    if wanted.shape[0] != len(curves):
        raise ValueError(
            f"levels have {wanted.shape[0]} rows for {len(curves)} lobes; there must be one a lobe"
        )
    each = [crossings(curve, row) for curve, row in zip(curves, wanted, strict=True)]
    return LobeEvents(np.array([e.opening for e in each]), np.array([e.closing for e in each]))


def tappet_lift_at(checking_lift: ArrayLike, lash: ArrayLike, inverse: PadDropInverse) -> FloatArray:
    """Tappet lift [m] at which the valve has the checking lift: where pad drop = checking lift + lash.

    Args:
        checking_lift: at the valve [m], >= 0; 0 is lift-off and seating.
        lash: at the valve, along the stem [m], >= 0.
        inverse: tappet lift [m] from pad drop [m], NaN beyond the rocker's or the lobe's reach; see
            `sampled_pad_drop_inverse`, or the linkage's own closed form.

    Returns:
        broadcast of the two; NaN gives NaN.

    Raises:
        ValueError: a negative checking lift or lash.
    """
    check, gap = np.asarray(checking_lift, float), np.asarray(lash, float)
    for name, values in (("checking lift", check), ("lash", gap)):
        if np.any(values < 0):
            raise ValueError(f"the {name} {np.nanmin(values):g} m is not allowed; it must be 0 or more")
    return inverse(check + gap)


def sampled_pad_drop_inverse(tappet_lift: ArrayLike, pad_drop: ArrayLike) -> PadDropInverse:
    """Function from pad drop to tappet lift through samples of the rocker's motion.

    Args:
        tappet_lift, pad_drop: [m], rising strictly, shape [n], n >= 4, from the base circle to full lift.

    Returns:
        function of pad drop [m], any shape: a not-a-knot cubic spline through the samples, whose error falls
        with the fourth power of their spacing (below 1e-9 m for 100 samples of a usual rocker); NaN outside.

    Raises:
        ValueError: fewer than four samples, a NaN, or samples that do not rise.
    """
    from scipy.interpolate import CubicSpline

    rise, drop = np.asarray(tappet_lift, float), np.asarray(pad_drop, float)
    if rise.ndim != 1 or rise.shape != drop.shape or rise.size < 4:
        raise ValueError(
            f"samples have shapes {rise.shape} and {drop.shape}; two columns of 4 or more are needed"
        )
    if not (np.all(np.diff(rise) > 0) and np.all(np.diff(drop) > 0)):
        raise ValueError("tappet lift and pad drop must both rise from sample to sample, without a NaN")
    spline = CubicSpline(drop, rise, extrapolate=False)

    def inverse(wanted: FloatArray) -> FloatArray:
        lift: FloatArray = spline(wanted)
        return lift

    return inverse


def area_under_lift(
    lift: Callable[[FloatArray], FloatArray], opening: ArrayLike, closing: ArrayLike, nodes: int = 48
) -> FloatArray:
    """Integral of a lift over cam angle from opening to closing [m cam rad].

    Args:
        lift: lift [m] at cam angles [cam rad] of shape [..., nodes]: a curve's own for the tappet, or
            net valve lift from it.
        opening, closing: [cam rad], one shape [...]; NaN gives NaN.
        nodes: of the Gauss-Legendre rule on either side of the middle.

    Returns:
        area, shape [...]; twice this is the area over crank angle.
    """
    start, end = np.asarray(opening, float), np.asarray(closing, float)
    point, weight = np.polynomial.legendre.leggauss(nodes)
    middle, quarter = 0.5 * (start + end), 0.25 * (end - start)
    total = np.zeros(np.broadcast_shapes(start.shape, end.shape))
    for center in (middle - quarter, middle + quarter):
        total = total + quarter * (lift(center[..., np.newaxis] + quarter[..., np.newaxis] * point) @ weight)
    return total


def _refined(curve: LiftCurve, level: FloatArray, outer: FloatArray, inner: FloatArray) -> FloatArray:
    """Angles where the lift falls to the level, between `outer` (at or below it) and `inner` (above).

    Newton's step where it stays inside the bracket, halving where it does not and every third time, so that
    flat starts (level 0 on a ramp's foot) come out as well.
    """
    low, high = outer.copy(), inner.copy()
    # The chord across the bracket is a better start than its middle; where it is flat, the middle is taken.
    at_low, at_high = curve.lift(low), curve.lift(high)
    rise = np.where(at_high > at_low, at_high - at_low, np.inf)
    share = np.clip((level - at_low) / rise, 0.0, 1.0)
    x = low + np.where((share > 0.02) & (share < 0.98), share, 0.5) * (high - low)
    going = np.arange(level.size)
    for turn in range(120):
        if going.size == 0:
            break
        at = x[going]
        miss = curve.lift(at) - level[going]
        above = miss > 0
        high[going] = np.where(above, at, high[going])
        low[going] = np.where(above, low[going], at)
        slope = curve.velocity(at)
        newton = at - miss / np.where(slope == 0, np.inf, slope)
        left, right = np.minimum(low[going], high[going]), np.maximum(low[going], high[going])
        usable = (newton > left) & (newton < right) & (turn % 3 != 2)
        x[going] = np.where(usable, newton, 0.5 * (left + right))
        # Newton has arrived when its step is below 1e-14 rad; a flat start only by halving.
        arrived = (np.abs(newton - at) < 1e-14) & (np.abs(slope) * 1e-6 > np.abs(miss)) & (slope != 0)
        x[going] = np.where(arrived, at, x[going])
        going = going[~arrived & (right - left > 4e-16)]
    return x
