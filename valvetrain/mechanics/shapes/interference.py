"""Least clearance between moving parts of the valve gear through the lift, from their outlines (shapely).

Outlines are closed polygons in the valve frame (x from the shaft toward the stem and on, y up the stem) as
arrays of points, counterclockwise, drawn with the valve closed. A rocker's outline turns about the shaft, a
retainer's goes down with the valve, the rest stand still.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats

__all__ = [
    "PartClearance",
    "checked_outline",
    "lowered",
    "part_clearance",
    "pushrod_in_hole",
    "rectangle",
    "retainer_to_seal",
    "rocker_to_retainer",
    "rocker_to_stand",
    "turned",
]


@dataclass(frozen=True)
class PartClearance:
    """Clearance of two parts through the lift.

    Attributes:
        clearance: [m], shape [..., angle]; negative where they overlap: by the greatest depth of a corner of
            one in the other, or, where no corner is inside, the width of what they share.
        least: [m], shape [...]; NaN where a sample is unknown.
        at: index of the sample where, shape [...].
        first_point, second_point: [m], shape [..., 2], where the parts are nearest at that sample.
    """

    clearance: FloatArray
    least: FloatArray
    at: np.ndarray
    first_point: FloatArray
    second_point: FloatArray


def checked_outline(points: ArrayLike, name: str) -> FloatArray:
    """The outline as an array [n, 2] without a repeated last point.

    Raises ValueError, naming the outline, for fewer than three points, unknown or equal neighboring points,
    an outline that crosses itself, or one given clockwise (inside out).
    """
    outline = np.asarray(points, float)
    if outline.ndim != 2 or outline.shape[1] != 2 or not np.all(np.isfinite(outline)):
        raise ValueError(f"outline of {name} must be rows of two known numbers; its shape is {outline.shape}")
    if len(outline) > 1 and np.array_equal(outline[0], outline[-1]):
        outline = outline[:-1]
    if len(outline) < 3:
        raise ValueError(f"outline of {name} has {len(outline)} points; it needs three or more")
    ring = shapely.linearrings(outline)
    if not shapely.is_valid(shapely.polygons(ring)):
        raise ValueError(f"outline of {name} crosses or touches itself")
    if not shapely.is_ccw(ring):
        raise ValueError(f"outline of {name} is given clockwise (inside out); go round it counterclockwise")
    return outline


def rectangle(left: ArrayLike, bottom: ArrayLike, right: ArrayLike, top: ArrayLike) -> FloatArray:
    """A simple default shape [m], counterclockwise: a retainer, seal, guide or stand seen from the side.

    Sides of shape [...]; returns [..., 4, 2], NaN where a side is. Raises ValueError when left >= right or
    bottom >= top.
    """
    west, south, east, north = np.broadcast_arrays(*floats(left, bottom, right, top))
    wrong = (west >= east) | (south >= north)
    if np.any(wrong):
        sides = ", ".join(f"{side[wrong].flat[0]:g}" for side in (west, south, east, north))
        raise ValueError(f"rectangle with left, bottom, right and top at {sides} m has no area")
    corners = ((west, south), (east, south), (east, north), (west, north))
    return np.stack([np.stack(corner, axis=-1) for corner in corners], axis=-2)


def turned(outline: ArrayLike, angle: ArrayLike, pivot: ArrayLike) -> FloatArray:
    """Outline [n, 2] turned about a pivot [2] by angles [rad, shape ..., counterclockwise]: [..., n, 2].

    Outlines [..., n, 2] and pivots [..., 1, 2] with the angles' leading axes, or broadcast to them, are taken
    as well.
    """
    arm = np.asarray(outline, float) - np.asarray(pivot, float)
    cosine, sine = (np.asarray(f(np.asarray(angle, float)))[..., None] for f in (np.cos, np.sin))
    x, y = arm[..., 0], arm[..., 1]
    center = np.asarray(pivot, float)
    return np.asarray(np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=-1) + center, float)


def lowered(outline: ArrayLike, lift: ArrayLike) -> FloatArray:
    """Outline [n, 2], or [..., n, 2], moved down the stem by each lift [m, shape ...]: [..., n, 2]."""
    down = np.stack(np.broadcast_arrays(0.0, -np.asarray(lift, float)), axis=-1)
    return np.asarray(np.asarray(outline, float) + down[..., None, :])


def part_clearance(first: ArrayLike, second: ArrayLike) -> PartClearance:
    """Clearance of two moving outlines, shapes [..., angle, n, 2] and [..., angle, m, 2], broadcast.

    Samples with NaN coordinates give NaN. Overlap is negative, see `PartClearance`.
    """
    a, b = np.asarray(first, float), np.asarray(second, float)
    unknown = np.any(np.isnan(a), axis=(-2, -1)) | np.any(np.isnan(b), axis=(-2, -1))
    shape_a, shape_b = (shapely.polygons(np.where(np.isnan(points), 0.0, points)) for points in (a, b))
    gap = np.asarray(shapely.distance(shape_a, shape_b), float)
    met = (gap == 0) & ~unknown
    if np.any(met):
        depth = np.maximum(_depth(a, shape_b, met), _depth(b, shape_a, met))
        across = met & (depth == 0)
        if np.any(across):  # bars that cross with every corner outside the other: width of what they share
            pair_across = (np.broadcast_to(shape, met.shape)[across] for shape in (shape_a, shape_b))
            shared = shapely.intersection(*pair_across)
            wide = np.where(shapely.area(shared) > 0, shared, shapely.box(0, 0, 1, 1))
            circle = shapely.length(shapely.maximum_inscribed_circle(wide))
            depth[across] = np.where(shapely.area(shared) > 0, 2 * circle, 0.0)
        gap = np.where(met, -depth, gap)
    gap = np.where(unknown, np.nan, gap)
    at = np.argmin(np.where(unknown, np.inf, gap), axis=-1)
    least = np.where(
        np.any(unknown, axis=-1), np.nan, np.take_along_axis(gap, at[..., None], axis=-1)[..., 0]
    )
    pair = (
        np.take_along_axis(np.broadcast_to(shape, gap.shape), at[..., None], axis=-1)[..., 0]
        for shape in (shape_a, shape_b)
    )
    line = np.asarray(shapely.shortest_line(*pair))
    ends = [
        np.stack(
            [shapely.get_x(shapely.get_point(line, k)), shapely.get_y(shapely.get_point(line, k))], axis=-1
        )
        for k in (0, 1)
    ]
    return PartClearance(gap, least, at, ends[0], ends[1])


def rocker_to_retainer(
    rocker: ArrayLike, retainer: ArrayLike, pivot: ArrayLike, rotation: ArrayLike, lift: ArrayLike
) -> PartClearance:
    """Rocker's underside against the retainer through the lift.

    Args:
        rocker, retainer: outlines [n, 2], [m, 2] with the valve closed [m]; or one for each leading index,
            [..., n, 2], which are taken without a look at their form, NaN where unknown.
        pivot: [2] the shaft's axis [m], or [..., 2].
        rotation: [rad], shape [..., angle], of the rocker from closed; opening is negative (clockwise).
        lift: [m], shape [..., angle], of the valve.

    Leave the pad itself out of the rocker's outline where it rests on the tip. Raises ValueError for a bad
    outline.
    """
    return _seen_from_rocker(
        _of_one_or_many(rocker, "the rocker"),
        lowered(_of_one_or_many(retainer, "the retainer"), lift),
        pivot,
        rotation,
    )


def rocker_to_stand(
    rocker: ArrayLike, stand: ArrayLike, pivot: ArrayLike, rotation: ArrayLike
) -> PartClearance:
    """Rocker against its stand or the head through the swing; arguments as for `rocker_to_retainer`."""
    return _seen_from_rocker(
        _of_one_or_many(rocker, "the rocker"), _of_one_or_many(stand, "the stand"), pivot, rotation
    )


def retainer_to_seal(retainer: ArrayLike, seal: ArrayLike, lift: ArrayLike) -> PartClearance:
    """Retainer and keepers against the seal or guide through the lift [m, shape ..., angle]."""
    return part_clearance(
        lowered(_of_one_or_many(retainer, "the retainer"), lift), _of_one_or_many(seal, "the seal")
    )


def _of_one_or_many(points: ArrayLike, name: str) -> FloatArray:
    """A checked outline, or many as they are, with an axis for the angle: [..., 1, n, 2]."""
    outline = np.asarray(points, float)
    return (checked_outline(outline, name) if outline.ndim <= 2 else outline)[..., None, :, :]


def _seen_from_rocker(
    rocker: FloatArray, other: FloatArray, pivot: ArrayLike, rotation: ArrayLike
) -> PartClearance:
    """Clearance with the other part turned back instead of the rocker: it has the fewer corners."""
    center = np.asarray(pivot, float)[..., None, None, :]
    turn = np.asarray(rotation, float)
    found = part_clearance(rocker, turned(other, -turn, center))
    angle = np.take_along_axis(np.broadcast_to(turn, found.clearance.shape), found.at[..., None], axis=-1)
    points = np.stack([found.first_point, found.second_point], axis=-2)
    ends = turned(points, angle[..., 0], center[..., 0, :, :])
    return replace(found, first_point=ends[..., 0, :], second_point=ends[..., 1, :])


def pushrod_in_hole(
    lower: ArrayLike,
    upper: ArrayLike,
    hole_bottom: ArrayLike,
    hole_top: ArrayLike,
    hole_radius: ArrayLike,
    pushrod_radius: ArrayLike,
) -> FloatArray:
    """Clearance [m] of a straight pushrod in the head's round hole at every sample, negative: it touches.

    Args:
        lower, upper: [m], shape [..., angle, d], centers of the pushrod's balls; d is 2 in the rocker's
            plane, or 3 with splay (z along the shaft).
        hole_bottom, hole_top: [m], shape [..., d], ends of the hole's axis.
        hole_radius, pushrod_radius: [m], shape [...].

    In the plane of each end of the hole the rod's section is an ellipse; its long half axis, radius/cos of
    the rod's tilt to the hole, is taken all round, so that the result is never too large. A straight rod in
    a straight hole is nearest at one of the hole's ends. NaN in, NaN out. Raises ValueError for a hole
    smaller than the pushrod.
    """
    hole, rod = np.asarray(hole_radius, float), np.asarray(pushrod_radius, float)
    if np.any(hole <= rod):
        raise ValueError(
            f"hole radius is {hole_radius!r} m; it must be more than the pushrod's {pushrod_radius!r}"
        )
    low, high = np.asarray(lower, float), np.asarray(upper, float)
    ends = [np.asarray(end, float)[..., None, :] for end in (hole_bottom, hole_top)]
    axis = ends[1] - ends[0]
    length = np.linalg.norm(axis, axis=-1, keepdims=True)
    if np.any(length == 0):
        raise ValueError("the hole's two ends are the same point; they must be apart")
    axis = axis / length
    along = (high - low) / np.linalg.norm(high - low, axis=-1, keepdims=True)
    cosine = np.sum(along * axis, axis=-1)
    off = [
        np.linalg.norm(low + along * (np.sum((end - low) * axis, axis=-1) / cosine)[..., None] - end, axis=-1)
        for end in ends
    ]
    return np.asarray(hole[..., None] - rod[..., None] / np.abs(cosine) - np.maximum(*off))


def _depth(points: FloatArray, other: Any, met: np.ndarray) -> FloatArray:
    """Greatest depth of the points [..., n, 2] inside the other polygons [...], where they meet."""
    spread = np.broadcast_to(points, (*met.shape, *points.shape[-2:]))
    corners = shapely.points(np.where(np.isnan(spread[met]), 0.0, spread[met]))
    body = np.broadcast_to(other, met.shape)[met][:, None]
    inside = shapely.covers(body, corners)
    depth = np.where(inside, shapely.distance(corners, shapely.boundary(body)), 0.0)
    found = np.zeros(met.shape)
    found[met] = np.max(depth, axis=-1)
    return found
