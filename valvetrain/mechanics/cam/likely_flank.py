"""The flanks that meet a cam card: how far from the nose each lift is likely reached, and how sure that is.

A card fixes a flank at its checking lifts only. Of the flanks drawn by `flank_shapes` each is stretched until
it meets the card's lowest lift; how well it then meets the others is its weight (Bayes' rule with draws from
the prior; A. Gelman and others, *Bayesian Data Analysis*, chapter 10; memory). What the weighted flanks agree
on is known, what they differ in is the doubt that the card leaves.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.cam.flank_shapes import FlankShapes, Ramp, flank_shapes, ramp_draws

__all__ = ["LikelyFlank", "likely_flank"]

MISFIT = 0.35
"""A real flank misses a drawn one by about this at the card's lifts [cam degrees], own choice."""
LEAST_DRAWS = 40.0
"""So many draws must share the weight (effective number); else the misfit is taken wider."""
LEFT_SHARE = 0.045
"""Shapes that no draw has: this share of the distance to the nearer checking lift is added to the doubt."""
LEFT_PEAK, LEFT_AREA = 0.08, 0.008
"""The same for the greatest slope and accelerations, and for the area: relative."""

_SHORTEST, _LONGEST = np.radians(15.0), np.radians(120.0)
_TURN = np.radians(178.0)


@dataclass(frozen=True, eq=False)
class LikelyFlank:
    """One flank as the card leaves it; angles outward from the nose [cam rad].

    Attributes:
        levels: tappet lifts, rising, from near 0 to the lobe lift [m], shape [k].
        angle: likely angle at each, falling [cam rad]; doubt: its standard uncertainty [cam rad], [k].
        slope: likely steepness at each, positive [m/rad]; slope_doubt: relative standard uncertainty, [k].
        reach: where the flank likely meets the base circle [cam rad].
        area: under the flank [m rad]; area_doubt: relative standard uncertainty.
        steepest: greatest slope [m/rad]; flank_peak, nose_peak: greatest acceleration and deceleration, both
            positive [m/rad^2]; steepest_doubt, flank_peak_doubt, nose_peak_doubt: relative standard
            uncertainties.
    """

    levels: FloatArray
    angle: FloatArray
    doubt: FloatArray
    slope: FloatArray
    slope_doubt: FloatArray
    reach: float
    area: float
    area_doubt: float
    steepest: float
    steepest_doubt: float
    flank_peak: float
    flank_peak_doubt: float
    nose_peak: float
    nose_peak_doubt: float

    def doubt_at(self, level: ArrayLike, angle: ArrayLike) -> FloatArray:
        """Standard uncertainty [cam rad] of an `angle` (any sign) told for tappet lifts [m]; NaN for NaN.

        The flanks' own spread there, and how far the angle told is from the likely one.
        """
        told = np.abs(np.asarray(angle, float))
        return np.asarray(np.hypot(self._at(level, self.doubt), self._at(level, self.angle) - told))

    def slope_doubt_at(self, level: ArrayLike) -> FloatArray:
        """Relative standard uncertainty of the flank's steepness at tappet lifts [m]; NaN gives NaN."""
        return self._at(level, self.slope_doubt)

    def _at(self, level: ArrayLike, values: FloatArray) -> FloatArray:
        """Interpolated in the square root of the way down from the nose, over which angles run straight."""
        down = np.sqrt(np.maximum(1.0 - np.asarray(level, float) / self.levels[-1], 0.0))
        known = np.sqrt(1.0 - self.levels / self.levels[-1])
        return np.asarray(np.interp(down, known[::-1], values[::-1]))


def likely_flank(
    lifts: tuple[float, ...],
    angles: tuple[float, ...],
    angle_doubts: tuple[float, ...],
    lobe_lift: float,
    ramp: Ramp | None = None,
) -> LikelyFlank | None:
    """The flanks that meet a card.

    Args:
        lifts: checking lifts at the tappet, rising, below the lobe lift [m]; n >= 1.
        angles: from the nose outward at each, falling [cam rad].
        angle_doubts: their standard uncertainties [cam rad].
        lobe_lift: full tappet lift [m].
        ramp: what is known of the ramp.

    Returns:
        None where no flank as cams have them comes near the figures.
    """
    return _likely(lifts, angles, angle_doubts, lobe_lift, ramp or Ramp())


@lru_cache(maxsize=64)
def _likely(
    lifts: tuple[float, ...],
    angles: tuple[float, ...],
    angle_doubts: tuple[float, ...],
    lobe_lift: float,
    ramp: Ramp,
) -> LikelyFlank | None:
    shapes, known = flank_shapes(), np.array(angles)
    stretched = _stretched(shapes, lifts[0], angles[0], lobe_lift, ramp)
    usable = stretched.usable
    if np.count_nonzero(usable) < 2 * LEAST_DRAWS:
        return None
    levels = np.unique(np.concatenate([_levels(lobe_lift), lifts]))
    at = stretched.angles(levels)[usable]
    own = np.searchsorted(levels, lifts)
    miss = at[:, own] - known
    doubt = np.hypot(np.radians(MISFIT), np.array(angle_doubts))
    weight = _weights(np.sum((miss / doubt)[:, 1:] ** 2, axis=1))
    # What is left of the misfit is taken off, in equal parts of the way down from the nose as a parabola
    # falls; below the lowest lift nothing is left.
    down = np.sqrt(1.0 - levels / lobe_lift)
    steepest = (-1.0 / np.gradient(at, levels, axis=1)).max(axis=1)
    at = at - _between_card(down, down[own], miss)
    angle = weight @ at
    spread = np.sqrt(weight @ (at - angle) ** 2)
    reach = float(weight @ stretched.reach[usable])
    ends = np.concatenate([[reach], known, [0.0]])
    bracket = np.searchsorted(lifts, levels)
    room = np.maximum(np.minimum(ends[bracket] - angle, angle - ends[bracket + 1]), 0.0)
    steep = -1.0 / np.gradient(at, levels, axis=1)
    slope = -1.0 / np.gradient(angle, levels)
    area = np.trapezoid(at, levels, axis=1)
    middle = float(weight @ area)
    peaks = [steepest, stretched.flank_peak[usable], stretched.nose_peak[usable]]
    means = [float(weight @ peak) for peak in peaks]
    doubts = [
        float(np.hypot(LEFT_PEAK, np.sqrt(weight @ (peak / mean - 1.0) ** 2)))
        for peak, mean in zip(peaks, means, strict=True)
    ]
    slope_doubt = np.sqrt(weight @ (steep / slope - 1.0) ** 2)
    return LikelyFlank(
        levels=np.append(levels, lobe_lift),
        angle=np.append(angle, 0.0),
        doubt=np.append(np.hypot(spread, LEFT_SHARE * room), 0.0),
        slope=np.append(slope, 0.0),
        slope_doubt=np.append(slope_doubt, slope_doubt[-1]),
        reach=reach,
        area=middle,
        area_doubt=float(np.hypot(LEFT_AREA, np.sqrt(weight @ (area / middle - 1.0) ** 2))),
        steepest=means[0],
        steepest_doubt=doubts[0],
        flank_peak=means[1],
        flank_peak_doubt=doubts[1],
        nose_peak=means[2],
        nose_peak_doubt=doubts[2],
    )


@dataclass(frozen=True, eq=False)
class _Stretched:
    """The drawn flanks at their true size, shape [draws] or [draws, nodes]."""

    shapes: FlankShapes
    lift: FloatArray
    length: FloatArray
    ramp_height: FloatArray
    ramp_length: FloatArray
    foot: FloatArray
    flank_peak: FloatArray
    nose_peak: FloatArray
    usable: BoolArray

    @property
    def reach(self) -> FloatArray:
        """Angle from the nose at which the base circle is met [cam rad]."""
        return self.length + self.ramp_length

    def angles(self, levels: FloatArray) -> FloatArray:
        """Angle from the nose at tappet lifts [cam rad], shape [draws, levels]."""
        along = np.stack([np.interp(levels, lift, self.shapes.along) for lift in self.lift])
        flank = self.length[:, np.newaxis] * (1.0 - along)
        start = _along_ramp(levels, self.ramp_height, self.ramp_length, self.foot)
        on_ramp = levels < self.ramp_height[:, np.newaxis]
        return np.where(on_ramp, self.reach[:, np.newaxis] - start, flank)


def _stretched(shapes: FlankShapes, lowest: float, angle: float, lobe_lift: float, ramp: Ramp) -> _Stretched:
    """Every drawn flank with its length such that it has the card's lowest lift where the card has it."""
    height, length, foot = ramp_draws(ramp)
    built = length * (1.0 - foot / 2)
    speed = np.divide(height, built, out=np.zeros_like(height), where=built > 0)
    on_ramp = lowest < height
    left = length - _along_ramp(np.array([lowest]), height, length, foot)[:, 0]
    long = np.where(on_ramp, angle - left, 1.02 * angle)
    rows, rest = np.arange(height.size), lobe_lift - height
    for _ in range(8):
        # The flank takes the ramp's speed over and has lost it, and gained the lift, at the nose.
        taken = speed * long / rest
        first, second = shapes.pulse_velocity[:, -1], shapes.nose_velocity[:, -1]
        third, fourth = shapes.pulse_lift[:, -1], shapes.nose_lift[:, -1]
        pulse = (taken * fourth + second * (1.0 - taken)) / (second * third - first * fourth)
        nose = (taken + pulse * first) / second
        share = (
            taken[:, np.newaxis] * shapes.along
            + pulse[:, np.newaxis] * shapes.pulse_lift
            - nose[:, np.newaxis] * shapes.nose_lift
        )
        lift = height[:, np.newaxis] + rest[:, np.newaxis] * share
        above = np.clip((lift > lowest).argmax(axis=1), 1, None)
        low, high = lift[rows, above - 1], lift[rows, above]
        part = (lowest - low) / np.where(high > low, high - low, np.inf)
        at = shapes.along[above - 1] + part * (shapes.along[above] - shapes.along[above - 1])
        fitted = np.where(on_ramp, long, angle / np.maximum(1.0 - at, 1e-3))
        if np.max(np.abs(fitted - long)) < 1e-6:
            break
        long = fitted
    usable = (pulse > 0) & (nose > 0) & (long > _SHORTEST) & (long < _LONGEST) & (long + length < _TURN)
    usable &= np.all(np.diff(lift, axis=1) > 0, axis=1)
    scale = rest / np.where(long > 0, long, np.inf) ** 2
    return _Stretched(
        shapes,
        lift,
        long,
        height,
        length,
        foot,
        pulse * shapes.pulse_peak * scale,
        nose * shapes.nose_peak * scale,
        usable,
    )


def _along_ramp(levels: FloatArray, height: FloatArray, length: FloatArray, foot: FloatArray) -> FloatArray:
    """Distance from a ramp's start at tappet lifts up to its height [cam rad], shape [draws, levels].

    Speed builds up evenly over the foot and stays.
    """
    build = (foot * length)[:, np.newaxis]
    top = (length * (1.0 - foot / 2))[:, np.newaxis]
    speed = np.where(top > 0, height[:, np.newaxis] / np.where(top > 0, top, 1.0), 1.0)
    at_foot = np.sqrt(2.0 * build * levels / speed)
    return np.where(levels < 0.5 * speed * build, at_foot, levels / speed + 0.5 * build)


def _levels(lobe_lift: float) -> FloatArray:
    """Tappet lifts at which a flank is told [m]: dense where ramps are."""
    low = (0.001, 0.002, 0.004, 0.007)
    shares = np.concatenate([low, np.linspace(0.012, 0.1, 16), np.linspace(0.115, 0.97, 24)])
    return np.asarray(lobe_lift * shares)


def _weights(misfit: FloatArray) -> FloatArray:
    """Weights of the draws from their squared misfits, widened until enough of them share the weight."""
    misfit = misfit - misfit.min()
    widening = 1.0
    while True:
        weight = np.exp(-0.5 * misfit / widening)
        weight = weight / weight.sum()
        if 1.0 / np.sum(weight**2) > LEAST_DRAWS:
            return np.asarray(weight)
        widening *= 1.5


def _between_card(down: FloatArray, at: FloatArray, miss: FloatArray) -> FloatArray:
    """The misfits at the card's lifts, spread over all levels; none at the nose; [draws, levels]."""
    known = np.concatenate([[0.0], at[::-1]])
    return np.stack([np.interp(down, known, np.concatenate([[0.0], row[::-1]])) for row in miss])
