"""Closure of two links between two pivots, and the two classic linkages built on it.

The point that lies one length from one pivot and another length from the other is where two circles meet:
a closed form with two branches, and no solution where the links cannot reach. The four-bar and the offset
slider-crank follow R. L. Norton, *Design of Machinery*, chapters 4, 6 and 7, and its frames: the fixed
pivot of the crank is the origin, angles run counter-clockwise from +x.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, positive

__all__ = [
    "FourBarAccelerations",
    "FourBarAngles",
    "FourBarVelocities",
    "SliderCrankPosition",
    "SliderCrankVelocity",
    "circle_crossing",
    "four_bar_accelerations",
    "four_bar_angles",
    "four_bar_velocities",
    "slider_crank_driven_by_slider",
    "slider_crank_position",
    "slider_crank_velocity",
]


def circle_crossing(
    *,
    first_x: ArrayLike,
    first_y: ArrayLike,
    first_length: ArrayLike,
    second_x: ArrayLike,
    second_y: ArrayLike,
    second_length: ArrayLike,
    left: bool,
) -> tuple[FloatArray, FloatArray]:
    """Joint of two links whose other ends are at two points.

    Args:
        first_x, first_y, second_x, second_y: the two points [m].
        first_length, second_length: the links [m], > 0.
        left: branch: the joint lies to the left (True) or right of the way from the first to the second.

    Returns:
        x and y of the joint [m], shape broadcast from all inputs; NaN where the links cannot reach
        (distance longer than their sum or shorter than their difference, or zero).
    """
    one, two = positive("first_length", first_length), positive("second_length", second_length)
    x1, y1, x2, y2 = floats(first_x, first_y, second_x, second_y)
    along_x, along_y = x2 - x1, y2 - y1
    square = along_x**2 + along_y**2
    with np.errstate(invalid="ignore", divide="ignore"):
        # Fractions of the distance: `along` towards the second point, `across` square to it.
        along = 0.5 * (1.0 + (one**2 - two**2) / square)
        across = np.sqrt(one**2 / square - along**2)
        if not left:
            across = -across
        return (
            np.asarray(x1 + along * along_x - across * along_y),
            np.asarray(y1 + along * along_y + across * along_x),
        )


@dataclass(frozen=True)
class FourBarAngles:
    """Angles [rad] of the coupler (link 3, at the crank's end) and of the output (link 4, at its pivot)."""

    coupler: FloatArray
    output: FloatArray


@dataclass(frozen=True)
class FourBarVelocities:
    """Angular velocities [rad/s] of coupler and output link."""

    coupler: FloatArray
    output: FloatArray


@dataclass(frozen=True)
class FourBarAccelerations:
    """Angular accelerations [rad/s^2] of coupler and output link."""

    coupler: FloatArray
    output: FloatArray


def four_bar_angles(
    *,
    crank: ArrayLike,
    coupler: ArrayLike,
    output: ArrayLike,
    ground: ArrayLike,
    crank_angle: ArrayLike,
    crossed: bool,
) -> FourBarAngles:
    """Position of a four-bar (Norton, section 4.5). Lengths [m] > 0, angles [rad], NaN where it cannot close.

    Args:
        crank, coupler, output, ground: link lengths a, b, c, d [m].
        crank_angle: theta2 [rad].
        crossed: the crossed assembly instead of the open one.
    """
    a, d = positive("crank", crank), positive("ground", ground)
    pin_x, pin_y = a * np.cos(crank_angle), a * np.sin(crank_angle)
    joint_x, joint_y = circle_crossing(
        first_x=pin_x,
        first_y=pin_y,
        first_length=coupler,
        second_x=d,
        second_y=0.0,
        second_length=output,
        left=not crossed,
    )
    return FourBarAngles(
        coupler=np.arctan2(joint_y - pin_y, joint_x - pin_x), output=np.arctan2(joint_y, joint_x - d)
    )


def four_bar_velocities(
    *,
    crank: ArrayLike,
    coupler: ArrayLike,
    output: ArrayLike,
    crank_angle: ArrayLike,
    angles: FourBarAngles,
    crank_velocity: ArrayLike,
) -> FourBarVelocities:
    """Velocities [rad/s] of a four-bar at a known position (Norton, equations 6.18). Infinite at a lock."""
    a, b, c, theta, speed = floats(crank, coupler, output, crank_angle, crank_velocity)
    pin = a * speed
    with np.errstate(divide="ignore", invalid="ignore"):
        across = np.sin(angles.output - angles.coupler)
        return FourBarVelocities(
            coupler=-pin * np.sin(angles.output - theta) / (b * across),
            output=pin * np.sin(theta - angles.coupler) / (c * across),
        )


def four_bar_accelerations(
    *,
    crank: ArrayLike,
    coupler: ArrayLike,
    output: ArrayLike,
    crank_angle: ArrayLike,
    angles: FourBarAngles,
    crank_velocity: ArrayLike,
    velocities: FourBarVelocities,
    crank_acceleration: ArrayLike,
) -> FourBarAccelerations:
    """Accelerations [rad/s^2] of a four-bar at a known position and velocity (Norton, equations 7.12)."""
    a, b, c = (np.asarray(length, float) for length in (crank, coupler, output))
    speed, gain = np.asarray(crank_velocity, float), np.asarray(crank_acceleration, float)
    # Joint B reached by both ways: b alpha3 e3' - c alpha4 e4' = known; e' square to the links.
    known_x = (
        a * gain * np.sin(crank_angle)
        + a * speed**2 * np.cos(crank_angle)
        + b * velocities.coupler**2 * np.cos(angles.coupler)
        - c * velocities.output**2 * np.cos(angles.output)
    )
    known_y = (
        a * gain * np.cos(crank_angle)
        - a * speed**2 * np.sin(crank_angle)
        - b * velocities.coupler**2 * np.sin(angles.coupler)
        + c * velocities.output**2 * np.sin(angles.output)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        across = np.sin(angles.output - angles.coupler)
        return FourBarAccelerations(
            coupler=(known_x * np.cos(angles.output) - known_y * np.sin(angles.output)) / (b * across),
            output=(known_x * np.cos(angles.coupler) - known_y * np.sin(angles.coupler)) / (c * across),
        )


@dataclass(frozen=True)
class SliderCrankPosition:
    """Angle of the rod [rad], measured at the slider's end, from +x; and the slider's x [m]."""

    rod: FloatArray
    slider: FloatArray


@dataclass(frozen=True)
class SliderCrankVelocity:
    """Angular velocity of the rod [rad/s] and velocity of the slider [m/s] along +x."""

    rod: FloatArray
    slider: FloatArray


def slider_crank_position(
    *, crank: ArrayLike, rod: ArrayLike, offset: ArrayLike, crank_angle: ArrayLike, crossed: bool
) -> SliderCrankPosition:
    """Crank-driven slider-crank whose slider runs along y = offset (Norton, equations 4.16 and 4.17).

    Lengths [m], angles [rad]; NaN where the rod does not reach the slider's line. Open: slider on the +x
    side of the crank pin.
    """
    a, b = positive("crank", crank), positive("rod", rod)
    (height,) = floats(offset)
    with np.errstate(invalid="ignore"):
        lean = np.arcsin((a * np.sin(crank_angle) - height) / b)
    angle = lean if crossed else np.pi - lean
    return SliderCrankPosition(rod=angle, slider=a * np.cos(crank_angle) - b * np.cos(angle))


def slider_crank_velocity(
    *,
    crank: ArrayLike,
    rod: ArrayLike,
    crank_angle: ArrayLike,
    position: SliderCrankPosition,
    crank_velocity: ArrayLike,
) -> SliderCrankVelocity:
    """Velocities of a slider-crank at a known position (Norton, equations 6.22)."""
    a, b, speed = floats(crank, rod, crank_velocity)
    with np.errstate(divide="ignore", invalid="ignore"):
        turning = a * np.cos(crank_angle) * speed / (b * np.cos(position.rod))
    slider = -a * speed * np.sin(crank_angle) + b * turning * np.sin(position.rod)
    return SliderCrankVelocity(rod=turning, slider=slider)


def slider_crank_driven_by_slider(
    *, crank: ArrayLike, rod: ArrayLike, offset: ArrayLike, slider: ArrayLike, left: bool
) -> FloatArray:
    """Crank angle [rad], in (-pi, pi], for a slider at (slider, offset) [m] (Norton, section 4.7).

    `left` chooses the branch: the crank pin to the left of the way from the crank's pivot to the slider.
    NaN where crank and rod cannot reach.
    """
    pin_x, pin_y = circle_crossing(
        first_x=0.0,
        first_y=0.0,
        first_length=positive("crank", crank),
        second_x=slider,
        second_y=offset,
        second_length=positive("rod", rod),
        left=left,
    )
    return np.asarray(np.arctan2(pin_y, pin_x))
