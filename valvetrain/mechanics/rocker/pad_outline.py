"""A measured pad: worn, hollowed or otherwise not circular, given as points along its working face.

Frame of the outline: the rocker's own, origin at the shaft axis, x along the pad arm (toward the pad), y
square to it, positive on the side away from the valve. The points run along the working face from the
shaft's end outward, so the metal lies to the left of the way along them. With the pad arm at the angle phi
the rocker is that outline turned by phi about the shaft, and the flat tip is touched where the outline is
lowest along the stem. Virtual work: turning the rocker by dphi lowers the lowest point by dphi times its
distance from the shaft axis square to the stem.

Between the points a parabola through the lowest one and its neighbors is used: a circle given as points is
met with second order or better. Derived; tested against the circular pad's closed form.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import floats

__all__ = [
    "LowestPoint",
    "OutlineContact",
    "checked_outline",
    "closed_angle_of_outline",
    "contact_of_outline",
    "lowest_point",
]

# Turned outlines held in memory at once (angles x points): bounded memory, still long inner loops.
_CELLS = 2_000_000


@dataclass(frozen=True)
class LowestPoint:
    """Lowest point of the turned outline, seen from the shaft axis; shapes of the angles.

    Attributes:
        x: distance from the shaft axis square to the stem, positive toward the valve [m].
        y: height along the stem, from the shaft axis [m].
        at_end: the lowest point is an end of the measured outline: the pad may touch where it was not
            measured.
    """

    x: FloatArray
    y: FloatArray
    at_end: BoolArray


@dataclass(frozen=True)
class OutlineContact:
    """A measured pad through the lift, shapes [..., n].

    Attributes:
        pad_drop: fall of the pad's lowest point from the base-circle position [m].
        contact_x: contact from the stem axis [m], positive away from the shaft.
        ratio: d(pad drop)/d(tappet rise), by virtual work.
        at_end: the contact has run to an end of the measured outline.
    """

    pad_drop: FloatArray
    contact_x: FloatArray
    ratio: FloatArray
    at_end: BoolArray


def checked_outline(points: ArrayLike) -> FloatArray:
    """The outline as an array of shape [m, 2] [m], m >= 3, if it can be the working face of a pad.

    Raises:
        ValueError: wrong shape, fewer than three points, a missing or repeated point, an outline that
            crosses itself (or the lines from its ends to the shaft), or one given inside out.
    """
    from shapely import LinearRing

    face = np.asarray(points, float)
    if face.ndim != 2 or face.shape[1] != 2 or len(face) < 3:
        raise ValueError(
            f"The pad outline has shape {face.shape}: it must be three or more points of x and y."
        )
    missing = ~np.isfinite(face).all(axis=1)
    if missing.any():
        raise ValueError(f"Point {int(np.argmax(missing)) + 1} of the pad outline is not a finite number.")
    repeated = (np.diff(face, axis=0) == 0).all(axis=1)
    if repeated.any():
        raise ValueError(
            f"Point {int(np.argmax(repeated)) + 2} of the pad outline repeats the one before it."
        )
    # Closed over the shaft axis, the face bounds the metal between the shaft and the pad.
    ring = LinearRing(np.vstack([face, [[0.0, 0.0]]]))
    if not ring.is_simple:
        raise ValueError("The pad outline crosses itself: its points must follow the working face in order.")
    if not ring.is_ccw:
        raise ValueError(
            "The pad outline is inside out: give its points from the shaft's end outward, "
            "with y positive on the side away from the valve."
        )
    return face


def lowest_point(outline: ArrayLike, pad_angle: ArrayLike) -> LowestPoint:
    """Lowest point along the stem of an outline [m, 2] turned to each pad angle [rad], any shape.

    NaN angles give NaN.

    Raises:
        ValueError: as `checked_outline`.
    """
    face = checked_outline(outline)
    angles = np.asarray(pad_angle, float)
    flat = angles.ravel()
    x, y, at_end = np.empty(flat.shape), np.empty(flat.shape), np.empty(flat.shape, bool)
    block = max(1, _CELLS // len(face))
    for start in range(0, len(flat), block):
        part = slice(start, start + block)
        x[part], y[part], at_end[part] = _lowest(face, flat[part])
    return LowestPoint(x.reshape(angles.shape), y.reshape(angles.shape), at_end.reshape(angles.shape))


def _lowest(face: FloatArray, angle: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
    cosine, sine = np.cos(angle), np.sin(angle)
    heights = np.outer(sine, face[:, 0]) + np.outer(cosine, face[:, 1])
    # A NaN angle makes every height NaN; the index is then 0 and the results stay NaN.
    lowest = np.argmin(heights, axis=1)
    at_end = (lowest == 0) | (lowest == len(face) - 1)
    middle = np.clip(lowest, 1, len(face) - 2)
    before, here, after = face[middle - 1], face[middle], face[middle + 1]
    turn_x = np.stack([cosine, -sine], axis=1)
    turn_y = np.stack([sine, cosine], axis=1)
    # Parabolas in the chord length u from the middle point: p(u) = here + slope u + bend u^2.
    back = np.hypot(*(here - before).T)[:, np.newaxis]
    on = np.hypot(*(after - here).T)[:, np.newaxis]
    rise_back, rise_on = (here - before) / back, (after - here) / on
    bend = (rise_on - rise_back) / (back + on)
    slope = rise_back + bend * back
    slope_y, bend_y = (slope * turn_y).sum(axis=1), (bend * turn_y).sum(axis=1)
    # Flat across three points (bend 0): any of them is lowest, take the middle one.
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.where(bend_y > 0, -0.5 * slope_y / bend_y, 0.0)
    u = np.where(at_end, np.where(lowest == 0, -back[:, 0], on[:, 0]), np.clip(u, -back[:, 0], on[:, 0]))
    point = here + slope * u[:, np.newaxis] + bend * u[:, np.newaxis] ** 2
    at_end = at_end & ~np.isnan(angle)
    return (point * turn_x).sum(axis=1), (point * turn_y).sum(axis=1), at_end


def closed_angle_of_outline(outline: ArrayLike, *, height: ArrayLike, lash: ArrayLike) -> FloatArray:
    """Pad-arm angle [rad] at which the outline's lowest point is `lash` above the closed tip.

    Args:
        outline: [m, 2] [m].
        height: shaft axis above the closed tip [m], shape [...]; lash: [m], shape [...].

    Returns:
        shape [...], on the branch on which the pad is on the valve's side of the shaft; NaN where the pad
        cannot reach.
    """
    face = checked_outline(outline)
    up, gap = floats(height, lash)
    wanted = np.asarray(gap - up)
    # The lowest point rises with the angle from where it stands below the shaft to its highest position.
    scan = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 721)
    heights = lowest_point(face, scan).y
    bottom = int(np.argmin(heights))
    top = bottom + int(np.argmax(heights[bottom:]))
    low = np.where(np.isnan(wanted), np.nan, scan[bottom])
    high = np.where(np.isnan(wanted), np.nan, scan[top])
    reachable = (lowest_point(face, low).y <= wanted) & (lowest_point(face, high).y >= wanted)
    for _ in range(54):
        halfway = 0.5 * (low + high)
        beneath = lowest_point(face, halfway).y < wanted
        low, high = np.where(beneath, halfway, low), np.where(beneath, high, halfway)
    return np.where(reachable, 0.5 * (low + high), np.nan)


def contact_of_outline(
    outline: ArrayLike,
    *,
    setback: ArrayLike,
    closed_angle: ArrayLike,
    turn: ArrayLike,
    turn_rate: ArrayLike,
) -> OutlineContact:
    """Pad drop, contact and ratio of a measured pad through the lift.

    Args:
        outline: [m, 2] [m].
        setback: shaft axis to stem axis [m], shape [...].
        closed_angle: from `closed_angle_of_outline` [rad], shape [...].
        turn: rocker's turn in the opening direction [rad], shape [..., n], and
        turn_rate: that per tappet rise [rad/m], both from `rocker_linkage.rocker_turn`.
    """
    face = checked_outline(outline)
    start, back, turned, rate = floats(closed_angle, setback, turn, turn_rate)
    start = start[..., np.newaxis]
    point = lowest_point(face, start - turned)
    return OutlineContact(
        pad_drop=lowest_point(face, start).y - point.y,
        contact_x=point.x - back[..., np.newaxis],
        ratio=point.x * rate,
        at_end=point.at_end,
    )
