"""How far the acceleration of a lift curve fitted to a table may be off."""

from math import degrees, hypot

__all__ = ["COARSE_STEP", "table_acceleration_doubt"]

COARSE_STEP = 0.0785
"""Rows farther apart than this (4.5 cam degrees) are called too coarse for accelerations [rad]."""

LEAST = 0.04


def table_acceleration_doubt(step: float, noise: float, lift: float) -> float:
    """Relative standard uncertainty of the acceleration over the nose, where a train leaves its lobe [-].

    hypot(0.04, 0.01 (step - 2), 3 step noise/lift), the step in cam degrees, the second term from 2 degrees
    on. Own trial, no source: lobes of every motion law of `motion_laws`, with ramps and rises of 58 to 75 cam
    degrees, read every 1 to 15 cam degrees with noise of 0 to 0.025 mm and fitted again.

    Args:
        step: between the rows of the table [cam rad], > 0.
        noise: rms noise of its readings [m], >= 0.
        lift: greatest lift [m], > 0.

    Raises:
        ValueError: a step or lift that is not greater than zero.
    """
    if not step > 0 or not lift > 0:
        raise ValueError(f"Step is {step:g} rad, lift {lift:g} m; both must be greater than zero.")
    wide = degrees(step)
    return hypot(LEAST, 0.01 * max(0.0, wide - 2.0), 3.0 * wide * noise / lift)
