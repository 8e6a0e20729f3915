"""A lobe's derivatives in the units of a sheet: over degrees of the cam, and over time."""

import math

from valvetrain.setup.units import display_unit, from_si

__all__ = ["PEAKS", "per_degree", "per_second", "unit_per_degree", "unit_per_second"]

# name -> (words, order of the derivative)
PEAKS = {
    "lift": ("greatest lift", 0),
    "velocity": ("fastest rise", 1),
    "fall": ("fastest fall", 1),
    "acceleration": ("greatest acceleration, flank", 2),
    "nose": ("greatest deceleration, nose", 2),
    "jerk": ("greatest jerk", 3),
}
"""Peak of a `LobeResult` -> (words, order of the derivative)."""


def per_degree(value: float, order: int, system: str) -> float:
    """Convert a derivative over cam angle [m/rad^order] to the sheet's length a degree."""
    return float(from_si(value, "length", system, difference=True)) * math.radians(1.0) ** order


def unit_per_degree(order: int, system: str) -> str:
    """Return the unit of `per_degree`."""
    length = display_unit("length", system)
    return length if order == 0 else f"{length}/deg" + (f"^{order}" if order > 1 else "")


def per_second(value: float, system: str) -> float:
    """Convert a derivative over time [m/s^order] to the sheet's length of speed, over the same seconds."""
    return float(from_si(value, "speed", system, difference=True))


def unit_per_second(order: int, system: str) -> str:
    """Return the unit of `per_second`."""
    return display_unit("speed", system) + (f"^{order}" if order > 1 else "")
