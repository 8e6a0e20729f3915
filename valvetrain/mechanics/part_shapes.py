"""Simple default shapes of parts near the rocker, in the valve frame with the valve closed, counterclockwise.

Invented simplifications, for shops that have no outlines: a bar with a hub and a pad for the rocker, boxes
for retainer, seal and stand. Lengths [m]; x from the stem axis, positive away from the shaft, y up from the
tip.
"""

import math

import numpy as np
import shapely

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.interference import rectangle

__all__ = ["retainer_box", "rocker_bar", "seal_box", "stand_box"]

# Half of the pad's arc that stands out of the bar, either side of where it touches when closed [rad].
_PAD_ARC = 0.4

# Depth drawn of what only its top matters of [m].
_DEEP = 0.02


def rocker_bar(
    *, setback: float, height: float, pad_arm: float, pad_radius: float, lash: float, hub: float, depth: float
) -> FloatArray:
    """A rocker as a bar from its hub to its pad; the underside halfway lies `depth` under the middle line.

    Args:
        setback, height: shaft axis at (-setback, height).
        pad_arm, pad_radius, lash: the pad's place on the base circle.
        hub: diameter round the shaft.
        depth: of the underside under the line from the shaft axis to the pad's center, halfway.
    """
    shaft = np.array([-setback, height])
    rise = pad_radius + lash - height
    pad = np.array([-setback + math.sqrt(pad_arm**2 - rise**2), pad_radius + lash])
    along = (pad - shaft) / pad_arm
    under = np.array([along[1], -along[0]])
    around = -0.5 * np.pi + np.linspace(-_PAD_ARC, _PAD_ARC, 25)
    face = pad + pad_radius * np.stack([np.cos(around), np.sin(around)], axis=1)
    # The top matters to nothing here: a straight line above the middle line.
    top = [face[-1] - 0.25 * pad_radius * under, shaft - depth * under]
    bar = np.vstack([[shaft + depth * under, 0.5 * (shaft + pad) + depth * under], face, top])
    whole = shapely.union(shapely.polygons(bar), shapely.buffer(shapely.points(shaft), 0.5 * hub))
    outline = shapely.get_coordinates(shapely.get_exterior_ring(whole))[:-1]
    return np.asarray(outline if shapely.is_ccw(shapely.linearrings(outline)) else outline[::-1])


def retainer_box(*, diameter: float, below_tip: float, depth: float) -> FloatArray:
    """A retainer: `below_tip` from the tip down to its top, `depth` from there to its lowest part."""
    return rectangle(-0.5 * diameter, -below_tip - depth, 0.5 * diameter, -below_tip)


def seal_box(*, diameter: float, below_tip: float, depth: float, gap: float) -> FloatArray:
    """A seal or guide whose top is `gap` under the lowest part of the closed retainer."""
    top = -below_tip - depth - gap
    return rectangle(-0.5 * diameter, top - _DEEP, 0.5 * diameter, top)


def stand_box(*, setback: float, height: float, width: float, top: float) -> FloatArray:
    """A stand under the shaft, its shoulder `top` below the shaft axis."""
    upper = height - top
    return rectangle(-setback - 0.5 * width, upper - _DEEP, -setback + 0.5 * width, upper)
