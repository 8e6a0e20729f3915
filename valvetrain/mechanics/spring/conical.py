"""A conical (or beehive) spring of round wire and constant pitch: straight first, then stiffening.

Each coil deflects 64 F R^3/(G d^4); the widest closes first and drops out, which raises the rate. This is
the law of the cylindrical spring (Shigley, memory) applied coil by coil; for the straight part it gives the
known k = G d^4/(16 Na (R1^2 + R2^2)(R1 + R2)) (Wahl, *Mechanical Springs*, memory). Lengths [m], loads [N].
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = ["conical_compression", "conical_first_contact_load", "conical_rate"]


def conical_rate(
    wire_diameter: ArrayLike,
    small_radius: ArrayLike,
    large_radius: ArrayLike,
    active_coils: ArrayLike,
    shear_modulus: ArrayLike,
) -> FloatArray:
    """Rate before any coil closes, G d^4/(16 Na (R1^2 + R2^2)(R1 + R2)) [N/m]; radii of the mean coil."""
    d, R1, R2, Na, G = _shape(wire_diameter, small_radius, large_radius, active_coils, shear_modulus)
    return np.asarray(G * d**4 / (16.0 * Na * (R1**2 + R2**2) * (R1 + R2)))


def conical_first_contact_load(
    wire_diameter: ArrayLike,
    large_radius: ArrayLike,
    active_coils: ArrayLike,
    shear_modulus: ArrayLike,
    travel: ArrayLike,
) -> FloatArray:
    """Load at which the widest coil closes [N].

    Args:
        wire_diameter: d [m].
        large_radius: mean radius of the widest coil [m].
        active_coils: Na [-].
        shear_modulus: G [Pa].
        travel: from free height to all coils closed [m], shared evenly by the coils.
    """
    d, _, R2, Na, G = _shape(wire_diameter, large_radius, large_radius, active_coils, shear_modulus)
    return np.asarray(G * d**4 / (64.0 * R2**3) * not_negative("travel", travel) / Na)


def conical_compression(
    load: ArrayLike,
    wire_diameter: ArrayLike,
    small_radius: ArrayLike,
    large_radius: ArrayLike,
    active_coils: ArrayLike,
    shear_modulus: ArrayLike,
    travel: ArrayLike,
) -> FloatArray:
    """Compression from free height under a load [m], never more than `travel`.

    Closed coils (those with 64 F R^3/(G d^4) above travel/Na) count with travel/Na each, the rest with
    their own deflection; the integral over the coils is in closed form. Loads below zero are refused.
    """
    F = not_negative("load", load)
    d, R1, R2, Na, G = _shape(wire_diameter, small_radius, large_radius, active_coils, shear_modulus)
    room = positive("travel", travel) / Na
    flexibility = 64.0 * F / (G * d**4)
    # Radius at which a coil is just closed: wider coils are closed.
    closed_above = np.cbrt(room / np.where(flexibility > 0.0, flexibility, np.nan))
    open_to = np.clip(np.where(F > 0.0, closed_above, R2), R1, R2)
    width = R2 - R1
    round_coil = width < 1e-12 * R2
    safe_width = np.where(round_coil, 1.0, width)
    # Mean over the open coils of R^3, as (R^4 - R1^4)/4 factored so that R = R1 leaves no rounding.
    open_share = np.where(round_coil, 1.0, (open_to - R1) / safe_width)
    cubes = 0.25 * (open_to + R1) * (open_to**2 + R1**2)
    deflection = Na * (flexibility * cubes * open_share + room * (1.0 - open_share))
    return np.minimum(deflection, Na * room)


def _shape(
    wire_diameter: ArrayLike, small: ArrayLike, large: ArrayLike, coils: ArrayLike, shear_modulus: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    R1, R2 = positive("small radius", small), positive("large radius", large)
    if np.any(R1 > R2):
        raise ValueError("small radius exceeds the large radius: swap them.")
    return (
        positive("wire diameter", wire_diameter),
        R1,
        R2,
        positive("active coils", coils),
        positive("shear modulus", shear_modulus),
    )
