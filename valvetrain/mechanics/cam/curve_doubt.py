"""How sure the slope of a lift curve fitted to readings is, and the area of one by a card's own figures.

The shares of the slope are the root mean square of what was missed in a trial (own trial, no source) on lobes
of all laws of `motion_laws`, rises of 55 to 70 cam degrees, with and without ramps of up to 0.36 mm, through
tables read every 1 to 5 cam degrees with noise of 0 to 0.013 mm.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["card_area_doubt", "table_slope_doubt"]

LEAST_SLOPE = 0.04
NOISE_SHARE = 2.0


def card_area_doubt(
    checking_lifts: ArrayLike, durations: ArrayLike, duration_doubt: ArrayLike, lobe_lift: float
) -> float:
    """Relative standard uncertainty of the area under a lobe from that of its card's durations [-].

    Area is the integral of duration over lift: the trapezoid rule between the checking lifts, the duration
    of the lowest below it, and a parabola of the highest above it, say how much a duration moves it.

    Args:
        checking_lifts: at the tappet, rising [m], shape [n].
        durations, duration_doubt: at each, and their standard uncertainties [cam rad], shape [n].
        lobe_lift: full tappet lift, above every checking lift [m].

    Raises:
        ValueError: a highest checking lift that is not below the lobe lift.
    """
    lifts, widths = np.asarray(checking_lifts, float), np.asarray(durations, float)
    if not lifts[-1] < lobe_lift:
        raise ValueError(f"the checking lift {lifts[-1]:g} is not below the lobe lift {lobe_lift:g}")
    bands = np.diff(lifts) / 2
    share = np.concatenate([[lifts[0]], bands]) + np.concatenate([bands, [2 / 3 * (lobe_lift - lifts[-1])]])
    written = np.linalg.norm(share * np.asarray(duration_doubt, float)) / np.dot(share, widths)
    return float(written)


def table_slope_doubt(level: ArrayLike, noise: ArrayLike) -> FloatArray:
    """Relative standard uncertainty of the slope of a curve through readings, at a low lift [-].

    hypot(0.04, 2 noise/level). Args: level: tappet lift [m]; noise: rms of the readings [m], >= 0. Broadcast;
    a level that is not above zero gives NaN, and so does NaN.
    """
    low = np.asarray(level, float)
    low = np.where(low > 0, low, np.nan)
    return np.asarray(np.hypot(LEAST_SLOPE, NOISE_SHARE * np.asarray(noise, float) / low))
