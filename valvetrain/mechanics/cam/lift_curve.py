"""Tappet lift over one cam revolution as a smooth periodic curve.

The curve is a periodic piecewise polynomial of degree five, four times differentiable where it was fitted,
so that velocity, acceleration and jerk come from it and never from raw differences.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from math import pi

import numpy as np
from scipy.interpolate import PPoly

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.law_lobe import LawLobe

__all__ = ["CENTER_DROP", "LiftCurve", "hermite_pieces", "lift_curve_from_law", "lift_curve_from_pieces"]

CENTER_DROP = 1.27e-3
"""The lobe center is read this far below full lift [m] (0.050 in with a dial; common practice, no source)."""


@dataclass(frozen=True, eq=False)
class LiftCurve:
    """Lift of the tappet off the base circle, periodic, angle 0 at the lobe center [cam rad].

    The **lobe center** is the midpoint of the two angles at which the lift is 0.050 in (1.27 mm) below
    its maximum, or at half the maximum on a lobe lower than twice that (common practice with a dial
    indicator, no source). On an asymmetric lobe it is not quite the angle of maximum lift.

    Attributes:
        breakpoints: rising, from -pi - shift to pi - shift [cam rad], shape [k + 1].
        coefficients: of (angle - breakpoint), highest power first, shape [6, k] [m/rad^power].
        source: "table", "law" or "card".
        center: angle of the lobe center on the scale of the source (table or law) [cam rad].
        max_lift: [m]; peak_angle: where it is, first of a plateau [cam rad].
        noise: rms noise of the readings as the fit sees it [m]; 0 for a law, NaN for a card.
        lift_uncertainty: standard uncertainty of the fitted lift, mean over the lobe [m].
        lift_doubts: the same at each breakpoint, shape [k + 1] [m]; empty unless from a table.
        zero_offset: base-circle reading that was taken off the table [m]; 0 where none was seen.
        runout: peak-to-peak once-per-revolution runout of the base circle [m]; NaN where not seen.
        base_start, base_end: the curve is exactly 0 from base_start over half a turn to base_end, as
            angles of closing and opening side [cam rad]; NaN where no base circle was found.
        table_angle, residuals: readings' angles on this curve's scale and reading less curve [m]; empty
            unless from a table.
    """

    breakpoints: FloatArray
    coefficients: FloatArray
    source: str
    center: float
    max_lift: float
    peak_angle: float
    noise: float = 0.0
    lift_uncertainty: float = 0.0
    zero_offset: float = 0.0
    runout: float = np.nan
    base_start: float = np.nan
    base_end: float = np.nan
    lift_doubts: FloatArray = field(default_factory=lambda: np.empty(0))
    table_angle: FloatArray = field(default_factory=lambda: np.empty(0))
    residuals: FloatArray = field(default_factory=lambda: np.empty(0))

    @cached_property
    def _derivatives(self) -> tuple[PPoly, PPoly, PPoly, PPoly]:
        lift = PPoly.construct_fast(self.coefficients, self.breakpoints, extrapolate=True)
        return lift, lift.derivative(1), lift.derivative(2), lift.derivative(3)

    def _value(self, order: int, angle: ArrayLike) -> FloatArray:
        values: FloatArray = self._derivatives[order](_folded(angle, self.breakpoints))
        return values

    def lift(self, angle: ArrayLike) -> FloatArray:
        """Lift [m] at cam angles [rad], any shape, any turn; NaN gives NaN."""
        return self._value(0, angle)

    def velocity(self, angle: ArrayLike) -> FloatArray:
        """d lift/d angle [m/rad]; times cam speed [rad/s] it is m/s."""
        return self._value(1, angle)

    def acceleration(self, angle: ArrayLike) -> FloatArray:
        """[m/rad^2]; times cam speed squared it is m/s^2."""
        return self._value(2, angle)

    def jerk(self, angle: ArrayLike) -> FloatArray:
        """[m/rad^3]; times cam speed cubed it is m/s^3."""
        return self._value(3, angle)

    def lift_doubt(self, angle: ArrayLike) -> FloatArray:
        """Standard uncertainty of the lift [m] at cam angles [rad], any shape; NaN gives NaN.

        Of a table: by what its readings' noise and the smoothing leave there. Else `lift_uncertainty`.
        """
        at = _folded(angle, self.breakpoints)
        if not self.lift_doubts.size:
            return np.where(np.isnan(at), np.nan, self.lift_uncertainty)
        return np.interp(at, self.breakpoints, self.lift_doubts)

    @cached_property
    def squared_jerk(self) -> float:
        """Integral of jerk squared over the revolution [m^2/rad^5], the measure of roughness.

        Exact for the pieces; the infinite jerk where a law's acceleration steps is not in it.
        """
        jerk = self._derivatives[3].c
        width = np.diff(self.breakpoints)
        total = np.zeros_like(width)
        for power_a, a in enumerate(jerk[::-1]):
            for power_b, b in enumerate(jerk[::-1]):
                power = power_a + power_b + 1
                total += a * b * width**power / power
        return float(total.sum())

    @cached_property
    def fine_grid(self) -> tuple[FloatArray, FloatArray]:
        """Angles over the revolution, the peak among them, and lifts there; for bracketing [n], [n]."""
        start = self.peak_angle - pi
        angle = np.concatenate(
            [start + np.arange(721) * (pi / 720), self.peak_angle + np.arange(1, 721) * (pi / 720)]
        )
        angle[720] = self.peak_angle
        return angle, self.lift(angle)


def lift_curve_from_pieces(
    breakpoints: FloatArray,
    coefficients: FloatArray,
    source: str,
    *,
    noise: float = 0.0,
    lift_uncertainty: float = 0.0,
    zero_offset: float = 0.0,
    runout: float = np.nan,
    base_start: float = np.nan,
    base_end: float = np.nan,
    lift_doubts: FloatArray | None = None,
    table_angle: FloatArray | None = None,
    residuals: FloatArray | None = None,
) -> LiftCurve:
    """A `LiftCurve` from a periodic piecewise polynomial on the source's own angle scale.

    The pieces cover one turn and meet at its ends; the lobe center is found and the scale moved to it.
    ValueError where the curve nowhere rises.
    """
    curve = PPoly.construct_fast(np.ascontiguousarray(coefficients), breakpoints, extrapolate=True)
    peak = _peak(curve)
    height = float(curve(peak))
    if not height > 0:
        raise ValueError("the lift curve nowhere rises above the base circle")
    center = _lobe_center(curve, peak, height)
    shift = round((center - 0.5 * (breakpoints[0] + breakpoints[-1])) / (2 * pi)) * 2 * pi
    return LiftCurve(
        breakpoints=breakpoints - center + shift,
        coefficients=np.ascontiguousarray(coefficients),
        source=source,
        center=center,
        max_lift=height,
        peak_angle=_turned(peak - center),
        noise=noise,
        lift_uncertainty=lift_uncertainty,
        zero_offset=zero_offset,
        runout=runout,
        base_start=_turned(base_start - center),
        base_end=_turned(base_end - center),
        lift_doubts=np.empty(0) if lift_doubts is None else lift_doubts,
        table_angle=np.empty(0) if table_angle is None else _turned_all(table_angle - center),
        residuals=np.empty(0) if residuals is None else residuals,
    )


def lift_curve_from_law(lobe: LawLobe, pieces: int = 720) -> LiftCurve:
    """The lift curve of a lobe built from a motion law.

    Degree-five Hermite pieces, at least `pieces` a revolution and one edge at each break of the law; they
    meet lift, velocity and acceleration of the law at their ends and its lift between them to about 1e-12
    of the lobe lift.
    """
    # A ramp's velocity builds up over a few degrees: finer pieces there keep the same accuracy.
    blends = [np.linspace(start, end, 33) for start, end in lobe.ramp_blends if end > start]
    inner = _turned_all(np.concatenate([lobe.breaks, *blends]))
    edges = np.unique(np.concatenate([np.linspace(-pi, pi, pieces + 1), inner]))
    edges = edges[np.concatenate([[True], np.diff(edges) > 1e-9])]
    edges[-1] = pi
    width = np.diff(edges)
    left, right = lobe.curves(edges[:-1]), lobe.curves(edges[1:])
    # Acceleration may step at an edge: it is read just inside the piece.
    inside_left = lobe.curves(edges[:-1] + 1e-9 * width)[2]
    inside_right = lobe.curves(edges[1:] - 1e-9 * width)[2]
    coefficients = hermite_pieces(width, left[0], left[1], inside_left, right[0], right[1], inside_right)
    bounds = lobe.edges
    return lift_curve_from_pieces(
        edges, coefficients, "law", runout=0.0, base_start=float(bounds[-1]), base_end=float(bounds[0])
    )


def hermite_pieces(
    width: FloatArray,
    s0: FloatArray,
    v0: FloatArray,
    a0: FloatArray,
    s1: FloatArray,
    v1: FloatArray,
    a1: FloatArray,
) -> FloatArray:
    """Degree-five coefficients [6, k] that meet value, first and second derivative at both ends."""
    rest_s = s1 - s0 - v0 * width - a0 * width**2 / 2
    rest_v = (v1 - v0 - a0 * width) * width
    rest_a = (a1 - a0) * width**2
    c3 = 10 * rest_s - 4 * rest_v + rest_a / 2
    c4 = -15 * rest_s + 7 * rest_v - rest_a
    c5 = 6 * rest_s - 3 * rest_v + rest_a / 2
    return np.array([c5 / width**5, c4 / width**4, c3 / width**3, a0 / 2, v0, s0])


def _folded(angle: ArrayLike, breakpoints: FloatArray) -> FloatArray:
    """The same angles within the pieces; by hand, since the library's own folding may round out of them."""
    start, end = breakpoints[0], breakpoints[-1]
    folded: FloatArray = np.minimum(start + np.mod(np.asarray(angle, float) - start, end - start), end)
    return folded


def _turned(angle: float) -> float:
    """The same angle within half a turn of 0."""
    return float((angle + pi) % (2 * pi) - pi)


def _turned_all(angle: FloatArray) -> FloatArray:
    turned: FloatArray = np.mod(angle + pi, 2 * pi) - pi
    return turned


def _peak(curve: PPoly) -> float:
    """Angle of greatest lift, refined; the first end of a plateau."""
    start, end = curve.x[0], curve.x[-1]
    angle = np.linspace(start, end, 1441)[:-1]
    best = float(angle[int(np.argmax(curve(angle)))])
    slope = curve.derivative(1)

    def velocity(x: float) -> float:
        return float(slope(_folded(x, curve.x)))

    step = (end - start) / 1440
    if velocity(best - step) <= 0 or velocity(best + step) >= 0:
        return best
    return _bisected(lambda x: -velocity(x), best - step, best + step)


def _lobe_center(curve: PPoly, peak: float, height: float) -> float:
    """Midpoint of the two angles at the lift that `LiftCurve` states."""
    level = max(height - CENTER_DROP, height / 2)
    grid = peak + np.arange(1, 1441) * (pi / 1440)
    sides = []
    for sign in (-1.0, 1.0):
        angles = peak + sign * (grid - peak)
        below = np.flatnonzero(curve(_folded(angles, curve.x)) < level)
        if below.size == 0:
            raise ValueError("the lift never falls to its base circle: no lobe center can be found")
        outer = angles[below[0]]
        sides.append(
            _bisected(lambda x: level - float(curve(_folded(x, curve.x))), outer - sign * pi / 1440, outer)
        )
    return 0.5 * (sides[0] + sides[1])


def _bisected(function: Callable[[float], float], low: float, high: float) -> float:
    """Root of a function that is not above 0 at `low` and above 0 at `high`, by halving to the last digit."""
    for _ in range(60):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if function(middle) > 0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
