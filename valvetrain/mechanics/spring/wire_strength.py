"""Tensile strength of spring wire by its diameter, A/d^m, from two published sets of constants.

The sets do not agree (by up to a fifth for one material): a result must say which one it used.
- "shigley": Shigley, *Mechanical Engineering Design*, table of A and m: music, oil-tempered and hard-drawn
  seen; the two alloy wires and all diameter ranges memory.
- "fe_handbook": NCEES *FE Reference Handbook*, mechanical springs: constants seen; the ranges are those of
  an older edition of Shigley with the same constants, memory.
"""

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = ["CONSTANT_SETS", "WIRE_MATERIALS", "WireConstants", "strength_in_range", "tensile_strength"]

WIRE_MATERIALS = ("music", "oil-tempered", "hard-drawn", "chrome-vanadium", "chrome-silicon")


@dataclass(frozen=True)
class WireConstants:
    """Strength = A / d^m with d in millimetres.

    Attributes:
        coefficient: A [MPa mm^m].
        exponent: m [-].
        least_diameter: smallest wire that the constants hold for [m].
        greatest_diameter: largest wire that the constants hold for [m].
    """

    coefficient: float
    exponent: float
    least_diameter: float
    greatest_diameter: float


CONSTANT_SETS = MappingProxyType(
    {
        "shigley": MappingProxyType(
            {
                "music": WireConstants(2211.0, 0.145, 0.10e-3, 6.5e-3),
                "oil-tempered": WireConstants(1855.0, 0.187, 0.5e-3, 12.7e-3),
                "hard-drawn": WireConstants(1783.0, 0.190, 0.7e-3, 12.7e-3),
                "chrome-vanadium": WireConstants(2005.0, 0.168, 0.8e-3, 11.1e-3),
                "chrome-silicon": WireConstants(1974.0, 0.108, 1.6e-3, 9.5e-3),
            }
        ),
        "fe_handbook": MappingProxyType(
            {
                "music": WireConstants(2060.0, 0.163, 0.10e-3, 6.5e-3),
                "oil-tempered": WireConstants(1610.0, 0.193, 0.5e-3, 12.0e-3),
                "hard-drawn": WireConstants(1510.0, 0.201, 0.7e-3, 12.0e-3),
                "chrome-vanadium": WireConstants(1790.0, 0.155, 0.8e-3, 12.0e-3),
                "chrome-silicon": WireConstants(1960.0, 0.091, 1.6e-3, 10.0e-3),
            }
        ),
    }
)


def tensile_strength(wire_diameter: ArrayLike, material: str, constant_set: str = "shigley") -> FloatArray:
    """Least tensile strength of the wire [Pa], also outside the range of its table.

    Args:
        wire_diameter: [m], NaN gives NaN.
        material: one of `WIRE_MATERIALS`.
        constant_set: "shigley" or "fe_handbook".

    Raises:
        ValueError: for an unknown material or set, or a diameter that is not above zero.
    """
    constants = _constants(material, constant_set)
    millimetres = 1e3 * positive("wire diameter", wire_diameter)
    return np.asarray(1e6 * constants.coefficient / millimetres**constants.exponent)


def strength_in_range(wire_diameter: ArrayLike, material: str, constant_set: str = "shigley") -> BoolArray:
    """Whether the wire is inside the diameters that its table covers; False for NaN."""
    constants = _constants(material, constant_set)
    d = np.asarray(wire_diameter, float)
    return np.asarray((d >= constants.least_diameter) & (d <= constants.greatest_diameter))


def _constants(material: str, constant_set: str) -> WireConstants:
    if constant_set not in CONSTANT_SETS:
        raise ValueError(f"wire constants are {constant_set!r}: allowed are {', '.join(CONSTANT_SETS)}.")
    if material not in CONSTANT_SETS[constant_set]:
        raise ValueError(f"wire material is {material!r}: allowed are {', '.join(WIRE_MATERIALS)}.")
    return CONSTANT_SETS[constant_set][material]
