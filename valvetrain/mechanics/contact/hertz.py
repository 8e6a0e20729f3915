"""Hertz contact of elastic, frictionless, smooth bodies: line, ellipse, and a crowned tappet on a lobe.

Formulas: Johnson, *Contact Mechanics* (1985), chapter 4 (status: memory); the ellipse's shape is solved
from Carlson's symmetric integrals, since the usual (k^2 E - K)/(K - E) loses its digits near a circle.
Every function broadcasts; NaN in, NaN out.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import first_marked, positive

__all__ = [
    "CrownedContact",
    "EllipticalContact",
    "LineContact",
    "composite_modulus",
    "crowned_tappet_on_lobe",
    "elliptical_contact",
    "ellipticity",
    "line_contact",
    "relative_curvatures",
]

# Bounds of the table that is inverted for k; k = e^17 is a line contact for any purpose.
_LOG_K_MAX = 17.0
_TABLE_POINTS = 1701


@dataclass(frozen=True)
class LineContact:
    """Two parallel cylinders.

    Attributes:
        half_width: b, half the width of the band in the rolling direction [m].
        pressure: greatest (middle) pressure [Pa]; the mean is pi/4 of it.
    """

    half_width: FloatArray
    pressure: FloatArray


@dataclass(frozen=True)
class EllipticalContact:
    """A point contact.

    Attributes:
        semi_major: a, along the direction of least relative curvature [m].
        semi_minor: b [m]; b <= a.
        pressure: greatest (middle) pressure [Pa]; the mean is 2/3 of it.
        ellipticity: k = a/b >= 1.
    """

    semi_major: FloatArray
    semi_minor: FloatArray
    pressure: FloatArray
    ellipticity: FloatArray


@dataclass(frozen=True)
class CrownedContact:
    """A crowned (or flat) tappet on a lobe.

    Attributes:
        pressure: greatest pressure of the contact used [Pa].
        half_width: in the rolling direction [m].
        half_length: along the camshaft [m]; half of the bearing length where the lobe's edges limit it.
        uncut_half_length: of the ellipse on a lobe of no end [m]; infinite for a flat face.
        ellipticity: half length over half width of the uncut ellipse; infinite for a flat face.
        cut_off: True where the ellipse passes an edge of the lobe, so that the line contact was used. The
            edge carries a stress concentration that no Hertz formula holds: the pressure is a lower bound.
        line: True where the line contact was used (cut off, or a flat face).
        conformal: True where the bodies do not part in the rolling direction or along the camshaft
            (undercut or hollow lobe, hollow tappet): no Hertz contact; the other results are NaN.
    """

    pressure: FloatArray
    half_width: FloatArray
    half_length: FloatArray
    uncut_half_length: FloatArray
    ellipticity: FloatArray
    cut_off: BoolArray
    line: BoolArray
    conformal: BoolArray


def composite_modulus(
    modulus_1: ArrayLike, poisson_1: ArrayLike, modulus_2: ArrayLike, poisson_2: ArrayLike
) -> FloatArray:
    """Contact modulus E* of two materials: 1/E* = (1 - nu1^2)/E1 + (1 - nu2^2)/E2.

    Args:
        modulus_1, modulus_2: Young's moduli [Pa], > 0.
        poisson_1, poisson_2: Poisson's ratios, 0 <= nu <= 0.5.

    Returns:
        E* [Pa]. Film formulas use E' = 2 E*.

    Raises:
        ValueError: a modulus <= 0 or a Poisson's ratio out of range.
    """
    compliance: Any = 0.0
    for modulus, poisson in ((modulus_1, poisson_1), (modulus_2, poisson_2)):
        young, ratio = np.asarray(modulus, float), np.asarray(poisson, float)
        positive("Young's modulus", young, "Pa", finite=False)
        if np.any((ratio < 0) | (ratio > 0.5)):
            raise ValueError(
                f"Poisson's ratio is {first_marked(ratio, (ratio < 0) | (ratio > 0.5))}: 0 to 0.5"
            )
        compliance = compliance + (1 - ratio**2) / young
    return np.asarray(1 / compliance, float)


def line_contact(load: ArrayLike, radius: ArrayLike, length: ArrayLike, modulus: ArrayLike) -> LineContact:
    """Line contact: b = sqrt(4 F R/(pi L E*)), p = 2 F/(pi b L).

    Args:
        load: F, normal load [N]; 0 gives no contact and no pressure; negative (parted) gives NaN.
        radius: R, relative radius, 1/R = 1/R1 + 1/R2 [m]; not positive (conformal) gives NaN.
        length: L, bearing length [m], > 0.
        modulus: E* [Pa], > 0.

    Raises:
        ValueError: a length or modulus <= 0.
    """
    force, radii = np.asarray(load, float), np.asarray(radius, float)
    lengths, contact_modulus = np.asarray(length, float), np.asarray(modulus, float)
    positive("bearing length", lengths, "m", finite=False)
    positive("contact modulus", contact_modulus, "Pa", finite=False)
    radii = np.where(radii > 0, radii, np.nan)
    force = np.where(force >= 0, force, np.nan)
    half_width = np.sqrt(4 * force * radii / (np.pi * lengths * contact_modulus))
    # p = E* b/(2 R) is the same and does not divide by a vanishing load.
    pressure = contact_modulus * half_width / (2 * radii)
    return LineContact(half_width, pressure)


def ellipticity(curvature_ratio: ArrayLike) -> FloatArray:
    """Ratio k = a/b of the contact ellipse from the ratio of the relative curvatures.

    Args:
        curvature_ratio: B/A of the gap A x^2 + B y^2, >= 1 (below 1: NaN).

    Returns:
        k >= 1, to about 1e-14, for B/A up to 1e12; beyond that NaN (use the line contact).
        Solves B/A = R_D(0, 1, q^2)/R_D(0, q^2, 1), q = 1/k, by a quintic spline through that explicit
        relation on a fine logarithmic table.
    """
    ratio = np.asarray(curvature_ratio, float)
    usable = (ratio >= 1) & (ratio <= 1e12)
    log_ratio = np.log(np.where(usable, ratio, 1.0))
    log_k = np.asarray(_inverse_spline()(log_ratio), float)
    return np.where(usable, np.exp(np.maximum(log_k, 0.0)), np.nan)


def elliptical_contact(
    load: ArrayLike, curvature_1: ArrayLike, curvature_2: ArrayLike, modulus: ArrayLike
) -> EllipticalContact:
    """Point contact: 2b = 2 (6 E F R/(pi k E'))^(1/3), a = k b, p = 3F/(2 pi a b), with E' = 2 E*.

    Args:
        load: F [N]; 0 gives no contact and no pressure; negative (parted) gives NaN.
        curvature_1, curvature_2: relative principal curvatures 1/R1 + 1/R2 in the two directions [1/m],
            in any order; not positive (line or conformal) gives NaN.
        modulus: E* [Pa], > 0.

    Raises:
        ValueError: a modulus <= 0.
    """
    from scipy.special import ellipe

    force, contact_modulus = np.asarray(load, float), np.asarray(modulus, float)
    positive("contact modulus", contact_modulus, "Pa", finite=False)
    first, second = np.asarray(curvature_1, float), np.asarray(curvature_2, float)
    least, most = np.minimum(first, second), np.maximum(first, second)
    least = np.where(least > 0, least, np.nan)
    k = ellipticity(most / least)
    force = np.where(force >= 0, force, np.nan)
    radius = 1 / (least + most)
    second_integral = ellipe(1 - 1 / k**2)
    b = np.cbrt(6 * second_integral * force * radius / (np.pi * k * 2 * contact_modulus))
    # p = 3F/(2 pi k b^2) with F taken from b^3, so that a vanishing load is no division by zero.
    pressure = contact_modulus * b / (2 * second_integral * radius)
    return EllipticalContact(k * b, b, pressure, np.broadcast_to(k, b.shape))


def relative_curvatures(
    radius_1: ArrayLike,
    cross_radius_1: ArrayLike,
    radius_2: ArrayLike,
    cross_radius_2: ArrayLike,
    angle: ArrayLike = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Principal relative curvatures 2A <= 2B of two bodies whose principal directions are turned.

    Args:
        radius_1, cross_radius_1: principal radii of body 1 [m]; inf flat, negative hollow.
        radius_2, cross_radius_2: the same of body 2.
        angle: between the direction of radius_1 and that of radius_2 [rad].

    Returns:
        (2A, 2B) [1/m]: A + B and B - A by Johnson, *Contact Mechanics*, 4.1 (status: memory).
    """
    c1, d1, c2, d2 = (1 / np.asarray(x, float) for x in (radius_1, cross_radius_1, radius_2, cross_radius_2))
    twice_sum = c1 + d1 + c2 + d2
    first, second = c1 - d1, c2 - d2
    square = first**2 + second**2 + 2 * first * second * np.cos(2 * np.asarray(angle, float))
    twice_difference = np.sqrt(np.maximum(square, 0.0))
    return np.asarray(0.5 * (twice_sum - twice_difference)), np.asarray(0.5 * (twice_sum + twice_difference))


def crowned_tappet_on_lobe(
    *,
    load: ArrayLike,
    lobe_radius: ArrayLike,
    crown_radius: ArrayLike,
    lobe_width: ArrayLike,
    modulus: ArrayLike,
    contact_offset: ArrayLike = 0.0,
) -> CrownedContact:
    """Contact of a spherically crowned or flat tappet face with a lobe.

    Args:
        load: F, normal load [N]; negative (parted) gives NaN.
        lobe_radius: radius of curvature of the lobe's profile where it touches [m]; negative: concave.
        crown_radius: of the tappet's face [m]; inf: flat; negative: hollow (marked conformal).
        lobe_width: along the camshaft [m], > 0.
        modulus: E* [Pa], > 0.
        contact_offset: middle of the contact from the middle of the lobe's width, along the camshaft [m].

    Returns:
        the uncut ellipse where it lies wholly on the lobe; else the line contact over the part of the lobe
        that the ellipse covers, with the flag `cut_off`. Between the two the pressure jumps (an ellipse's
        middle carries 3/2 of its mean, a band 4/pi): near the change the truth is between both.

    Raises:
        ValueError: a crown radius of zero, a lobe radius of zero, a width or modulus <= 0.
    """
    crown, lobe, width = (np.asarray(x, float) for x in (crown_radius, lobe_radius, lobe_width))
    if np.any(crown == 0):
        raise ValueError("crown radius is 0 m: give the radius of the face, or inf for a flat one")
    if np.any(lobe == 0):
        raise ValueError("lobe radius of curvature is 0 m: a lobe with a sharp corner has no contact stress")
    positive("lobe width", width, "m", finite=False)
    along, across = 1 / crown, 1 / lobe + 1 / crown
    ellipse = elliptical_contact(load, along, across, modulus)
    # On a nearly flat or hollow flank the crown's own direction is the more curved one.
    long_axis_along = along <= across
    half_length = np.where(long_axis_along, ellipse.semi_major, ellipse.semi_minor)
    half_width = np.where(long_axis_along, ellipse.semi_minor, ellipse.semi_major)
    flat = np.isinf(crown) & np.isfinite(lobe)
    half_length = np.where(flat & (np.asarray(load, float) >= 0), np.inf, half_length)
    offset = np.asarray(contact_offset, float)
    with np.errstate(invalid="ignore"):
        bearing = np.maximum(
            0.0,
            np.minimum(offset + half_length, 0.5 * width) - np.maximum(offset - half_length, -0.5 * width),
        )
        cut_off = np.abs(offset) + half_length > 0.5 * width
    cut_off = cut_off & ~flat
    line = cut_off | (flat & np.isfinite(bearing))
    band = line_contact(
        load, 1 / np.where(across > 0, across, np.nan), np.where(bearing > 0, bearing, np.nan), modulus
    )
    conformal = np.broadcast_to((across <= 0) | (along < 0), line.shape)
    with np.errstate(invalid="ignore", divide="ignore"):
        aspect = np.where(
            flat, np.inf, np.where(long_axis_along, ellipse.ellipticity, 1 / ellipse.ellipticity)
        )
    blank = np.where(conformal, np.nan, 1.0)
    return CrownedContact(
        pressure=blank * np.where(line, band.pressure, ellipse.pressure),
        half_width=blank * np.where(line, band.half_width, half_width),
        half_length=blank * np.where(line, 0.5 * bearing, half_length),
        uncut_half_length=blank * half_length,
        ellipticity=blank * aspect,
        cut_off=cut_off & ~conformal,
        line=line & ~conformal,
        conformal=conformal,
    )


@lru_cache(maxsize=1)
def _inverse_spline() -> Any:
    """Return the quintic spline of log k over log(B/A), from the explicit inverse (k -> B/A)."""
    from scipy.interpolate import make_interp_spline
    from scipy.special import elliprd

    log_k = np.linspace(-0.1, _LOG_K_MAX, _TABLE_POINTS)  # a little past the circle, for smooth ends
    q2 = np.exp(-2 * log_k)
    log_ratio = np.log(elliprd(0, 1, q2) / elliprd(0, q2, 1))
    return make_interp_spline(log_ratio, log_k, k=5)
