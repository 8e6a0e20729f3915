"""Simple default shapes of parts near the rocker, in the valve frame with the valve closed, counterclockwise.

Invented simplifications, for shops that have no outlines: a bar with a hub and a pad for the rocker, boxes
for retainer, seal and stand. Lengths [m], shape [...], broadcast; outlines [..., n, 2], NaN where a length
is; x from the stem axis, positive away from the shaft, y up from the tip.
"""

import numpy as np
import shapely

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats
from valvetrain.mechanics.shapes.interference import rectangle

__all__ = ["retainer_box", "rocker_bar", "seal_box", "stand_box"]

# Half of the pad's arc that stands out of the bar, either side of where it touches when closed [rad].
_PAD_ARC = 0.4

# Depth drawn of what only its top matters of [m].
_DEEP = 0.02

# Sides of a quarter of the hub.
_QUARTER = 32


def rocker_bar(
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    lash: ArrayLike,
    hub: ArrayLike,
    depth: ArrayLike,
) -> FloatArray:
    """A rocker as a bar from its hub to its pad; the underside halfway lies `depth` under the middle line.

    Args:
        setback, height: shaft axis at (-setback, height).
        pad_arm, pad_radius, lash: the pad's place on the base circle.
        hub: diameter round the shaft; drawn as a polygon about the circle, so never too small.
        depth: of the underside under the line from the shaft axis to the pad's center, halfway.

    Returns:
        as many points for each as the longest outline needs, its last point repeated in the others; NaN where
        the arm cannot reach too, and where the bar is so thin that its sides cross.
    """
    back, up, arm, radius, gap, across, deep = np.broadcast_arrays(
        *floats(setback, height, pad_arm, pad_radius, lash, hub, depth)
    )
    shaft = np.stack([-back, up], axis=-1)
    rise = radius + gap - up
    with np.errstate(invalid="ignore"):
        pad = np.stack([-back + np.sqrt(arm**2 - rise**2), radius + gap], axis=-1)
    along = (pad - shaft) / arm[..., None]
    down = deep[..., None] * np.stack([along[..., 1], -along[..., 0]], axis=-1)
    around = -0.5 * np.pi + np.linspace(-_PAD_ARC, _PAD_ARC, 25)
    circle = np.stack([np.cos(around), np.sin(around)], axis=-1)
    face = pad[..., None, :] + radius[..., None, None] * circle
    # The top matters to nothing here: a straight line above the middle line.
    above = face[..., -1, :] - 0.25 * radius[..., None] * np.stack([along[..., 1], -along[..., 0]], axis=-1)
    under = np.stack([shaft + down, 0.5 * (shaft + pad) + down], axis=-2)
    bar = np.concatenate([under, face, np.stack([above, shaft - down], axis=-2)], axis=-2)
    known = np.isfinite(bar).all(axis=(-2, -1)) & np.isfinite(across)
    known[known] = shapely.is_valid(shapely.polygons(bar[known]))
    if not known.any():
        return np.full((*known.shape, 3, 2), np.nan)
    reach = 0.5 * across[known] / np.cos(0.25 * np.pi / _QUARTER)
    hubs = shapely.buffer(shapely.points(shaft[known]), reach, quad_segs=_QUARTER)
    whole = shapely.orient_polygons(shapely.union(shapely.polygons(bar[known]), hubs))
    points, which = shapely.get_coordinates(shapely.get_exterior_ring(whole), return_index=True)
    count = np.bincount(which)
    place = np.minimum(np.arange(count.max()), count[:, None] - 1)
    outline = np.full((*known.shape, count.max(), 2), np.nan)
    outline[known] = points[(np.cumsum(count) - count)[:, None] + place]
    return outline


def retainer_box(*, diameter: ArrayLike, below_tip: ArrayLike, depth: ArrayLike) -> FloatArray:
    """A retainer: `below_tip` from the tip down to its top, `depth` from there to its lowest part."""
    across, down, deep = floats(diameter, below_tip, depth)
    return rectangle(-0.5 * across, -down - deep, 0.5 * across, -down)


def seal_box(*, diameter: ArrayLike, below_tip: ArrayLike, depth: ArrayLike, gap: ArrayLike) -> FloatArray:
    """A seal or guide whose top is `gap` under the lowest part of the closed retainer."""
    across, down, deep, under = floats(diameter, below_tip, depth, gap)
    top = -down - deep - under
    return rectangle(-0.5 * across, top - _DEEP, 0.5 * across, top)


def stand_box(*, setback: ArrayLike, height: ArrayLike, width: ArrayLike, top: ArrayLike) -> FloatArray:
    """A stand under the shaft, its shoulder `top` below the shaft axis."""
    back, up, across, shoulder = floats(setback, height, width, top)
    upper = up - shoulder
    return rectangle(-back - 0.5 * across, upper - _DEEP, -back + 0.5 * across, upper)
