"""Gaps seen across the cylinder: valve head to the relief's wall, and valve head to valve head."""

from collections.abc import Sequence

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.setup import Setup

__all__ = ["relief_clearance", "valve_gaps"]


def relief_clearance(
    head_diameter: FloatArray, radius: FloatArray, along: FloatArray, across: FloatArray
) -> FloatArray:
    """Least gap from the valve head to the wall of a round relief [m]; all one shape, NaN gives NaN.

    A head that stands out of the middle comes nearer to the wall by that much, in any direction; an offset
    that is not given counts as none where the radius is.
    """
    out = np.hypot(np.nan_to_num(along), np.nan_to_num(across))
    return np.asarray(radius - out - 0.5 * head_diameter)


def valve_gaps(
    setup: Setup,
    cylinders: Sequence[tuple[int, list[int], list[int]]],
    crank_angle: FloatArray,
    lift: FloatArray,
) -> tuple[Quantity, Quantity]:
    """Least gap between the intake and exhaust heads of every cylinder through the overlap, and where.

    Args:
        setup: the engine.
        cylinders: (number, indices of its intake valves, of its exhaust valves); the first of each is taken.
        crank_angle: [rad], shape [angles].
        lift: [m], shape [valves, angles].
    """
    count = len(cylinders)
    gap, doubt, angle = np.full(count, np.nan), np.full(count, np.nan), np.full(count, np.nan)
    for index, (_, into, out) in enumerate(cylinders):
        found = _least(setup, into[0], out[0], lift)
        if found is not None:
            gap[index], doubt[index], at = found
            angle[index] = np.nan if at is None else crank_angle[at]
    none = np.where(np.isnan(angle), np.nan, 0.0)
    return Quantity("length", gap, doubt, {}), Quantity("angle", angle, none, {})


def _least(setup: Setup, into: int, out: int, lift: FloatArray) -> tuple[float, float, int | None] | None:
    """Least gap of one pair, its standard uncertainty, and at which angle; None where not known.

    Upright stems keep their heads at one distance while they are level: there is no such angle then.
    """
    one, other = setup.trains[into], setup.trains[out]
    spacing, between = one.piston.valve_spacing, one.piston.valves_between
    heads = one.valve.head_diameter, other.valve.head_diameter
    if spacing is None or heads[0] is None or heads[1] is None or np.isnan(lift[[into, out]]).any():
        return None
    # shapely is loaded where it is needed only.
    from valvetrain.mechanics.piston.clearance import head_section, valve_to_valve

    lean = 0.0 if between is None else 0.5 * between.value
    rims = [
        0.001 if train.piston.head_thickness is None else train.piston.head_thickness.value
        for train in (one, other)
    ]
    # The stems lean apart going up where the heads lean together going down.
    first = head_section(lift[into], -0.5 * spacing.value, -lean, 0.5 * heads[0].value, rims[0])
    second = head_section(lift[out], 0.5 * spacing.value, lean, 0.5 * heads[1].value, rims[1])
    gaps = valve_to_valve(first, second)
    at = int(np.argmin(gaps))
    doubt = float(np.hypot(spacing.uncertainty, 0.5 * np.hypot(heads[0].uncertainty, heads[1].uncertainty)))
    return float(gaps[at]), doubt, None if np.sum(gaps < gaps[at] + 1e-7) > 3 else at
