"""Column strength and axial stiffness of a pushrod or any straight strut.

Sources: Wentzell (re-keyed worked examples 3.5 and 3.6, seen) for the Euler and Johnson pair and the
slenderness at which they meet; section properties are closed forms. NaN in gives NaN out; every function
broadcasts. Lengths [m], loads [N], stresses and moduli [Pa].
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = [
    "END_FIXITY",
    "TubeSection",
    "axial_stiffness",
    "column_load",
    "critical_slenderness",
    "slenderness_ratio",
    "tube_section",
]

# Effective length over length, (theoretical, recommended for real ends): the usual table of the
# American Institute of Steel Construction (memory; 0.65 is used by Wentzell 3.6, seen). A pushrod sits in
# a ball or cup at both ends: pinned.
END_FIXITY = {
    "pinned, pinned": (1.0, 1.0),
    "fixed, fixed": (0.5, 0.65),
    "fixed, pinned": (0.699, 0.8),
    "fixed, free": (2.0, 2.1),
}


@dataclass(frozen=True)
class TubeSection:
    """A round tube's section: area [m^2], second moment of area [m^4], radius of gyration [m]."""

    area: FloatArray
    second_moment: FloatArray
    radius_of_gyration: FloatArray


def tube_section(outside_diameter: ArrayLike, wall: ArrayLike) -> TubeSection:
    """Section of a round tube; a wall of half the outside diameter is a solid rod.

    Args:
        outside_diameter: [m].
        wall: wall thickness [m], at most half the outside diameter.

    Raises:
        ValueError: where a dimension is not above zero or the wall is thicker than the radius.
    """
    outside, thickness = positive("outside diameter", outside_diameter), positive("wall", wall)
    inside = outside - 2.0 * thickness
    # Half the diameter written in inches and converted may round to a hair more than the radius.
    if np.any(inside < -1e-9 * outside):
        raise ValueError(
            f"wall is {np.nanmax(thickness):g} m: it must not exceed half the outside diameter "
            f"({np.nanmin(outside) / 2:g} m)."
        )
    inside = np.maximum(inside, 0.0)
    area = np.pi / 4.0 * (outside**2 - inside**2)
    second_moment = np.pi / 64.0 * (outside**4 - inside**4)
    return TubeSection(np.asarray(area), np.asarray(second_moment), np.sqrt(second_moment / area))


def slenderness_ratio(
    length: ArrayLike, radius_of_gyration: ArrayLike, fixity: ArrayLike = 1.0
) -> FloatArray:
    """Slenderness K L/r [-]; `fixity` is K, see `END_FIXITY`."""
    effective = positive("end fixity", fixity) * positive("length", length)
    return np.asarray(effective / positive("radius of gyration", radius_of_gyration))


def critical_slenderness(elastic_modulus: ArrayLike, yield_strength: ArrayLike) -> FloatArray:
    """Slenderness sqrt(2 pi^2 E/Sy) [-], at which Euler's and Johnson's loads and slopes meet."""
    E = positive("elastic modulus", elastic_modulus)
    return np.sqrt(2.0 * np.pi**2 * E / positive("yield strength", yield_strength))


def column_load(
    area: ArrayLike, slenderness: ArrayLike, elastic_modulus: ArrayLike, yield_strength: ArrayLike
) -> FloatArray:
    """Load [N] at which a straight, centrally loaded column fails; no safety factor in it.

    Euler pi^2 E A/SR^2 above the critical slenderness, Johnson A Sy (1 - Sy SR^2/(4 pi^2 E)) at or below.

    Args:
        area: [m^2].
        slenderness: SR = K L/r [-], >= 0.
        elastic_modulus: [Pa].
        yield_strength: [Pa].
    """
    A, E = positive("area", area), positive("elastic modulus", elastic_modulus)
    Sy, SR = positive("yield strength", yield_strength), not_negative("slenderness", slenderness)
    limit = critical_slenderness(E, Sy)
    euler = np.pi**2 * E * A / np.maximum(SR, limit) ** 2
    johnson = A * Sy * (1.0 - Sy * SR**2 / (4.0 * np.pi**2 * E))
    return np.where(limit >= SR, johnson, euler)


def axial_stiffness(area: ArrayLike, length: ArrayLike, elastic_modulus: ArrayLike) -> FloatArray:
    """Stiffness of a straight rod along its axis, E A/L [N/m]."""
    rigidity = positive("elastic modulus", elastic_modulus) * positive("area", area)
    return np.asarray(rigidity / positive("length", length))
