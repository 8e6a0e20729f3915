"""Clearance of the valves to the piston and to each other.

Along the stem: the piston, `drop` below top dead center, has left the valve head by drop x cos(angle) where
the relief's floor is parallel to the valve head, and by drop / cos(angle) along the stem where the crown is
square to the cylinder; the valve has followed by its lift (derived). In plan, looking along the stem, the
valve head is a circle and the relief an outline.
"""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.piston.crank_slider import piston_drop

__all__ = [
    "LeastClearance",
    "LeastFromReadings",
    "gap_at_top_dead_center",
    "head_section",
    "least_clearance",
    "least_from_readings",
    "piston_to_valve",
    "radial_clearance",
    "valve_to_valve",
]

Floor = Literal["parallel", "square"]


@dataclass(frozen=True)
class LeastClearance:
    """Least clearance [m] (negative: they touch), crank angle [rad] where, and whether it lies at an end of
    the angles given, so that a smaller one may lie beyond; shape [...]."""

    clearance: FloatArray
    crank_angle: FloatArray
    at_end: BoolArray


@dataclass(frozen=True)
class LeastFromReadings:
    """Least clearance between dial readings.

    Attributes:
        clearance: [m] by a cubic spline through the readings.
        crank_angle: [rad] where.
        uncertainty: [m] standard uncertainty: of the readings and of the interpolation together.
        interpolation: [m] the part due to interpolation: the difference from the parabola through the three
            lowest neighbors.
        at_end: the lowest reading is the first or the last: take more readings beyond it.
    """

    clearance: float
    crank_angle: float
    uncertainty: float
    interpolation: float
    at_end: bool


def gap_at_top_dead_center(
    *,
    gasket: ArrayLike,
    deck_clearance: ArrayLike,
    valve_recess: ArrayLike,
    relief_depth: ArrayLike,
    valve_angle: ArrayLike = 0.0,
    floor: Floor = "parallel",
) -> FloatArray:
    """Gap along the stem [m] between the closed valve's face and the piston at top dead center.

    Args:
        gasket: [m] compressed thickness.
        deck_clearance: [m] crown below the block's deck, negative above.
        valve_recess: [m] valve face above the head's deck along the cylinder (at its lowest point where the
            floor is square), negative where it stands proud.
        relief_depth: [m] along the cylinder, under that same point.
        valve_angle: [rad] stem from the cylinder's axis.
        floor: "parallel" to the valve head or "square" to the cylinder.

    NaN in, NaN out.
    """
    axial = sum(np.asarray(part, float) for part in (gasket, deck_clearance, valve_recess, relief_depth))
    return np.asarray(axial * _along_stem(valve_angle, floor))


def piston_to_valve(
    crank_angle: ArrayLike,
    lift: ArrayLike,
    gap_at_tdc: ArrayLike,
    *,
    stroke: ArrayLike,
    rod_length: ArrayLike,
    valve_angle: ArrayLike = 0.0,
    floor: Floor = "parallel",
    advance: ArrayLike = 0.0,
) -> FloatArray:
    """Clearance along the stem [m] at every sample, negative where they would meet.

    Args:
        crank_angle: [rad] after top dead center of the overlap, shape [angle].
        lift: [m] of the valve at those angles with the cam as it is, shape [..., angle].
        gap_at_tdc: [m], shape [...], see `gap_at_top_dead_center`.
        stroke, rod_length, valve_angle: [m], [m], [rad], shape [...].
        advance: [rad of the crank], shape [...], of the cam from where it is; positive: the events come
            earlier. Sample k then happens at crank_angle[k] - advance.

    NaN in, NaN out.
    """
    angle, stroke_, rod = (np.asarray(v, float) for v in (crank_angle, stroke, rod_length))
    happens = angle - np.asarray(advance, float)[..., None]
    drop = piston_drop(happens, stroke_[..., None], rod[..., None])
    factor = np.asarray(_along_stem(valve_angle, floor))[..., None]
    return np.asarray(np.asarray(gap_at_tdc, float)[..., None] + drop * factor - np.asarray(lift, float))


def least_clearance(crank_angle: ArrayLike, clearance: ArrayLike) -> LeastClearance:
    """Least of a sampled clearance, refined by the parabola through the lowest sample and its neighbors.

    Args:
        crank_angle: [rad], shape [angle], increasing, at least three; clearance: [m], shape [..., angle].

    A row holding NaN gives NaN. Raises ValueError for angles that are too few or not increasing.
    """
    angle = np.asarray(crank_angle, float)
    values = np.asarray(clearance, float)
    if angle.ndim != 1 or angle.size < 3 or np.any(np.diff(angle) <= 0):
        raise ValueError(f"crank_angle has shape {angle.shape}; it must be three or more increasing angles")
    known = ~np.any(np.isnan(values), axis=-1)
    lowest = np.argmin(np.where(np.isnan(values), np.inf, values), axis=-1)
    middle = np.clip(lowest, 1, angle.size - 2)
    x0, x1, x2 = angle[middle - 1], angle[middle], angle[middle + 1]
    y0, y1, y2 = (
        np.take_along_axis(values, np.asarray(middle + k)[..., None], axis=-1)[..., 0] for k in (-1, 0, 1)
    )
    first, second = (y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1)
    bend = (second - first) / (x2 - x0)
    bent = bend > 0
    slope = first + bend * (x1 - x0)  # at x1
    step = np.where(bent, -slope / np.where(bent, 2 * bend, 1.0), 0.0)
    step = np.clip(step, x0 - x1, x2 - x1)
    at_end = lowest != middle
    least = np.where(at_end, np.min(values, axis=-1), y1 + slope * step + bend * step**2)
    where = np.where(at_end, angle[lowest], x1 + step)
    return LeastClearance(
        np.where(known, least, np.nan), np.where(known, where, np.nan), np.asarray(at_end & known)
    )


def least_from_readings(
    crank_angle: ArrayLike, clearance: ArrayLike, reading_uncertainty: float = 0.0
) -> LeastFromReadings:
    """Least clearance from dial readings at a few crank angles, as builders take them.

    Args:
        crank_angle: [rad], at least four, increasing; clearance: [m] read there by pushing the valve down to
            the piston.
        reading_uncertainty: [m] standard uncertainty of one reading.

    The readings' part is carried through the spline (linear in the readings) at the least point. Raises
    ValueError for fewer than four readings, NaN, or angles that do not increase.
    """
    from scipy.interpolate import CubicSpline

    angle, values = np.asarray(crank_angle, float), np.asarray(clearance, float)
    if angle.size < 4 or angle.shape != values.shape or np.any(~np.isfinite(values)):
        raise ValueError(
            f"{angle.size} angles and {values.size} readings; four or more known pairs are needed"
        )
    if np.any(~(np.diff(angle) > 0)):
        raise ValueError("crank angles of the readings must increase")
    spline = CubicSpline(angle, values)
    turning = spline.derivative().roots(extrapolate=False)
    turning = turning[np.isfinite(turning)]
    candidates = np.concatenate([angle[[0, -1]], turning])
    heights = spline(candidates)
    best = int(np.argmin(heights))
    at = float(candidates[best])
    weights = CubicSpline(angle, np.eye(angle.size))(at)
    parabola = least_clearance(angle, values)
    difference = abs(float(heights[best]) - float(parabola.clearance))
    noise = reading_uncertainty * float(np.sqrt(np.sum(weights**2)))
    return LeastFromReadings(
        float(heights[best]), at, float(np.hypot(noise, difference)), difference, bool(parabola.at_end)
    )


def radial_clearance(
    valve_radius: ArrayLike, center_x: ArrayLike, center_y: ArrayLike, relief: Any
) -> FloatArray:
    """Least gap [m] between the valve head's edge and the relief's wall, seen along the stem (shapely).

    Args:
        valve_radius: [m], shape [...]; center_x, center_y: [m] of the stem's axis in the relief's plan.
        relief: shapely polygon (or array of them, shape [...]) of the relief's floor; open sides are drawn
            beyond the bore.

    Negative: the head cuts into the wall by that much. Exact for a round head: the signed distance of its
    center to the wall less its radius.
    """
    centers = shapely.points(np.asarray(center_x, float), np.asarray(center_y, float))
    wall = shapely.distance(centers, shapely.boundary(relief))
    signed = np.where(shapely.covers(relief, centers), wall, -np.asarray(wall))
    return np.asarray(signed - np.asarray(valve_radius, float))


def head_section(
    lift: ArrayLike, seat_x: ArrayLike, angle: ArrayLike, radius: ArrayLike, thickness: ArrayLike
) -> Any:
    """Valve heads as polygons (shapely, shape of lift) in the plane of the two stems.

    Args:
        lift: [m]; seat_x: [m] of the closed head's face center; angle: [rad] of the stem from +y (up) toward
            +x; radius: [m]; thickness: [m] of the head at its rim.

    Opening moves the head down the stem, along (-sin, -cos) of the angle.
    """
    lift_, x, tilt, r, h = np.broadcast_arrays(
        *(np.asarray(v, float) for v in (lift, seat_x, angle, radius, thickness))
    )
    up = np.stack([np.sin(tilt), np.cos(tilt)], axis=-1)
    across = np.stack([np.cos(tilt), -np.sin(tilt)], axis=-1)
    face = np.stack([x, np.zeros_like(x)], axis=-1) - up * lift_[..., None]
    side, rise = across * r[..., None], up * h[..., None]
    return shapely.polygons(
        np.stack([face - side, face + side, face + side + rise, face - side + rise], axis=-2)
    )


def valve_to_valve(first: Any, second: Any) -> FloatArray:
    """Gap [m] between two valve heads at every sample, from their `head_section`; zero where they meet.

    Exact for stems in one plane: two round heads that mirror in that plane are nearest within it.
    """
    return np.asarray(shapely.distance(first, second))


def _along_stem(valve_angle: ArrayLike, floor: Floor) -> FloatArray:
    """Gap along the stem for each metre along the cylinder."""
    tilt = np.asarray(valve_angle, float)
    if np.any(np.abs(tilt) >= np.pi / 2):
        raise ValueError(f"valve angle is {valve_angle!r} rad; it must be within a quarter turn either way")
    if floor not in ("parallel", "square"):
        raise ValueError(f"floor is {floor!r}; it must be 'parallel' or 'square'")
    return np.asarray(np.cos(tilt) if floor == "parallel" else 1 / np.cos(tilt))
