"""Short heating of the surfaces as they slide past the contact, for fast contacts.

Source: Blok's flash-temperature equation, in the form kept by ISO/TR 13989-1 for gears (status: memory):
dT = 1.11 mu w |v1 - v2| / ((B1 sqrt(v1) + B2 sqrt(v2)) sqrt(2 b)), B = sqrt(k rho c), w the load per
length and b the half width. The 1.11 belongs to a Hertzian band; it is checked by integration in the tests.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = ["flash_temperature", "peclet_number", "thermal_effusivity"]


def thermal_effusivity(conductivity: ArrayLike, density: ArrayLike, heat_capacity: ArrayLike) -> FloatArray:
    """Thermal effusivity B = sqrt(k rho c) [W s^0.5/(m^2 K)] from k [W/(m K)], rho [kg/m^3], c [J/(kg K)]."""
    factors = [np.asarray(x, float) for x in (conductivity, density, heat_capacity)]
    for name, value in zip(("conductivity", "density", "heat capacity"), factors, strict=True):
        positive(name, value, "(SI)", finite=False)
    return np.asarray(np.sqrt(factors[0] * factors[1] * factors[2]), float)


def flash_temperature(
    *,
    friction: ArrayLike,
    pressure: ArrayLike,
    half_width: ArrayLike,
    speed_1: ArrayLike,
    speed_2: ArrayLike,
    effusivity_1: ArrayLike,
    effusivity_2: ArrayLike,
) -> FloatArray:
    """Greatest rise of the surface temperature over the bulk [K], in the middle of the contact.

    Args:
        friction: coefficient of friction [1], >= 0.
        pressure: greatest Hertz pressure [Pa]; the local load per length is pi b p/2, so that a long ellipse
            is treated as a band as heavily loaded as its middle.
        half_width: b, in the sliding direction [m].
        speed_1, speed_2: surface speeds relative to the contact [m/s]; signs matter to the sliding.
        effusivity_1, effusivity_2: thermal effusivities [W s^0.5/(m^2 K)].

    Returns:
        rise [K]. Valid where the contact is fast (Peclet number above about 10, `peclet_number`); slower it
        overstates. NaN where both speeds are zero. Good to a fifth at best:
        the friction is a guess.

    Raises:
        ValueError: a negative coefficient of friction, or an effusivity <= 0.
    """
    mu, b = np.asarray(friction, float), np.asarray(half_width, float)
    if np.any(mu < 0):
        raise ValueError("coefficient of friction is negative: zero or more is allowed")
    first, second = np.asarray(speed_1, float), np.asarray(speed_2, float)
    b1, b2 = np.asarray(effusivity_1, float), np.asarray(effusivity_2, float)
    positive("thermal effusivity", b1, "W s^0.5/(m^2 K)", finite=False)
    positive("thermal effusivity", b2, "W s^0.5/(m^2 K)", finite=False)
    carried = b1 * np.sqrt(np.abs(first)) + b2 * np.sqrt(np.abs(second))
    # w/sqrt(2b) with w = pi b p/2, written so that a vanishing contact gives no rise.
    intensity = 0.5 * np.pi * np.asarray(pressure, float) * np.sqrt(b / 2)
    return np.asarray(
        1.11 * mu * intensity * np.abs(first - second) / np.where(carried > 0, carried, np.nan), float
    )


def peclet_number(speed: ArrayLike, half_width: ArrayLike, diffusivity: ArrayLike) -> FloatArray:
    """Peclet number v b/(2 k) [1] of v [m/s], b [m] and the diffusivity k = conductivity/(rho c)."""
    kappa = np.asarray(diffusivity, float)
    positive("thermal diffusivity", kappa, "m^2/s", finite=False)
    return np.asarray(np.abs(np.asarray(speed, float)) * np.asarray(half_width, float) / (2 * kappa), float)
