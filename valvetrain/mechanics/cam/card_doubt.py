"""How sure the two flanks of a lobe are together that is known from its cam card.

Their doubts are told as that of the half width (both flanks outward alike: what moves a duration) and that of
the middle (both the same way: what moves opening and closing but no duration).
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["ASYMMETRY", "RAMP_ASYMMETRY", "SHARED", "flank_width_and_middle", "peak_doubt"]

ASYMMETRY = 0.02
"""How far a lobe's middle wanders with the angle between two lifts, as a share of that angle (own choice, no
source: closing flanks are made up to about 4 % longer than opening ones)."""

RAMP_ASYMMETRY = 0.35
"""How far the two flanks differ in what a card of durations leaves open, as a share of it (own choice)."""

SHARED = 0.8
"""Correlation of what a card of opening and closing angles leaves open on the two flanks (own choice: one
maker's ramps are much alike)."""


def flank_width_and_middle(
    opening_doubt: ArrayLike, closing_doubt: ArrayLike, wander: ArrayLike, *, placed: bool
) -> tuple[FloatArray, FloatArray]:
    """Standard uncertainties of a lobe's half width and of its middle at a lift [cam rad].

    Args:
        opening_doubt, closing_doubt: of each flank's angle [cam rad], any shape.
        wander: angle through which the middle may wander, from where it is known [cam rad].
        placed: True where the card gives opening and closing angles, so that each flank is known by itself;
            False for durations, which only tell the two together.
    """
    first, second = np.asarray(opening_doubt, float), np.asarray(closing_doubt, float)
    astray = ASYMMETRY * np.abs(np.asarray(wander, float))
    if placed:
        squares, product = first**2 + second**2, 2 * SHARED * first * second
        middle = 0.5 * np.sqrt(np.maximum(squares - product, 0.0))
        return 0.5 * np.sqrt(squares + product), np.hypot(middle, astray)
    width = 0.5 * (first + second)
    return width, np.hypot(RAMP_ASYMMETRY * width, astray)


def peak_doubt(likely: float, doubt: float, told: float) -> float:
    """Relative standard uncertainty of a peak that is `told`, with `likely` expected to `doubt` of it.

    Peaks positive, in one unit; the doubt relative.
    """
    return float(np.hypot(doubt * likely, likely - told) / told)
