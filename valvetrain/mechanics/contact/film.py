"""Oil film of a rolling and sliding contact under pressure: least thickness and what it means.

Conventions, which change the thickness by some 30 % if mixed up:
- entrainment u: the MEAN of the two surface speeds, each measured relative to the moving contact;
- E' = 2 E*, with 1/E* = sum((1 - nu^2)/E);
- Rx: relative radius in the rolling direction, 1/Rx = 1/R1 + 1/R2;
- U = eta0 u/(E' Rx), G = alpha E', W = F/(E' Rx^2) for a point, F/(E' Rx L) for a line.
Steady, isothermal, fully flooded, smooth: where the entrainment passes through zero the formulas give no
film, though the squeezed oil of the moment before still carries some. NaN in, NaN out.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = [
    "FILM_REGIMES",
    "elliptical_film",
    "film_regime",
    "flat_follower_entrainment",
    "flat_follower_sliding",
    "flat_follower_surface_speeds",
    "lambda_ratio",
    "line_film",
]

# (upper end of lambda, name): Norton, *Machine Design*, 4th ed. (published).
FILM_REGIMES: tuple[tuple[float, str], ...] = (
    (1.0, "boundary"),
    (3.0, "mixed"),
    (float("inf"), "full film"),
)


def elliptical_film(
    *,
    viscosity: ArrayLike,
    entrainment: ArrayLike,
    pressure_viscosity: ArrayLike,
    load: ArrayLike,
    rolling_radius: ArrayLike,
    ellipticity: ArrayLike,
    modulus: ArrayLike,
) -> FloatArray:
    """Least film of a point contact: h/Rx = 3.63 U^0.68 G^0.49 W^-0.073 (1 - exp(-0.68 k)).

    Source: Hamrock and Dowson (1977), Part III (status: memory).

    Args:
        viscosity: eta0, dynamic, at the temperature of the inlet and ambient pressure [Pa s], > 0.
        entrainment: u [m/s]; the sign is ignored.
        pressure_viscosity: alpha [1/Pa], > 0.
        load: F [N]; zero or less (parted) gives NaN.
        rolling_radius: Rx [m]; not positive gives NaN.
        ellipticity: k, the contact's axis square to rolling over its axis along rolling; inf is allowed.
            Fitted for 1 <= k <= 8; below 1 it is an extrapolation.
        modulus: E* [Pa], > 0 (E' = 2 E* is formed inside).

    Returns:
        least film thickness [m], >= 0.

    Raises:
        ValueError: viscosity, pressure-viscosity coefficient or modulus <= 0.
    """
    speed, material, reduced, radius, force = _groups(
        viscosity, entrainment, pressure_viscosity, load, rolling_radius, modulus
    )
    weight = force / (reduced * radius**2)
    shape = -np.expm1(-0.68 * np.asarray(ellipticity, float))
    return np.asarray(3.63 * radius * speed**0.68 * material**0.49 * weight**-0.073 * shape, float)


def line_film(
    *,
    viscosity: ArrayLike,
    entrainment: ArrayLike,
    pressure_viscosity: ArrayLike,
    load: ArrayLike,
    rolling_radius: ArrayLike,
    length: ArrayLike,
    modulus: ArrayLike,
) -> FloatArray:
    """Least film of a line contact: h/Rx = 2.65 U^0.7 G^0.54 W^-0.13.

    Source: Dowson and Higginson, *Elasto-hydrodynamic Lubrication* (status: memory).

    Args:
        viscosity, entrainment, pressure_viscosity, load, rolling_radius, modulus: see `elliptical_film`.
        length: L, bearing length [m]; zero or less gives NaN.

    Returns:
        least film thickness [m], >= 0.

    Raises:
        ValueError: viscosity, pressure-viscosity coefficient or modulus <= 0.
    """
    speed, material, reduced, radius, force = _groups(
        viscosity, entrainment, pressure_viscosity, load, rolling_radius, modulus
    )
    lengths = np.asarray(length, float)
    weight = force / (reduced * radius * np.where(lengths > 0, lengths, np.nan))
    return np.asarray(2.65 * radius * speed**0.7 * material**0.54 * weight**-0.13, float)


def lambda_ratio(film: ArrayLike, roughness_1: ArrayLike, roughness_2: ArrayLike) -> FloatArray:
    """Film over the combined roughness: h/sqrt(Rq1^2 + Rq2^2).

    Args:
        film: least film [m].
        roughness_1, roughness_2: root-mean-square roughness Rq of the surfaces [m], >= 0 (Rq is about
            1.25 Ra for ground surfaces: memory).

    Raises:
        ValueError: a negative roughness, or both zero.
    """
    first, second = np.asarray(roughness_1, float), np.asarray(roughness_2, float)
    combined = np.hypot(first, second)
    if np.any(first < 0) or np.any(second < 0):
        raise ValueError("roughness is negative: Rq is zero or more, in m")
    positive("combined roughness", combined, "m", finite=False)
    return np.asarray(np.asarray(film, float) / combined, float)


def film_regime(ratio: float) -> str:
    """Name the regime of one lambda ratio (see FILM_REGIMES); "unknown" for NaN."""
    return next((name for limit, name in FILM_REGIMES if ratio <= limit), "unknown")


def flat_follower_entrainment(
    base_radius: ArrayLike, lift: ArrayLike, acceleration: ArrayLike, cam_speed: ArrayLike
) -> FloatArray:
    """Entrainment u = (w/2)(Rb + s + 2 s'') of a flat-faced tappet that does not spin [m/s].

    Args:
        base_radius: Rb, lobe center to the base circle [m].
        lift: s, tappet lift [m].
        acceleration: s'', per cam radian squared [m].
        cam_speed: w [rad/s].

    Returns:
        signed: it passes through zero twice on most lobes, at each side of the nose.
    """
    lobe, face = flat_follower_surface_speeds(base_radius, lift, acceleration, cam_speed)
    return np.asarray(0.5 * (lobe + face), float)


def flat_follower_sliding(base_radius: ArrayLike, lift: ArrayLike, cam_speed: ArrayLike) -> FloatArray:
    """Sliding speed w (Rb + s) of the lobe over a flat-faced tappet that does not spin [m/s]."""
    return np.asarray(
        np.asarray(cam_speed, float) * (np.asarray(base_radius, float) + np.asarray(lift, float)), float
    )


def flat_follower_surface_speeds(
    base_radius: ArrayLike, lift: ArrayLike, acceleration: ArrayLike, cam_speed: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Speeds of the two surfaces relative to the contact: lobe w (Rb + s + s''), tappet face w s''.

    Their mean is the entrainment, their difference the sliding speed. The lobe's speed is w times its
    radius of curvature. The contact lies at s' from the tappet's axis, so it moves over the face at w s''.
    """
    omega, second = np.asarray(cam_speed, float), np.asarray(acceleration, float)
    lobe = omega * (np.asarray(base_radius, float) + np.asarray(lift, float) + second)
    return np.asarray(lobe, float), np.broadcast_to(omega * second, lobe.shape)


def _groups(
    viscosity: ArrayLike,
    entrainment: ArrayLike,
    pressure_viscosity: ArrayLike,
    load: ArrayLike,
    rolling_radius: ArrayLike,
    modulus: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return U, G, E', and Rx and F with NaN where there is no contact."""
    eta, alpha, contact_modulus = (np.asarray(x, float) for x in (viscosity, pressure_viscosity, modulus))
    positive("viscosity", eta, "Pa s", finite=False)
    positive("pressure-viscosity coefficient", alpha, "1/Pa", finite=False)
    positive("contact modulus", contact_modulus, "Pa", finite=False)
    radius, force = np.asarray(rolling_radius, float), np.asarray(load, float)
    radius = np.where(radius > 0, radius, np.nan)
    force = np.where(force > 0, force, np.nan)
    reduced = 2 * contact_modulus
    speed = eta * np.abs(np.asarray(entrainment, float)) / (reduced * radius)
    return speed, alpha * reduced, reduced, radius, force
