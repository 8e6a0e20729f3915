"""Sideways buckling of a helical compression spring, in two published forms.

Form 1: Shigley, *Mechanical Engineering Design*, "Stability" (memory), after Wahl, with the constants C1
and C2. Form 2: EN 13906-1:2013, buckling length (memory), written in G/E. They are the same law in
different letters; the tests hold both against the column equation of Haringx solved numerically.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = ["END_SUPPORT", "buckling_deflection", "buckling_deflection_en", "stable_free_height"]

# End condition constant alpha (nu in EN 13906-1): Shigley, table of end-condition constants (memory).
END_SUPPORT = {
    "parallel flat plates": 0.5,
    "one flat plate, one pivot": 0.707,
    "two pivots": 1.0,
    "one clamped, one free": 2.0,
}


def buckling_deflection(
    free_height: ArrayLike,
    coil_diameter: ArrayLike,
    support: ArrayLike,
    elastic_modulus: ArrayLike,
    shear_modulus: ArrayLike,
) -> FloatArray:
    """Deflection from free height at which the spring buckles [m]; infinite where it never does.

    y = L0 C1 (1 - sqrt(1 - C2/lambda^2)), lambda = alpha L0/D, C1 = E/(2(E-G)), C2 = 2 pi^2 (E-G)/(2G+E).

    Args:
        free_height: L0 [m].
        coil_diameter: mean coil diameter D [m].
        support: alpha [-], see `END_SUPPORT`; 0.5 between parallel flat seats.
        elastic_modulus: E [Pa].
        shear_modulus: G [Pa], below E.

    Returns:
        [m], broadcast; NaN where an input is NaN. A value beyond the travel to solid means that the spring
        goes solid first.
    """
    L0, D, alpha, E, G = _inputs(free_height, coil_diameter, support, elastic_modulus, shear_modulus)
    C1 = E / (2.0 * (E - G))
    C2 = 2.0 * np.pi**2 * (E - G) / (2.0 * G + E)
    root = 1.0 - C2 / (alpha * L0 / D) ** 2
    return np.where(root < 0.0, np.inf, L0 * C1 * (1.0 - np.sqrt(np.where(root < 0.0, 0.0, root))))


def buckling_deflection_en(
    free_height: ArrayLike,
    coil_diameter: ArrayLike,
    support: ArrayLike,
    elastic_modulus: ArrayLike,
    shear_modulus: ArrayLike,
) -> FloatArray:
    """The same deflection as `buckling_deflection` in the form of EN 13906-1.

    s = L0 0.5/(1 - G/E) (1 - sqrt(1 - (1 - G/E)/(0.5 + G/E) (pi D/(nu L0))^2)).
    """
    L0, D, nu, E, G = _inputs(free_height, coil_diameter, support, elastic_modulus, shear_modulus)
    g = G / E
    root = 1.0 - (1.0 - g) / (0.5 + g) * (np.pi * D / (nu * L0)) ** 2
    return np.where(
        root < 0.0, np.inf, L0 * 0.5 / (1.0 - g) * (1.0 - np.sqrt(np.where(root < 0.0, 0.0, root)))
    )


def stable_free_height(
    coil_diameter: ArrayLike, support: ArrayLike, elastic_modulus: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    """Free height below which the spring never buckles, (pi D/alpha) sqrt(2(E-G)/(2G+E)) [m].

    For steel this is 2.63 D/alpha (Shigley, memory).
    """
    _, D, alpha, E, G = _inputs(1.0, coil_diameter, support, elastic_modulus, shear_modulus)
    return np.asarray(np.pi * D / alpha * np.sqrt(2.0 * (E - G) / (2.0 * G + E)))


def _inputs(
    free_height: ArrayLike, coil_diameter: ArrayLike, support: ArrayLike, E: ArrayLike, G: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    elastic, shear = positive("elastic modulus", E), positive("shear modulus", G)
    if np.any(shear >= elastic):
        raise ValueError("shear modulus is not below the elastic modulus: check which is which.")
    return (
        positive("free height", free_height),
        positive("coil diameter", coil_diameter),
        positive("end support constant", support),
        elastic,
        shear,
    )
