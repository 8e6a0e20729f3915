"""How far the acceleration of a lift curve may be off, by where the curve comes from."""

from math import degrees, hypot

__all__ = ["COARSE_STEP", "acceleration_doubt"]

COARSE_STEP = 0.0785
"""Rows farther apart than this (4.5 cam degrees) are called too coarse for accelerations [rad]."""

TABLE, CARD = 0.04, 0.20


def acceleration_doubt(source: str, step: float, noise: float, lift: float) -> float:
    """Relative standard uncertainty of the acceleration over the nose, where a train leaves its lobe [-].

    Of a law: 0, as it is given. Of a card, 0.20, whose figures say little of the nose. Of a table, at least
    0.04, and more the farther its rows are apart and the noisier they are:
    hypot(0.04, 0.01 (step - 2), 3 step noise/lift), the step in cam degrees. Card and table are own trials
    (no source): lobes of every motion law in `motion_laws`, with ramps and rises of 58 to 75 cam degrees, read
    every 1 to 15 cam degrees with noise of 0 to 0.025 mm and fitted again, or made again from two or three
    durations.

    Args:
        source: "law", "table" or "card".
        step: between the rows of a table [cam rad].
        noise: rms noise of its readings [m].
        lift: greatest lift [m], > 0.
    """
    if source == "law":
        return 0.0
    if source == "card":
        return CARD
    wide = degrees(step)
    return hypot(TABLE, 0.01 * max(0.0, wide - 2.0), 3.0 * wide * noise / lift)
