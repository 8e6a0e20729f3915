"""Small vibrations of a valvetrain: reduction through the ratio, natural frequencies, residual amplitude.

Reduction by equal kinetic and potential energy, as in Rothbart (ed.), Cam Design Handbook (2004), chapter 11.
"""

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import FloatArray

__all__ = [
    "cycloidal_residual",
    "eccentric_jump_speed",
    "natural_frequency",
    "rod_stiffness",
    "train_mass_at_tappet",
    "train_stiffness_at_tappet",
    "two_mass_frequencies",
]


def rod_stiffness(modulus: ArrayLike, area: ArrayLike, length: ArrayLike) -> FloatArray:
    """Stiffness of a straight rod along its axis, E A/L [N/m].

    Args:
        modulus: Young's modulus [Pa], > 0.
        area: cross-section [m2], > 0.
        length: [m], > 0.
    """
    modulus, area, length = _positive(modulus=modulus, area=area, length=length)
    return modulus * area / length


def train_mass_at_tappet(
    follower_mass: ArrayLike,
    rocker_inertia: ArrayLike,
    socket_arm: ArrayLike,
    valve_mass: ArrayLike,
    ratio: ArrayLike,
) -> FloatArray:
    """Mass of the train as felt at the tappet [kg], NaN where an input is NaN.

    m = follower + J/socket_arm^2 + ratio^2 x valve side (Rothbart, chapter 11, pp. 349-353).

    Args:
        follower_mass: tappet and the counted part of the pushrod [kg], >= 0.
        rocker_inertia: about the shaft [kg m2], >= 0.
        socket_arm: [m], > 0.
        valve_mass: valve, retainer, keepers, counted share of the spring [kg], >= 0.
        ratio: [-], > 0.
    """
    arm, ratio = _positive(socket_arm=socket_arm, ratio=ratio)
    parts = np.asarray(follower_mass, float), np.asarray(rocker_inertia, float), np.asarray(valve_mass, float)
    for name, part in zip(("follower_mass", "rocker_inertia", "valve_mass"), parts, strict=True):
        if np.any(part < 0):
            raise ValueError(f"{name} is {part.min():g}; it must be zero or more.")
    total: FloatArray = parts[0] + parts[1] / arm**2 + ratio**2 * parts[2]
    return total


def train_stiffness_at_tappet(valve_stiffness: ArrayLike, ratio: ArrayLike) -> FloatArray:
    """Stiffness at the valve as felt at the tappet, ratio^2 k [N/m] (Rothbart, chapter 11)."""
    stiffness, ratio = _positive(valve_stiffness=valve_stiffness, ratio=ratio)
    return ratio**2 * stiffness


def natural_frequency(mass: ArrayLike, stiffness: ArrayLike) -> FloatArray:
    """Angular natural frequency sqrt(k/m) [rad/s].

    Args:
        mass: [kg], > 0.
        stiffness: [N/m], > 0.
    """
    mass, stiffness = _positive(mass=mass, stiffness=stiffness)
    return np.sqrt(stiffness / mass)


def two_mass_frequencies(
    first_mass: ArrayLike, second_mass: ArrayLike, coupling: ArrayLike, ground: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Angular natural frequencies of two masses in a row, the second held to ground [rad/s].

    The first mass is free but for the coupling (a tappet between lobe and pushrod when the lobe lets go);
    the second is held by `ground` (the valve spring).

    Args:
        first_mass: [kg], > 0.
        second_mass: [kg], > 0.
        coupling: stiffness between them [N/m], > 0.
        ground: stiffness from the second to ground [N/m], > 0.

    Returns:
        the low and the high frequency. The low one comes from the product of the roots, which keeps its
        digits when the two lie far apart.
    """
    first, second, k, g = _positive(
        first_mass=first_mass, second_mass=second_mass, coupling=coupling, ground=ground
    )
    half_sum = 0.5 * (k / first + (k + g) / second)
    product = k * g / (first * second)
    high = half_sum + np.sqrt(half_sum**2 - product)
    return np.sqrt(product / high), np.sqrt(high)


def cycloidal_residual(rise: ArrayLike, periods: ArrayLike) -> FloatArray:
    """Amplitude of the vibration left after a cycloidal rise, undamped single oscillator [m].

    h |sin(pi n)|/(pi n |n^2 - 1|), with the limit h/2 at n = 1 (derived: Duhamel's integral).

    Args:
        rise: h [m].
        periods: n, rise time over natural period [-], > 0.
    """
    (n,) = _positive(periods=periods)
    # sin(pi n)/(n - 1) = -pi sinc(n - 1) has no singularity at n = 1.
    amplitude: FloatArray = np.asarray(rise, float) * np.abs(np.sinc(n - 1.0)) / (n * (n + 1.0))
    return amplitude


def eccentric_jump_speed(
    mass: ArrayLike, rate: ArrayLike, preload: ArrayLike, eccentricity: ArrayLike
) -> FloatArray:
    """Speed at which a flat follower leaves an eccentric circular cam, sqrt((P + 2 k e)/(m e)) [rad/s].

    Shigley & Uicker, Theory of Machines and Mechanisms (memory). With a rise of e (1 - cos), the follower
    leaves at the top, where its acceleration is -e w^2 and the spring is pressed by 2 e. Weight left out.

    Args:
        mass: follower [kg], > 0.
        rate: spring [N/m], >= 0.
        preload: spring force at the bottom [N], >= 0.
        eccentricity: [m], > 0.
    """
    mass, eccentricity = _positive(mass=mass, eccentricity=eccentricity)
    held = np.asarray(preload, float) + 2.0 * np.asarray(rate, float) * eccentricity
    if np.any(held < 0):
        raise ValueError(f"The spring force at the top is {held.min():g} N; it must be zero or more.")
    return np.sqrt(held / (mass * eccentricity))


def _positive(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """The values as arrays; zero or negative is refused, NaN passes."""
    arrays = []
    for name, value in values.items():
        array = np.asarray(value, float)
        if np.any(array <= 0):
            raise ValueError(f"{name} is {array.min():g}; it must be greater than zero.")
        arrays.append(array)
    return tuple(arrays)
