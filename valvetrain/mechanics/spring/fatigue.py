"""Mean and alternating stress of a valve spring, fatigue safety, and set when pressed solid.

Endurance strengths are those of Zimmerli for infinite life of steel spring wire below 10 mm, from Shigley,
*Mechanical Engineering Design*, chapter 10 (memory). They come from tests at room temperature without
surge or corrosion. Every function names its criterion; loads [N], stresses [Pa], broadcast, NaN in gives
NaN out.
"""

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import positive
from valvetrain.mechanics.spring.helical import shear_stress

__all__ = [
    "SET_FRACTION",
    "ZIMMERLI",
    "EnduranceStrength",
    "SpringStress",
    "gerber_safety",
    "goodman_safety",
    "sines_safety",
    "solid_stress_fraction",
    "spring_stress",
    "torsional_strength",
]

KPSI = 6.894757293168e6


@dataclass(frozen=True)
class EnduranceStrength:
    """One point of the fatigue diagram in shear: alternating and mean strength [Pa]."""

    alternating: float
    mean: float


# Zimmerli, through Shigley (memory): 35 and 55 kpsi plain, 57.5 and 77.5 kpsi shot-peened.
ZIMMERLI = MappingProxyType(
    {
        "unpeened": EnduranceStrength(35.0 * KPSI, 55.0 * KPSI),
        "peened": EnduranceStrength(57.5 * KPSI, 77.5 * KPSI),
    }
)

# Greatest shear stress at solid as a share of the tensile strength before the spring takes a set, stress
# corrected for curvature, set not removed beforehand: Shigley, table of allowable torsional stresses
# (memory): cold-drawn and music 0.45, hardened and tempered carbon and low-alloy wire 0.50.
SET_FRACTION = MappingProxyType(
    {
        "music": 0.45,
        "hard-drawn": 0.45,
        "oil-tempered": 0.50,
        "chrome-vanadium": 0.50,
        "chrome-silicon": 0.50,
    }
)


@dataclass(frozen=True)
class SpringStress:
    """Corrected shear stress over one opening [Pa].

    Attributes:
        seat: valve closed.
        open: at full lift.
        mean: half the sum of the two.
        alternating: half their difference.
    """

    seat: FloatArray
    open: FloatArray
    mean: FloatArray
    alternating: FloatArray


def spring_stress(
    seat_load: ArrayLike,
    open_load: ArrayLike,
    wire_diameter: ArrayLike,
    coil_diameter: ArrayLike,
    factor: ArrayLike,
) -> SpringStress:
    """Stress at seat and at full lift, both with the curvature factor given.

    Args:
        seat_load: [N].
        open_load: [N], at least the seat load.
        wire_diameter: [m].
        coil_diameter: mean coil diameter [m].
        factor: `bergstraesser_factor` or `wahl_factor` of the index, on mean and alternating stress alike.

    Raises:
        ValueError: where the open load is below the seat load.
    """
    if np.any(np.asarray(open_load, float) < np.asarray(seat_load, float)):
        raise ValueError("open load is below seat load: a spring pushes harder the more it is compressed.")
    seat = shear_stress(seat_load, wire_diameter, coil_diameter, factor)
    full = shear_stress(open_load, wire_diameter, coil_diameter, factor)
    return SpringStress(seat, full, 0.5 * (seat + full), 0.5 * (full - seat))


def torsional_strength(tensile_strength: ArrayLike) -> FloatArray:
    """Ultimate strength in torsion, 0.67 of the tensile strength (Shigley, memory) [Pa]."""
    return np.asarray(0.67 * positive("tensile strength", tensile_strength))


def goodman_safety(
    stress: SpringStress, tensile_strength: ArrayLike, endurance: EnduranceStrength
) -> FloatArray:
    """Safety factor on the Goodman line through the endurance point, 1/(ta/Sse + tm/Ssu) [-].

    Sse = Ssa/(1 - Ssm/Ssu). The load line runs from the origin (both stresses grow together). NaN where
    the wire is weaker in torsion than the endurance point's mean stress, which no line then fits.
    """
    ultimate = torsional_strength(tensile_strength)
    left = 1.0 - endurance.mean / ultimate
    reversed_strength = endurance.alternating / np.where(left > 0.0, left, np.nan)
    use = np.asarray(stress.alternating / reversed_strength + stress.mean / ultimate)
    return _reciprocal(use)


def gerber_safety(
    stress: SpringStress, tensile_strength: ArrayLike, endurance: EnduranceStrength
) -> FloatArray:
    """Safety factor on the Gerber parabola through the endurance point [-]; load line from the origin.

    n solves n ta/Sse + (n tm/Ssu)^2 = 1 with Sse = Ssa/(1 - (Ssm/Ssu)^2).
    """
    ultimate = torsional_strength(tensile_strength)
    left = 1.0 - (endurance.mean / ultimate) ** 2
    a = stress.alternating * np.where(left > 0.0, left, np.nan) / endurance.alternating
    b = stress.mean / ultimate
    # The root 2/(a + sqrt(a^2 + 4 b^2)) stays accurate when either stress is small.
    return 2.0 * _reciprocal(np.asarray(a + np.sqrt(a**2 + 4.0 * b**2)))


def sines_safety(stress: SpringStress, endurance: EnduranceStrength) -> FloatArray:
    """Safety factor by Sines: mean torsion does not count, Ssa/ta [-]; infinite without alternation."""
    return endurance.alternating * _reciprocal(stress.alternating)


def solid_stress_fraction(
    solid_load: ArrayLike,
    wire_diameter: ArrayLike,
    coil_diameter: ArrayLike,
    factor: ArrayLike,
    tensile_strength: ArrayLike,
) -> FloatArray:
    """Corrected stress pressed solid over tensile strength [-], to be held against `SET_FRACTION`."""
    stress = shear_stress(solid_load, wire_diameter, coil_diameter, factor)
    return np.asarray(stress / positive("tensile strength", tensile_strength))


def _reciprocal(value: FloatArray) -> FloatArray:
    array = np.asarray(value, float)
    zero: BoolArray = array == 0.0
    return np.where(zero, np.inf, 1.0 / np.where(zero, 1.0, array))
