"""Single, dual and triple springs on one valve: loads summed, bind and room spring by spring.

The springs of a set are the last axis, from the outer to the inner. A set's height is that of its reference
seat (on top of the shims) to the reference spring face of the retainer, mostly those of the outer spring;
the others start from a step in the seat or the retainer. Lengths [m], loads [N]; everything else
broadcasts; NaN (unknown) in a fitted spring makes the set NaN, a spring left out counts nothing.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = [
    "SetLoad",
    "bind_clearance",
    "diametral_clearance",
    "set_load",
    "set_solid_height",
    "spring_heights",
]


@dataclass(frozen=True)
class SetLoad:
    """Loads of a set at one height.

    Attributes:
        load: of all fitted springs, friction left out [N], shape [...].
        compressing: felt while the set is being pressed together: load + damper friction [N].
        extending: felt while it follows the valve home: load - damper friction, not below 0 [N].
        each: of each spring [N], shape [..., springs]; 0 for a spring left out.
        rate: of the springs under load [N/m], shape [...].
        loose: springs that stand above their free height, shape [..., springs].
    """

    load: FloatArray
    compressing: FloatArray
    extending: FloatArray
    each: FloatArray
    rate: FloatArray
    loose: BoolArray


def spring_heights(height: ArrayLike, seat_step: ArrayLike, retainer_step: ArrayLike = 0.0) -> FloatArray:
    """Height that each spring of the set stands at [m], shape [..., springs].

    Args:
        height: of the set [m], shape [...].
        seat_step: how much this spring's seat lies above the set's [m], shape [..., springs]; negative
            where it is sunk.
        retainer_step: how much the retainer reaches down to this spring beyond the set's face [m].
    """
    steps = np.asarray(seat_step, float) + np.asarray(retainer_step, float)
    return np.asarray(np.asarray(height, float)[..., np.newaxis] - steps)


def set_load(
    height: ArrayLike,
    rate: ArrayLike,
    reference_height: ArrayLike,
    reference_load: ArrayLike,
    *,
    seat_step: ArrayLike = 0.0,
    retainer_step: ArrayLike = 0.0,
    fitted: ArrayLike = True,
    damper_friction: ArrayLike = 0.0,
) -> SetLoad:
    """Sum the loads of straight-line springs, each at its own height.

    Args:
        height: of the set [m], shape [...].
        rate: of each spring [N/m], shape [..., springs].
        reference_height: at which each spring was tested by itself [m], shape [..., springs].
        reference_load: its load there [N], shape [..., springs].
        seat_step, retainer_step: see `spring_heights`.
        fitted: False for a spring left out, such as the inner one while breaking in.
        damper_friction: friction force of a damper or of springs that rub [N], >= 0, shape [...].

    Raises:
        ValueError: where a rate is not above zero or a friction is negative.
    """
    k = positive("rate", rate)
    friction = not_negative("damper friction", damper_friction)
    in_place = np.asarray(fitted, bool)
    own_height = spring_heights(height, seat_step, retainer_step)
    raw = np.asarray(reference_load, float) - k * (own_height - np.asarray(reference_height, float))
    each = np.where(in_place, np.maximum(raw, 0.0), 0.0)
    loose = np.asarray((raw < 0.0) & in_place)
    load = np.sum(each, axis=-1)
    working = np.where(np.broadcast_to(in_place & ~loose, raw.shape), k, 0.0)
    rate_sum = np.where(np.isnan(load), np.nan, np.sum(working, axis=-1))
    return SetLoad(load, load + friction, np.maximum(load - friction, 0.0), each, rate_sum, loose)


def bind_clearance(installed_height: ArrayLike, lift: ArrayLike, solid_height: ArrayLike) -> FloatArray:
    """Installed height - lift - solid height [m]; negative: the coils bind before full lift."""
    return np.asarray(
        np.asarray(installed_height, float) - np.asarray(lift, float) - positive("solid height", solid_height)
    )


def set_solid_height(
    solid_height: ArrayLike, seat_step: ArrayLike = 0.0, retainer_step: ArrayLike = 0.0
) -> FloatArray:
    """Height of the set at which its first spring goes solid [m], shape [...]; last axis the springs."""
    steps = np.asarray(seat_step, float) + np.asarray(retainer_step, float)
    return np.asarray(np.max(positive("solid height", solid_height) + steps, axis=-1))


def diametral_clearance(
    coil_diameter: ArrayLike, wire_diameter: ArrayLike, damper_thickness: ArrayLike = 0.0
) -> FloatArray:
    """Clearance on diameter between each spring and the next one inside it [m], shape [..., springs - 1].

    Inside diameter of the outer one, less the outside diameter of the inner one, less twice the damper
    between them. Negative: they press on one another (interference, as some sets are meant to).

    Args:
        coil_diameter: mean coil diameter [m], shape [..., springs], outer first.
        wire_diameter: [m], shape [..., springs].
        damper_thickness: [m], shape [..., springs - 1]; 0 where there is none.
    """
    D, d = np.broadcast_arrays(
        positive("coil diameter", coil_diameter), positive("wire diameter", wire_diameter)
    )
    if D.ndim == 0 or D.shape[-1] < 2:
        raise ValueError("clearance between springs needs at least two springs along the last axis.")
    if np.any(D[..., 1:] >= D[..., :-1]):
        raise ValueError("the springs of a set go from the outer to the inner one: coil diameters must fall.")
    inside = D[..., :-1] - d[..., :-1]
    outside = D[..., 1:] + d[..., 1:]
    return np.asarray(inside - outside - 2.0 * not_negative("damper thickness", damper_thickness))
