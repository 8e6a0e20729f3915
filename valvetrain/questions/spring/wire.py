"""What a spring's wire says of it: its rate, and the curve of a conical spring."""

import math

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.measured import Measured
from valvetrain.parts.spring import CoilSpring

__all__ = ["DENSITY", "ELASTIC_MODULUS", "conical_curve", "shear_modulus", "wire_rate"]

# Shear modulus of spring wire [Pa]: Shigley, Mechanical Engineering Design, mechanical properties of some
# spring wires (memory): 11.6 million psi for music wire, 11.4 hard-drawn, 11.2 for the others.
_PSI = 6894.757293168
_MODULUS = {
    "music": 11.6e6 * _PSI,
    "hard-drawn": 11.4e6 * _PSI,
    "oil-tempered": 11.2e6 * _PSI,
    "chrome-vanadium": 11.2e6 * _PSI,
    "chrome-silicon": 11.2e6 * _PSI,
}
# Standard uncertainty of that modulus, as a share; common practice, no source.
_MODULUS_SHARE = 0.015
DENSITY = 7850.0
"""Of spring steel [kg/m^3]."""
ELASTIC_MODULUS = 29.0e6 * _PSI
"""Of spring wire [Pa]: 28.5 to 29.5 million psi in the same table (memory)."""


def shear_modulus(spring: CoilSpring) -> Measured | None:
    """Return the wire's shear modulus: as written, or its material's; None for an unknown material."""
    if spring.shear_modulus is not None:
        return spring.shear_modulus
    if spring.material is None:
        return None
    value = _MODULUS[spring.material]
    return Measured(value, _MODULUS_SHARE * value, f"shear modulus of {spring.material} wire")


def wire_rate(spring: CoilSpring) -> Measured | None:
    """Rate G d^4/(8 D^3 Na) with its uncertainty; None where the wire is not described, or conical."""
    wire, coil, coils = spring.wire_diameter, spring.coil_diameter, spring.active_coils
    modulus = shear_modulus(spring)
    if wire is None or coil is None or coils is None or modulus is None or spring.kind == "conical":
        return None
    from valvetrain.mechanics.spring.helical import spring_rate

    rate = float(spring_rate(wire.value, coil.value, coils.value, modulus.value))
    return Measured(rate, rate * _share(wire, coil, coils, modulus), f"the wire at {wire.source}")


def conical_curve(spring: CoilSpring) -> tuple[FloatArray, FloatArray, float] | None:
    """Heights [m], rising, loads [N] there, and the relative uncertainty of the loads of a conical spring.

    From the height at which all coils lie closed to the free length. None where a figure is missing.
    """
    wire, wide, narrow = spring.wire_diameter, spring.coil_diameter, spring.small_coil_diameter
    coils, modulus, free, solid = (
        spring.active_coils,
        shear_modulus(spring),
        spring.free_length,
        spring.solid_height,
    )
    if wire is None or wide is None or narrow is None or coils is None:
        return None
    if modulus is None or free is None or solid is None:
        return None
    from valvetrain.mechanics.spring.conical import conical_compression, conical_first_contact_load

    travel = free.value - solid.value
    shape = (wire.value, 0.5 * narrow.value, 0.5 * wide.value, coils.value, modulus.value)
    first = float(
        conical_first_contact_load(wire.value, 0.5 * wide.value, coils.value, modulus.value, travel)
    )
    # The narrowest coil closes last, at a load that grows with the cube of its radius' inverse.
    last = first * (wide.value / narrow.value) ** 3
    loads = np.concatenate([[0.0], np.linspace(first, last, 200)]) if last > first else np.array([0.0, first])
    heights = free.value - conical_compression(loads, *shape, travel)
    return heights[::-1], loads[::-1], _share(wire, wide, coils, modulus)


def _share(wire: Measured, coil: Measured, coils: Measured, modulus: Measured) -> float:
    """Relative uncertainty of G d^4/(D^3 Na)."""
    parts = ((4, wire), (3, coil), (1, coils), (1, modulus))
    return math.hypot(*(power * each.uncertainty / each.value for power, each in parts))
