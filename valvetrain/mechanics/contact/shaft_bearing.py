"""Rocker bore on its shaft: pressure, sliding, where it bears against the oil hole; side load on the guide.

Directions in the valve frame: angle from +x toward +y, +y along the stem out of the head. Closed forms of
statics (derived). Broadcasts; NaN in, NaN out.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = [
    "GuideLoads",
    "ShaftBearing",
    "guide_loads",
    "hole_in_loaded_arc",
    "rocker_on_shaft",
]


@dataclass(frozen=True)
class ShaftBearing:
    """A rocker's bore on the shaft.

    Attributes:
        load: size of the force of the rocker on the shaft [N].
        direction: of that force [rad], -pi to pi; the loaded spot of the shaft faces against it, at
            direction + pi; NaN without load.
        pressure: load over the projected area, diameter x bearing width [Pa].
        sliding_speed: of the bore over the shaft [m/s], >= 0.
        severity: pressure x sliding speed [W/m^2].
    """

    load: FloatArray
    direction: FloatArray
    pressure: FloatArray
    sliding_speed: FloatArray
    severity: FloatArray


@dataclass(frozen=True)
class GuideLoads:
    """Forces of the guide on the stem at the guide's two ends, square to the stem.

    Attributes:
        outer: at the end near the rocker [N], positive along +x.
        inner: at the end near the seat [N], positive along +x.
        outer_pressure, inner_pressure: size of each over stem diameter x the length that bears, taken as a
            quarter of the guide at each end (common practice, no source) [Pa].
    """

    outer: FloatArray
    inner: FloatArray
    outer_pressure: FloatArray
    inner_pressure: FloatArray


def rocker_on_shaft(
    *,
    force_x: ArrayLike,
    force_y: ArrayLike,
    diameter: ArrayLike,
    bearing_width: ArrayLike,
    rocker_speed: ArrayLike,
) -> ShaftBearing:
    """Pressure and sliding of a rocker's bore.

    Args:
        force_x, force_y: of the rocker on the shaft [N].
        diameter: of the shaft [m], > 0.
        bearing_width: width of the bore that bears, oil groove and holes taken off [m], > 0.
        rocker_speed: angular [rad/s]; the sign is ignored.

    Raises:
        ValueError: a diameter or width <= 0.
    """
    size, width = np.asarray(diameter, float), np.asarray(bearing_width, float)
    positive("shaft diameter", size, "m", finite=False)
    positive("bearing width", width, "m", finite=False)
    x, y = np.asarray(force_x, float), np.asarray(force_y, float)
    load = np.hypot(x, y)
    pressure = load / (size * width)
    speed = np.abs(np.asarray(rocker_speed, float)) * size / 2
    direction = np.where(load > 0, np.arctan2(y, x), np.nan)
    return ShaftBearing(
        load, direction, pressure, np.asarray(speed, float), np.asarray(pressure * speed, float)
    )


def hole_in_loaded_arc(
    direction: ArrayLike, hole_angle: ArrayLike, half_arc: ArrayLike = np.pi / 3
) -> tuple[FloatArray, BoolArray]:
    """Whether an oil hole of the shaft opens into the arc that carries the load.

    A hole there is shut by the bore pressing on it and gets its oil only while the load is off.

    Args:
        direction: of the force of the rocker on the shaft [rad].
        hole_angle: direction in which the hole opens from the shaft's axis [rad].
        half_arc: half the loaded arc [rad]; by default 60 degrees (common practice, no source).

    Returns:
        (angle from the middle of the loaded arc to the hole, -pi to pi [rad], NaN without load; True where
        the hole lies in the arc).
    """
    apart = np.asarray(hole_angle, float) - (np.asarray(direction, float) + np.pi)
    wrapped = np.mod(apart + np.pi, 2 * np.pi) - np.pi
    return np.asarray(wrapped, float), np.asarray(np.abs(wrapped) <= np.asarray(half_arc, float), bool)


def guide_loads(
    *,
    tip_force: ArrayLike,
    contact_offset: ArrayLike,
    friction_force: ArrayLike,
    tip_above_guide: ArrayLike,
    guide_length: ArrayLike,
    stem_diameter: ArrayLike,
) -> GuideLoads:
    """Couple that the rocker puts on the guide.

    Args:
        tip_force: of the rocker on the tip along the stem, into the head [N], >= 0 while it presses.
        contact_offset: x of the contact on the tip [m].
        friction_force: of the rocker on the tip, along +x [N].
        tip_above_guide: tip above the guide's outer end, at this lift [m], >= 0.
        guide_length: [m], > 0; stem_diameter: [m], > 0.

    Returns:
        forces that balance the tip's: outer + inner + friction = 0, and no moment. The head of the valve is
        taken as free sideways, as it is off its seat.

    Raises:
        ValueError: a guide length or stem diameter <= 0, or the tip below the guide's end.
    """
    length, stem = np.asarray(guide_length, float), np.asarray(stem_diameter, float)
    positive("guide length", length, "m", finite=False)
    positive("stem diameter", stem, "m", finite=False)
    above = np.asarray(tip_above_guide, float)
    not_negative("tip above the guide", above, "m", finite=False)
    side, press = np.asarray(friction_force, float), np.asarray(tip_force, float)
    # Moments about the guide's outer end, y up: side acts `above` over it, the press at x = contact offset.
    couple = -side * above - press * np.asarray(contact_offset, float)
    inner = -couple / length
    outer = -side - inner
    area = stem * 0.25 * length
    return GuideLoads(outer, inner, np.abs(outer) / area, np.abs(inner) / area)
