"""Loads through a rigid valvetrain: spring, inertia and friction from the valve tip to the camshaft.

The valve follows the lobe exactly; every load is what that motion asks for, so a load below zero means that
the contact would have to pull and opens in truth. Equations of motion by d'Alembert's principle, link by
link, in the valve frame: +y along the stem out of the head, +x from the rocker shaft toward the stem.

Left out, because a shop cannot measure them: the mass center of the rocker off its shaft, the swing of the
pushrod about its lower ball (its mass moves with the tappet), and friction of the tappet in its bore.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import FloatArray

__all__ = [
    "NO_FRICTION",
    "TrainCurves",
    "TrainFriction",
    "TrainLoads",
    "TrainMasses",
    "TrainShape",
    "rocker_motion",
    "train_loads",
]


@dataclass(frozen=True)
class TrainCurves:
    """Motion over cam angle; every field has the shape [..., angles].

    Attributes:
        tappet_lift: tappet rise off the base circle [m].
        tappet_velocity: its first derivative per cam radian [m/rad].
        tappet_acceleration: its second derivative [m/rad2].
        valve_lift: net valve lift [m]; where it is 0 the lash is open and the tip carries nothing.
        ratio: instantaneous ratio d(pad drop)/d(tappet rise) [-].
        ratio_slope: derivative of the ratio by tappet rise [1/m].
        pad_angle: angle of the pad arm from +x [rad]; falls as the valve opens.
        pushrod_angle: lean of the pushrod away from the valve, its direction is (-sin, cos) [rad].
    """

    tappet_lift: FloatArray
    tappet_velocity: FloatArray
    tappet_acceleration: FloatArray
    valve_lift: FloatArray
    ratio: FloatArray
    ratio_slope: FloatArray
    pad_angle: FloatArray
    pushrod_angle: FloatArray


@dataclass(frozen=True)
class TrainShape:
    """Dimensions of the train, each of the shape [...] of the valves (or one for all).

    Attributes:
        pad_arm: shaft axis to the center of the pad's radius [m].
        pad_radius: radius of the pad or the roller [m].
        setback: shaft axis to the stem axis, along x [m].
        tappet_angle: lean of the tappet's upward travel away from the valve [rad].
        splay_angle: angle of the pushrod out of the rocker's plane, asin(splay/length) [rad].
        base_radius: base circle of the lobe [m]; used for the sliding of a flat tappet only.
    """

    pad_arm: ArrayLike
    pad_radius: ArrayLike
    setback: ArrayLike
    tappet_angle: ArrayLike = 0.0
    splay_angle: ArrayLike = 0.0
    base_radius: ArrayLike = 0.0


@dataclass(frozen=True)
class TrainMasses:
    """Moving masses, each of the shape [...] of the valves.

    Attributes:
        valve_side: valve, retainer, keepers and the counted share of the spring [kg].
        rocker_inertia: rocker about its shaft [kg m2].
        pushrod: [kg].
        tappet: [kg].
    """

    valve_side: ArrayLike
    rocker_inertia: ArrayLike
    pushrod: ArrayLike
    tappet: ArrayLike

    def __post_init__(self) -> None:
        """Refuse masses that are zero or negative; NaN (unknown) passes."""
        for name in ("valve_side", "rocker_inertia", "pushrod", "tappet"):
            value = np.asarray(getattr(self, name), float)
            if np.any(value <= 0):
                raise ValueError(f"{name} is {value.min():g}; a moving mass must be greater than zero.")


@dataclass(frozen=True)
class TrainFriction:
    """Coulomb friction, each of the shape [...] of the valves.

    Attributes:
        tip: coefficient of the pad sliding on the tip [-]; 0 for a roller.
        shaft: coefficient in the rocker's bushing [-].
        shaft_radius: radius of the rocker shaft [m].
        lobe: coefficient of a flat tappet, not spinning, on the lobe [-]; 0 for a roller.
        guide: constant drag of guide and seal along the stem [N].
    """

    tip: ArrayLike = 0.0
    shaft: ArrayLike = 0.0
    shaft_radius: ArrayLike = 0.0
    lobe: ArrayLike = 0.0
    guide: ArrayLike = 0.0

    def __post_init__(self) -> None:
        """Refuse negative friction; NaN passes."""
        for name in ("tip", "shaft", "shaft_radius", "lobe", "guide"):
            value = np.asarray(getattr(self, name), float)
            if np.any(value < 0):
                raise ValueError(f"Friction {name} is {value.min():g}; it must be zero or more.")


NO_FRICTION = TrainFriction()


@dataclass(frozen=True)
class TrainLoads:
    """Loads of the rigid train, shape [..., speeds, angles] (the shaft load has one more axis of 3).

    Attributes:
        spring: spring force on the retainer [N], shape [..., 1, angles].
        tip: pad on tip, along the stem, positive in compression [N].
        side: force of the pad on the tip along +x, from friction [N].
        tilting_moment: moment of the pad's force on the valve about the point of the stem axis at
            `tip_to_guide` below the closed tip, positive from +x to +y [N m].
        cup: pushrod force at the rocker's cup along the pushrod, positive in compression [N].
        lobe: lobe on tappet, along the tappet's bore, positive in compression [N].
        shaft: force of the rocker on its shaft: x, y of the valve frame and along the shaft, positive on the
            side to which the pushrod's upper end leans [N].
        camshaft_torque: torque the camshaft must be driven with [N m].
        dissipated: power lost to friction, as energy per cam radian, never negative [J/rad].
    """

    spring: FloatArray
    tip: FloatArray
    side: FloatArray
    tilting_moment: FloatArray
    cup: FloatArray
    lobe: FloatArray
    shaft: FloatArray
    camshaft_torque: FloatArray
    dissipated: FloatArray


def rocker_motion(curves: TrainCurves, pad_arm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """First and second derivative of the rocker's opening rotation by cam angle.

    The rotation is positive as the valve opens (against the pad angle). The pad drops by its horizontal arm
    times the rotation, so the rotation per tappet rise is ratio/(pad_arm cos(pad_angle)).

    Args:
        curves: motion, shape [..., angles].
        pad_arm: [m], shape [...].

    Returns:
        rotation per cam radian [-] and its derivative [1/rad], shape [..., angles].
    """
    arm = np.asarray(pad_arm, float)[..., None]
    across = arm * np.cos(curves.pad_angle)
    per_rise = curves.ratio / across
    # As the rocker opens by per_rise the pad angle falls by as much: d(arm cos)/d(rise) = arm sin x per_rise.
    curvature = (curves.ratio_slope - per_rise * per_rise * arm * np.sin(curves.pad_angle)) / across
    first = per_rise * curves.tappet_velocity
    second = per_rise * curves.tappet_acceleration + curvature * curves.tappet_velocity**2
    return first, second


def train_loads(
    curves: TrainCurves,
    shape: TrainShape,
    masses: TrainMasses,
    spring_force: FloatArray,
    cam_speed: ArrayLike,
    friction: TrainFriction = NO_FRICTION,
    tip_to_guide: ArrayLike = 0.0,
) -> TrainLoads:
    """Loads of a rigid valvetrain per cam angle and speed.

    Args:
        curves: motion over cam angle, shape [..., angles].
        shape: dimensions, shape [...].
        masses: moving masses, shape [...].
        spring_force: on the retainer at each angle's lift [N], shape [..., angles].
        cam_speed: of the camshaft, half the crankshaft's [rad/s], shape [speeds], >= 0.
        friction: Coulomb friction; none as given.
        tip_to_guide: closed valve tip down to the point about which the stem tilts [m], shape [...].

    Returns:
        loads, shape [..., speeds, angles]. NaN in any input gives NaN where it enters. The friction of the
        bushing is taken from the shaft load without that friction, its first-order effect.

    Raises:
        ValueError: negative speed, zero or negative mass, negative friction.
    """
    speed = np.atleast_1d(np.asarray(cam_speed, float))
    if np.any(speed < 0):
        raise ValueError(f"Cam speed is {speed.min():g} rad/s; it must be zero or more.")
    squared = (speed**2)[:, None]
    c = TrainCurves(**{name: np.asarray(v, float)[..., None, :] for name, v in vars(curves).items()})
    pad_arm, pad_radius, setback, tappet_angle, splay, base_radius = (_wide(v) for v in vars(shape).values())
    valve_mass, inertia, pushrod_mass, tappet_mass = (_wide(v) for v in vars(masses).values())
    mu_tip, mu_shaft, shaft_radius, mu_lobe, guide = (_wide(v) for v in vars(friction).values())
    spring = np.asarray(spring_force, float)[..., None, :]

    first, second = rocker_motion(curves, shape.pad_arm)
    turn, turn2 = first[..., None, :], second[..., None, :]
    lifted = np.where(np.isnan(c.valve_lift), np.nan, c.valve_lift > 0)
    valve_acceleration = c.ratio * c.tappet_acceleration + c.ratio_slope * c.tappet_velocity**2
    way = np.sign(c.tappet_velocity)

    tip = lifted * (spring + valve_mass * squared * valve_acceleration + guide * way)
    pressing_tip = np.maximum(tip, 0.0)
    across = pad_arm * np.cos(c.pad_angle)
    below = pad_arm * np.sin(c.pad_angle) - pad_radius
    slide = turn * below  # along +x, of the pad's surface on the tip, per cam radian
    side = mu_tip * pressing_tip * np.sign(slide)

    moment = across * tip + inertia * squared * turn2 + side * below
    lean = c.pushrod_angle - tappet_angle
    # Tappet speed along the pushrod = rocker's turning times the pushrod's distance from the shaft.
    per_rise = c.ratio / across
    lever = np.cos(lean) / per_rise
    cup_x, cup_y = -np.sin(c.pushrod_angle), np.cos(c.pushrod_angle)
    planar = moment / lever
    bearing = np.hypot(planar * cup_x - side, planar * cup_y + tip)
    drag = mu_shaft * shaft_radius * bearing
    planar = planar + drag * np.sign(turn) / lever

    lobe = planar * np.cos(lean) + (tappet_mass + pushrod_mass) * squared * c.tappet_acceleration
    pressing_lobe = np.maximum(lobe, 0.0)
    rub = mu_lobe * pressing_lobe * (base_radius + c.tappet_lift)
    torque = lobe * c.tappet_velocity + rub
    lost = (
        rub
        + np.abs(side * slide)
        + drag * np.abs(turn)
        + lifted * guide * c.ratio * np.abs(c.tappet_velocity)
    )
    contact = across - setback
    height = np.asarray(_wide(tip_to_guide)) - c.valve_lift
    shaft = np.stack(
        np.broadcast_arrays(planar * cup_x - side, planar * cup_y + tip, planar * np.tan(splay)), axis=-1
    )
    return TrainLoads(
        spring=spring,
        tip=tip,
        side=side,
        tilting_moment=-contact * tip - height * side,
        cup=planar / np.cos(splay),
        lobe=lobe,
        shaft=shaft,
        camshaft_torque=torque,
        dissipated=lost,
    )


def _wide(value: object) -> FloatArray:
    """A value per valve with room for the axes of speeds and angles."""
    return np.asarray(value, float)[..., None, None]
