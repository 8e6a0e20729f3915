"""Rate, shear stress and solid height of a helical compression spring of round wire.

Sources: Shigley, *Mechanical Engineering Design*, chapter 10 (memory): rate, stress, the two curvature
factors and the table of end types; EN 13906-1:2013 (memory) for the same rate and its stress factor.
All functions broadcast over any leading shape; NaN (unknown) in gives NaN out; lengths [m], loads [N],
moduli and stresses [Pa]. They hold for a close-wound cylindrical spring: small pitch angle, spring index
4 to 12; outside it the numbers are still given, and `index_in_range` says so.
"""

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = [
    "COIL_ENDS",
    "CoilEnds",
    "active_coils_for",
    "bergstraesser_factor",
    "index_in_range",
    "shear_stress",
    "solid_coil_diameter",
    "solid_height",
    "spring_index",
    "spring_rate",
    "total_coils",
    "wahl_factor",
]

LEAST_INDEX, GREATEST_INDEX = 4.0, 12.0


@dataclass(frozen=True)
class CoilEnds:
    """How the ends of a spring are made.

    Attributes:
        idle_coils: coils that do not work, both ends together.
        solid_extra: wire diameters that the solid height has beyond one a coil.
    """

    idle_coils: float
    solid_extra: float


# Shigley, Mechanical Engineering Design, table of formulas for compression springs (memory).
COIL_ENDS = MappingProxyType(
    {
        "plain": CoilEnds(0.0, 1.0),
        "plain and ground": CoilEnds(1.0, 0.0),
        "squared": CoilEnds(2.0, 1.0),
        "squared and ground": CoilEnds(2.0, 0.0),
    }
)


def spring_index(wire_diameter: ArrayLike, coil_diameter: ArrayLike) -> FloatArray:
    """Spring index C = D/d, mean coil diameter over wire diameter [-].

    Raises:
        ValueError: where a diameter is not above zero, or the coil is no wider than its wire.
    """
    index = positive("coil diameter", coil_diameter) / positive("wire diameter", wire_diameter)
    if np.any(index <= 1.0):
        raise ValueError(
            f"spring index is {np.nanmin(index):g}: the mean coil diameter must exceed the wire diameter."
        )
    return np.asarray(index)


def index_in_range(index: ArrayLike) -> BoolArray:
    """Whether the spring index lies in 4 to 12, where the formulas are trusted; False for NaN."""
    array = np.asarray(index, float)
    return np.asarray((array >= LEAST_INDEX) & (array <= GREATEST_INDEX))


def spring_rate(
    wire_diameter: ArrayLike, coil_diameter: ArrayLike, active_coils: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    """Rate k = G d^4/(8 D^3 Na) [N/m], of the mean coil diameter D (Shigley; EN 13906-1)."""
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    Na, G = positive("active coils", active_coils), positive("shear modulus", shear_modulus)
    return np.asarray(G * d**4 / (8.0 * D**3 * Na))


def active_coils_for(
    rate: ArrayLike, wire_diameter: ArrayLike, coil_diameter: ArrayLike, shear_modulus: ArrayLike
) -> FloatArray:
    """Active coils Na [-] that give the rate [N/m]: the inverse of `spring_rate`."""
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    return np.asarray(positive("shear modulus", shear_modulus) * d**4 / (8.0 * D**3 * positive("rate", rate)))


def wahl_factor(index: ArrayLike) -> FloatArray:
    """Wahl's factor for curvature and direct shear, (4C-1)/(4C-4) + 0.615/C [-]; C > 1."""
    C = _wide_index(index)
    return np.asarray((4.0 * C - 1.0) / (4.0 * C - 4.0) + 0.615 / C)


def bergstraesser_factor(index: ArrayLike) -> FloatArray:
    """Bergstraesser's factor (4C+2)/(4C-3) [-], the same as (C+0.5)/(C-0.75) of EN 13906-1; C > 1."""
    C = _wide_index(index)
    return np.asarray((4.0 * C + 2.0) / (4.0 * C - 3.0))


def shear_stress(
    load: ArrayLike, wire_diameter: ArrayLike, coil_diameter: ArrayLike, factor: ArrayLike = 1.0
) -> FloatArray:
    """Shear stress in the wire, K 8 F D/(pi d^3) [Pa], the sign of the load kept.

    Args:
        load: [N].
        wire_diameter: d [m].
        coil_diameter: mean coil diameter D [m].
        factor: K, such as `wahl_factor` or `bergstraesser_factor` of the index; 1 leaves the stress
            uncorrected.
    """
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    return np.asarray(np.asarray(factor, float) * 8.0 * np.asarray(load, float) * D / (np.pi * d**3))


def total_coils(active_coils: ArrayLike, ends: str) -> FloatArray:
    """Total coils Nt [-]: the active ones and the idle ones of the end type."""
    return np.asarray(positive("active coils", active_coils) + _ends(ends).idle_coils)


def solid_height(wire_diameter: ArrayLike, active_coils: ArrayLike, ends: str) -> FloatArray:
    """Height with all coils touching [m]: Nt d for ground ends, (Nt + 1) d for ends not ground."""
    coils = total_coils(active_coils, ends) + _ends(ends).solid_extra
    return np.asarray(coils * positive("wire diameter", wire_diameter))


def solid_coil_diameter(wire_diameter: ArrayLike, coil_diameter: ArrayLike, pitch: ArrayLike) -> FloatArray:
    """Mean coil diameter of the spring pressed solid, sqrt(D^2 + (p^2 - d^2)/pi^2) [m]; p free pitch [m].

    A coil unwinds and grows a little as it closes: the room between the springs of a set shrinks by it.
    Source: Wahl, *Mechanical Springs* (memory), for ends free to turn.
    """
    d, D = positive("wire diameter", wire_diameter), positive("coil diameter", coil_diameter)
    p = not_negative("pitch", pitch)
    if np.any(p < d):
        raise ValueError("pitch is less than the wire diameter: coils cannot lie closer than touching.")
    return np.sqrt(D**2 + (p**2 - d**2) / np.pi**2)


def _wide_index(index: ArrayLike) -> FloatArray:
    array = np.asarray(index, float)
    if np.any(array <= 1.0):
        raise ValueError(f"spring index is {np.nanmin(array):g}: it must be above 1.")
    return array


def _ends(ends: str) -> CoilEnds:
    if ends not in COIL_ENDS:
        raise ValueError(f"spring ends are {ends!r}: allowed are {', '.join(COIL_ENDS)}.")
    return COIL_ENDS[ends]
