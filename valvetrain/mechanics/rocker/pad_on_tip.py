"""A measured pad on a tip of finite width: only the part of the pad over the tip can touch.

Frames of `pad_outline` and `rocker_linkage`. A pad worn hollow may rest on the tip's edge: the contact then
stays there while the pad slides over it, and by virtual work the tip goes down by the pad's surface at that
place, its slope included. Derived; equal to the circular pad's closed form where that touches inside the tip.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import floats, positive
from valvetrain.mechanics.rocker.pad_outline import checked_outline, closed_angle_of_outline

__all__ = ["TipContact", "closed_angle_on_tip", "contact_over_tip"]

# The pad of a hollow outline stands at most this much lower than if the tip were endless [rad].
_FARTHEST = 0.5


@dataclass(frozen=True)
class TipContact:
    """Where the pad is lowest over the tip, shape of the angles.

    Attributes:
        x: from the stem axis [m], positive away from the shaft.
        y: height of the pad there, from the shaft axis along the stem [m].
        fall: fall of the pad's surface there per turn in the opening direction [m/rad].
        at_edge: the contact is on the tip's edge.
    """

    x: FloatArray
    y: FloatArray
    fall: FloatArray
    at_edge: BoolArray


def contact_over_tip(
    outline: ArrayLike, pad_angle: ArrayLike, *, setback: ArrayLike, tip_radius: ArrayLike
) -> TipContact:
    """Lowest place of the outline over the flat of the tip.

    Args:
        outline: [m, 2] [m], see `pad_outline`.
        pad_angle: pad arm from +x [rad], any shape.
        setback: shaft axis to stem axis [m], and
        tip_radius: half of the tip's flat [m], > 0, both broadcast with the angle.

    Returns:
        NaN where no part of the outline is over the tip, or an input is NaN.

    Raises:
        ValueError: as `checked_outline`, or a tip without width.
    """
    face = checked_outline(outline)
    angle, back, half = np.broadcast_arrays(*floats(pad_angle, setback), positive("tip_radius", tip_radius))
    cosine, sine = np.cos(angle)[..., np.newaxis], np.sin(angle)[..., np.newaxis]
    x = face[:, 0] * cosine - face[:, 1] * sine - back[..., np.newaxis]
    y = face[:, 0] * sine + face[:, 1] * cosine
    inside = np.abs(x) <= half[..., np.newaxis]
    lowest = np.argmin(np.where(inside, y, np.inf), axis=-1)
    px, py = _parabola(x, y, np.clip(lowest, 1, len(face) - 2))
    whole = inside.any(axis=-1)
    # A lowest place beyond the edge is not over the tip: the edge itself then counts.
    py = np.where(whole & (np.abs(px) <= half), py, np.inf)
    best_x, best_y, fall = px, py, px + back
    at_edge = np.zeros(angle.shape, bool)
    for edge in (-half, half):
        edge_y, slope = _at(x, y, edge)
        lower = edge_y < best_y - 1e-15
        best_x = np.where(lower, edge, best_x)
        best_y = np.where(lower, edge_y, best_y)
        fall = np.where(lower, edge + back + slope * np.where(lower, edge_y, 0.0), fall)
        at_edge = np.where(lower, True, at_edge)
    nothing = ~np.isfinite(best_y)
    return TipContact(
        x=np.where(nothing, np.nan, best_x),
        y=np.where(nothing, np.nan, best_y),
        fall=np.where(nothing, np.nan, fall),
        at_edge=at_edge & ~nothing,
    )


def _parabola(x: FloatArray, y: FloatArray, middle: np.ndarray) -> tuple[FloatArray, FloatArray]:
    """Lowest point of the parabola through three neighbors, held between the outer two."""
    at = middle[..., np.newaxis]
    x0, x1, x2 = (np.take_along_axis(x, at + step, axis=-1)[..., 0] for step in (-1, 0, 1))
    y0, y1, y2 = (np.take_along_axis(y, at + step, axis=-1)[..., 0] for step in (-1, 0, 1))
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1)
        bend = (second - first) / (x2 - x0)
        slope = first + bend * (x1 - x0)
        move = np.where(bend > 0, -0.5 * slope / bend, 0.0)
        low, high = np.minimum(x0, x2) - x1, np.maximum(x0, x2) - x1
        move = np.nan_to_num(np.clip(move, low, high))
        # An end of the outline or a sharp corner may be lower than the parabola's place.
        value = y1 + np.nan_to_num(slope) * move + np.nan_to_num(bend) * move**2
    best = np.argmin(np.stack([y0, y1, y2, value]), axis=0)
    return np.choose(best, [x0, x1, x2, x1 + move]), np.choose(best, [y0, y1, y2, value])


def _at(x: FloatArray, y: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lowest height and slope of the outline at one x; infinite and 0 where it is not there."""
    behind, ahead = x[..., :-1] - place[..., np.newaxis], x[..., 1:] - place[..., np.newaxis]
    crosses = (behind * ahead <= 0) & (behind != ahead)
    run = np.where(crosses, ahead - behind, 1.0)
    slope = np.diff(y, axis=-1) / run
    height = np.where(crosses, y[..., :-1] - behind * slope, np.inf)
    at = np.argmin(height, axis=-1)[..., np.newaxis]
    return (
        np.take_along_axis(height, at, axis=-1)[..., 0],
        np.where(crosses.any(axis=-1), np.take_along_axis(slope, at, axis=-1)[..., 0], 0.0),
    )


def closed_angle_on_tip(
    outline: ArrayLike, *, setback: ArrayLike, height: ArrayLike, lash: ArrayLike, tip_radius: ArrayLike
) -> FloatArray:
    """Pad-arm angle [rad] at which the pad stands `lash` [m] above the closed tip of that width.

    Arguments as in `contact_over_tip`, `height` of the shaft axis above the closed tip [m], all of shape
    [...]. NaN where the pad cannot reach, or is not over the tip.
    """
    back, up, gap, half = np.broadcast_arrays(*floats(setback, height, lash, tip_radius))
    wanted = np.asarray(gap - up)
    # Over an endless tip the pad touches no later, so it stands no lower than that.
    high = closed_angle_of_outline(outline, height=up, lash=gap)
    low = high - _FARTHEST
    with np.errstate(invalid="ignore"):
        for _ in range(56):
            halfway = 0.5 * (low + high)
            y = contact_over_tip(outline, halfway, setback=back, tip_radius=half).y
            above = ~(y < wanted)
            low, high = np.where(above, low, halfway), np.where(above, halfway, high)
        found = 0.5 * (low + high)
        y = contact_over_tip(outline, found, setback=back, tip_radius=half).y
        return np.where(np.abs(y - wanted) < 1e-6, found, np.nan)
