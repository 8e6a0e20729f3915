"""Stiffness of a valvetrain, from dimensions or from the lift lost between a light and the real spring.

All are felt at the valve tip unless stated. Beams by Euler and Bernoulli: slender arms; a real rocker is
stubby and its stands give too, so stiffnesses from dimensions are upper bounds (common practice, no source),
and the measured lift loss is the better value.
"""

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import FloatArray

__all__ = [
    "at_valve",
    "remaining_stiffness",
    "rocker_stiffness",
    "series_stiffness",
    "shaft_stiffness",
    "stiffness_from_lift_loss",
]


def series_stiffness(*stiffnesses: ArrayLike) -> FloatArray:
    """Stiffness of springs in a row [N/m]; each > 0, NaN where one is NaN."""
    return 1.0 / _compliance(stiffnesses)


def at_valve(stiffness: ArrayLike, ratio: ArrayLike) -> FloatArray:
    """A stiffness on the tappet's side as felt at the valve, k/ratio^2 [N/m].

    Args:
        stiffness: [N/m], > 0.
        ratio: [-], > 0.
    """
    k, r = _positive("stiffness", stiffness), _positive("ratio", ratio)
    return k / r**2


def rocker_stiffness(
    pad_arm: ArrayLike, socket_arm: ArrayLike, second_moment: ArrayLike, modulus: ArrayLike
) -> FloatArray:
    """Bending stiffness of a rocker at its pad, held at the socket and on a stiff shaft [N/m].

    Two cantilevers from the shaft: 3 E I/(a^2 (a + b)), a the pad arm and b the socket arm.

    Args:
        pad_arm, socket_arm: [m], > 0.
        second_moment: of the arms' section, as if even [m4], > 0.
        modulus: Young's modulus [Pa], > 0.
    """
    a, b = _positive("pad_arm", pad_arm), _positive("socket_arm", socket_arm)
    stiff = _positive("second_moment", second_moment) * _positive("modulus", modulus)
    return 3.0 * stiff / (a**2 * (a + b))


def shaft_stiffness(
    diameter: ArrayLike,
    bore: ArrayLike,
    span: ArrayLike,
    modulus: ArrayLike,
    pad_arm: ArrayLike,
    socket_arm: ArrayLike,
) -> FloatArray:
    """Stiffness that a rocker shaft's bending leaves at the valve tip [N/m].

    The shaft rests freely on two stands with the rocker in the middle, 48 E I/L^3. It carries (1 + a/b) times
    the tip's force, and its rise is felt (1 + a/b)-fold at the tip.

    Args:
        diameter: [m], > 0.
        bore: oil bore of the shaft [m], 0 to below the diameter.
        span: between the stands [m], > 0.
        modulus: Young's modulus [Pa], > 0.
        pad_arm, socket_arm: [m], > 0.
    """
    outer, inner = _positive("diameter", diameter), np.asarray(bore, float)
    if np.any(inner < 0) or np.any(inner >= outer):
        raise ValueError(f"bore is {inner.max():g} m; it must be from zero to below the shaft's diameter.")
    second = np.pi / 64.0 * (outer**4 - inner**4)
    bending = 48.0 * _positive("modulus", modulus) * second / _positive("span", span) ** 3
    leverage = 1.0 + _positive("pad_arm", pad_arm) / _positive("socket_arm", socket_arm)
    felt: FloatArray = bending / leverage**2
    return felt


def stiffness_from_lift_loss(
    light_lift: ArrayLike, real_lift: ArrayLike, light_load: ArrayLike, real_load: ArrayLike
) -> FloatArray:
    """Stiffness of the whole train from the lift read with a light and with the real spring [N/m].

    (real load - light load)/(light lift - real lift), both loads at full lift, engine turned by hand.

    Args:
        light_lift, real_lift: valve lift at the nose with the light checking spring and the real one [m].
        light_load, real_load: spring force at full lift [N].

    Returns:
        NaN where no lift was lost, or less than none: the reading cannot tell.

    Raises:
        ValueError: the real spring is not stronger than the light one.
    """
    more = np.asarray(real_load, float) - np.asarray(light_load, float)
    if np.any(more <= 0):
        raise ValueError(
            f"The real spring is {more.min():g} N stronger than the light one; it must be more than 0."
        )
    lost = np.asarray(light_lift, float) - np.asarray(real_lift, float)
    stiffness: FloatArray = more / np.where(lost > 0, lost, np.nan)
    return stiffness


def remaining_stiffness(whole: ArrayLike, *parts: ArrayLike) -> FloatArray:
    """Stiffness of what is left of a row when its other springs are known [N/m].

    For the rocker and its stands when the whole train was measured and the pushrod and the lobe's contact
    are known.

    Args:
        whole: of the row [N/m], > 0.
        parts: known springs in it, felt at the same place [N/m], > 0.

    Returns:
        NaN where the parts are already softer than the whole: then the measurement contradicts them.
    """
    left = 1.0 / _positive("whole", whole) - _compliance(parts)
    return 1.0 / np.where(left > 0, left, np.nan)


def _compliance(stiffnesses: tuple[ArrayLike, ...]) -> FloatArray:
    """Sum of the compliances [m/N]."""
    total = np.asarray(0.0)
    for stiffness in stiffnesses:
        total = total + 1.0 / _positive("stiffness", stiffness)
    return total


def _positive(name: str, value: ArrayLike) -> FloatArray:
    """The value as an array; zero or negative is refused, NaN passes."""
    array = np.asarray(value, float)
    if np.any(array <= 0):
        raise ValueError(f"{name} is {array.min():g}; it must be greater than zero.")
    return array
