"""Lash against the lobe's ramps: where it is taken up and given back, how fast, and what ramp is left.

The ramp is the gentle start and end of a lobe for solid tappets: while the tappet climbs it, the lash should
be taken up, and while it descends it, the valve should seat. Heights are at the tappet unless said
otherwise; lash is at the valve, along the stem.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve

__all__ = [
    "RAMP_END_FRACTION",
    "LashContact",
    "Ramps",
    "adjuster_turns",
    "detected_ramps",
    "lash_contact",
    "lash_from_turns",
    "lash_window",
    "ramp_left",
]

RAMP_END_FRACTION = 0.10
"""A ramp ends where acceleration reaches this share of its flank's peak (own choice, no source)."""


@dataclass(frozen=True)
class Ramps:
    """Lobe ends of the two ramps: angles [cam rad] about the lobe center, and tappet lifts there [m]."""

    opening_end: float
    closing_end: float
    opening_height: float
    closing_height: float


@dataclass(frozen=True)
class LashContact:
    """Where lash is taken up (opening) and given back (closing); arrays of one shape.

    Attributes:
        opening_angle, closing_angle: about the lobe center [cam rad]; NaN where never lifted so far.
        opening_velocity, closing_velocity: of the tappet there [m/rad of cam], negative while it falls.
        opening_ramp_left, closing_ramp_left: ramp height less tappet lift there [m]; negative: past the ramp.
        on_ramps: both ends on their ramps; False where NaN.
    """

    opening_angle: FloatArray
    closing_angle: FloatArray
    opening_velocity: FloatArray
    closing_velocity: FloatArray
    opening_ramp_left: FloatArray
    closing_ramp_left: FloatArray
    on_ramps: BoolArray

    def impact_speed(self, crank_speed: ArrayLike, ratio: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Speed of pad against tip at take-up and of the valve at its seat [m/s], both positive.

        crank_speed: [rad/s], the cam turning at half of it; ratio: rocker ratio at opening. Broadcast against
        the contact's shape; NaN gives NaN. Rigid parts: a real train's deflection adds to it.
        """
        factor = 0.5 * np.asarray(crank_speed, float) * np.asarray(ratio, float)
        return np.abs(self.opening_velocity * factor), np.abs(self.closing_velocity * factor)


def detected_ramps(curve: LiftCurve, fraction: float = RAMP_END_FRACTION) -> Ramps:
    """Ramp ends read off a lift curve.

    On each flank, from the peak of its (positive) acceleration outward, the first angle at which the
    acceleration has fallen to `fraction` of that peak. A lobe without a ramp shows the short
    foot of its flank as one; a curve from noisy readings blurs the end by about the spacing of its rows.

    Raises:
        ValueError: a fraction outside (0, 1), or an acceleration that nowhere falls that low.
    """
    if not 0 < fraction < 1:
        raise ValueError(f"the fraction of peak acceleration is {fraction}; it must be between 0 and 1")
    grid, _ = curve.fine_grid
    acceleration = curve.acceleration(grid)
    ends = []
    for sign in (-1, 1):
        side = grid[sign * (grid - curve.peak_angle) > 0][::sign]
        values = acceleration[sign * (grid - curve.peak_angle) > 0][::sign]
        top = int(np.argmax(values))
        limit = fraction * float(values[top])
        low = np.flatnonzero(values[top:] <= limit)
        if low.size == 0:
            raise ValueError("acceleration nowhere falls to the ramp's: no ramp end can be found")
        outer = top + int(low[0])
        ends.append(_halved(curve, limit, float(side[outer]), float(side[outer - 1])))
    heights = curve.lift(np.array(ends))
    return Ramps(ends[0], ends[1], float(heights[0]), float(heights[1]))


def _halved(curve: LiftCurve, limit: float, outer: float, inner: float) -> float:
    """Angle between two at which the acceleration passes the limit."""
    for _ in range(50):
        middle = 0.5 * (outer + inner)
        if float(curve.acceleration(middle)) <= limit:
            outer = middle
        else:
            inner = middle
    return 0.5 * (outer + inner)


def lash_contact(
    curve: LiftCurve, taken_up_lift: ArrayLike, opening_height: ArrayLike, closing_height: ArrayLike
) -> LashContact:
    """Take-up and give-back at a tappet lift.

    Args:
        curve: the lobe.
        taken_up_lift: tappet lift at which the lash is gone [m], any shape: from the linkage
            (`valve_events.tappet_lift_at` with a checking lift of 0), or lash/ratio plus the take-up of a
            loose train.
        opening_height, closing_height: tappet lift at the ramps' lobe ends [m], broadcast to that shape.

    Returns:
        `LashContact`; NaN gives NaN.
    """
    level = np.asarray(taken_up_lift, float)
    events = crossings(curve, level)
    opening_left = np.where(np.isnan(events.opening), np.nan, np.asarray(opening_height, float) - level)
    closing_left = np.where(np.isnan(events.closing), np.nan, np.asarray(closing_height, float) - level)
    return LashContact(
        opening_angle=events.opening,
        closing_angle=events.closing,
        opening_velocity=curve.velocity(events.opening),
        closing_velocity=curve.velocity(events.closing),
        opening_ramp_left=opening_left,
        closing_ramp_left=closing_left,
        on_ramps=(opening_left >= 0) & (closing_left >= 0),
    )


def ramp_left(
    ramp_height: ArrayLike, lash: ArrayLike, ratio: ArrayLike, take_up: ArrayLike = 0.0
) -> FloatArray:
    """What is left of a ramp, **at the valve** [m]: (ramp height - take-up) x ratio - lash.

    ramp_height, take_up (play and deflection of the train that the tappet takes up first): at the tappet [m];
    lash: at the valve [m]; ratio: at opening. Broadcast; NaN gives NaN; negative: the lash reaches past the
    ramp. Common practice, no source.
    """
    height = np.asarray(ramp_height, float) - np.asarray(take_up, float)
    left: FloatArray = height * np.asarray(ratio, float) - np.asarray(lash, float)
    return left


def lash_window(
    opening_height: ArrayLike,
    closing_height: ArrayLike,
    ratio: ArrayLike,
    take_up: ArrayLike = 0.0,
    start_height: ArrayLike = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Least and greatest lash at the valve [m] that keep both ends on the ramps.

    Args:
        opening_height, closing_height: tappet lift at the ramps' lobe ends [m].
        ratio: at opening.
        take_up: play and deflection taken up first, at the tappet [m].
        start_height: tappet lift below which the ramp counts as not begun [m] (base-circle runout, noise, or
            the ramp's own rounded foot).

    Returns:
        least (>= 0) and greatest, broadcast; both NaN where an input is NaN or no lash does.
    """
    play = np.asarray(take_up, float)
    highest = np.minimum(np.asarray(opening_height, float), np.asarray(closing_height, float))
    greatest = ramp_left(highest, 0.0, ratio, play)
    least = np.maximum(ramp_left(start_height, 0.0, ratio, play), 0.0) + 0.0 * greatest
    none = ~(greatest >= least)
    return np.where(none, np.nan, least), np.where(none, np.nan, greatest)


def adjuster_turns(
    lash: ArrayLike, thread_pitch: ArrayLike, ratio: ArrayLike, locknut_gain: ArrayLike = 0.0
) -> FloatArray:
    """Turns of the adjuster back from zero lash that leave a lash, locknut tightened afterwards.

    (lash - locknut gain)/(pitch x ratio). Turns do not care about a pad worn hollow, which a feeler bridges.

    Args:
        lash: wanted, at the valve [m].
        thread_pitch: travel of the adjuster a turn [m] (25.4 mm / threads per inch), > 0; the adjuster is at
            the rocker's pushrod end, so that its travel counts `ratio` times at the valve.
        ratio: at opening, > 0.
        locknut_gain: lash added at the valve by tightening the locknut [m]; about 0.001 in (25 um) is said
            of it (common practice, no source); measure one.

    Returns:
        turns (not radians), broadcast; NaN gives NaN.

    Raises:
        ValueError: a pitch or a ratio that is not positive.
    """
    turns: FloatArray = (np.asarray(lash, float) - np.asarray(locknut_gain, float)) / _per_turn(
        thread_pitch, ratio
    )
    return turns


def lash_from_turns(
    turns: ArrayLike, thread_pitch: ArrayLike, ratio: ArrayLike, locknut_gain: ArrayLike = 0.0
) -> FloatArray:
    """Lash at the valve [m] after so many turns back from zero and the locknut; see `adjuster_turns`."""
    lash: FloatArray = np.asarray(turns, float) * _per_turn(thread_pitch, ratio) + np.asarray(
        locknut_gain, float
    )
    return lash


def _per_turn(thread_pitch: ArrayLike, ratio: ArrayLike) -> FloatArray:
    """Lash a turn [m]."""
    pitch, lever = np.asarray(thread_pitch, float), np.asarray(ratio, float)
    for name, values in (("thread pitch", pitch), ("ratio", lever)):
        if np.any(values <= 0):
            raise ValueError(f"the {name} {np.nanmin(values):g} is not allowed; it must be above 0")
    product: FloatArray = pitch * lever
    return product
