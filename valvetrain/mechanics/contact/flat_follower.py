"""A flat-faced tappet on a disc cam: radius of curvature, contact offset, profile and surface speeds.

Lift s, velocity s' and acceleration s'' are per radian of cam angle. Published: R. L. Norton, *Design of
Machinery*, cam design, flat-faced follower (memory); the surface speeds are derived.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray

__all__ = [
    "FlatFollower",
    "cam_profile",
    "face_width",
    "flat_follower",
    "least_base_radius",
    "radius_of_curvature",
]


@dataclass(frozen=True)
class FlatFollower:
    """Contact of a flat face over cam angle; arrays of shape [..., n].

    Attributes:
        radius_of_curvature: of the lobe at the contact [m]; at or below `least_radius` is a fault.
        contact_offset: contact from the tappet's axis in the cam's plane [m], positive toward the side
            that the lobe's velocity moves to (positive while the tappet rises).
        entrainment: mean speed of both surfaces relative to the contact [m/s], tappet not spinning.
        sliding: speed of the lobe's surface over the face [m/s].
        concave: the lobe would have to be hollow (or pointed) there, which a flat face cannot follow:
            the flank is undercut.
        face_width: least width of face in the cam's plane, s'max - s'min [m], shape [...].
    """

    radius_of_curvature: FloatArray
    contact_offset: FloatArray
    entrainment: FloatArray
    sliding: FloatArray
    concave: BoolArray
    face_width: FloatArray


def radius_of_curvature(base_radius: ArrayLike, lift: ArrayLike, acceleration: ArrayLike) -> FloatArray:
    """rho = Rb + s + s'' [m]; broadcast, NaN gives NaN. Zero is a cusp, negative an undercut."""
    radius: FloatArray = np.asarray(base_radius, float) + lift + np.asarray(acceleration, float)
    return radius


def face_width(velocity: ArrayLike) -> FloatArray:
    """Least face width [m] from velocities [m/rad] of shape [..., n]: s'max - s'min, NaN if any is NaN."""
    values = np.asarray(velocity, float)
    width: FloatArray = np.max(values, axis=-1) - np.min(values, axis=-1)
    return width


def least_base_radius(lift: ArrayLike, acceleration: ArrayLike, least_radius: ArrayLike = 0.0) -> FloatArray:
    """Base radius [m] at which the radius of curvature nowhere falls below `least_radius` [m].

    lift [m], acceleration [m/rad^2]: shape [..., n]; NaN in a row gives NaN. Never less than 0.
    """
    curve = np.asarray(lift, float) + np.asarray(acceleration, float)
    radius: FloatArray = np.maximum(np.asarray(least_radius, float) - np.min(curve, axis=-1), 0.0)
    return radius


def cam_profile(
    angle: ArrayLike, base_radius: ArrayLike, lift: ArrayLike, velocity: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Lobe outline x, y [m] on the cam, angle [cam rad] counted on the cam from +x.

    x = (Rb+s) cos t - s' sin t, y = (Rb+s) sin t + s' cos t. Broadcast; NaN gives NaN.
    """
    t, s1 = np.asarray(angle, float), np.asarray(velocity, float)
    reach = np.asarray(base_radius, float) + np.asarray(lift, float)
    x: FloatArray = reach * np.cos(t) - s1 * np.sin(t)
    y: FloatArray = reach * np.sin(t) + s1 * np.cos(t)
    return x, y


def flat_follower(
    base_radius: ArrayLike,
    lift: ArrayLike,
    velocity: ArrayLike,
    acceleration: ArrayLike,
    cam_speed: ArrayLike = np.nan,
    least_radius: ArrayLike = 0.0,
) -> FlatFollower:
    """Everything about a flat face on a lobe.

    Args:
        base_radius: [m], shape [...]; > 0.
        lift, velocity, acceleration: [m], [m/rad], [m/rad^2], shape [..., n].
        cam_speed: [rad/s], shape [...]; NaN (unknown) gives NaN speeds.
        least_radius: radius of curvature below which the lobe counts as concave [m], shape [...].

    Returns:
        `FlatFollower`. Entrainment (w/2)(Rb + s + 2 s''), sliding w (Rb + s). NaN is never concave.

    Raises:
        ValueError: a base radius or a cam speed that is not positive.
    """
    base = np.asarray(base_radius, float)[..., np.newaxis]
    speed = np.asarray(cam_speed, float)[..., np.newaxis]
    if np.any(base <= 0):
        raise ValueError(f"base radius {np.nanmin(base):g} m is not allowed; it must be above 0")
    if np.any(speed <= 0):
        raise ValueError(f"cam speed {np.nanmin(speed):g} rad/s is not allowed; it must be above 0")
    s, s1, s2 = (np.asarray(values, float) for values in (lift, velocity, acceleration))
    radius = radius_of_curvature(base, s, s2)
    return FlatFollower(
        radius_of_curvature=radius,
        contact_offset=np.broadcast_to(s1, radius.shape).copy(),
        entrainment=speed / 2 * (base + s + 2 * s2),
        sliding=speed * (base + s),
        concave=radius <= np.asarray(least_radius, float)[..., np.newaxis],
        face_width=np.broadcast_to(face_width(s1), radius.shape[:-1]).copy(),
    )
