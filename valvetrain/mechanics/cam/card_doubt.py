"""How sure a lobe is that was synthesised from a cam card.

A card fixes the flanks at its checking lifts only. Between two of them a flank that never falls back stays
between their angles; within that bracket the smoothest profile may miss the real one. The shares below are
the root mean square of what it missed in a trial on lobes of all laws of `motion_laws`, with and without
ramps of up to 0.014 in, through cards of two to four lifts (own trial, no source).
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.card import RAMP_SHARE, lift_curve_from_card

__all__ = [
    "SHAPE_DOUBT",
    "SHARE_BELOW",
    "SHARE_BETWEEN",
    "SHARE_ON_RAMP",
    "flank_doubt",
    "peak_acceleration_doubt",
]

SHARE_BELOW = 0.8
"""Doubt below the lowest checking lift, as a share of the distance to the nearer end of its bracket."""

SHARE_BETWEEN = 0.15
"""The same between and above the checking lifts, where the lobe's ramp has ended."""

SHARE_ON_RAMP = 0.5
"""The same between the checking lifts at the lifts that a ramp may still reach: where the lowest checking
lift is on a slow ramp, the smoothest profile leaves that ramp too early (own trial, no source: ramps of
0.15 mm to 0.40 mm, 18 to 36 cam degrees long, under cards of two and three lifts)."""

RAMP_ENDS = (0.36e-3, 0.50e-3)
"""Tappet lifts [m] up to which a ramp is to be reckoned with, and from which it is not; the share falls
between them."""

SHAPE_DOUBT = {2: 0.31, 3: 0.16}
"""Relative standard uncertainty of peak acceleration by the number of checking lifts (three or more: 0.16),
the card's figures taken as exact."""


def flank_doubt(
    level: ArrayLike, angle: ArrayLike, checking_lifts: ArrayLike, card_angles: ArrayLike
) -> FloatArray:
    """Standard uncertainty of a flank's angle from what the card leaves open [cam rad], shape of `level`.

    Args:
        level: tappet lift [m].
        angle: the synthesised flank's angle from the lobe center there [cam rad], either sign.
        checking_lifts: rising [m], shape [n].
        card_angles: angle from the lobe center at each on this flank [cam rad], either sign, shape [n].

    Zero at the checking lifts themselves. NaN gives NaN.
    """
    wanted, at = np.asarray(level, float), np.abs(np.asarray(angle, float))
    lifts, known = np.asarray(checking_lifts, float), np.abs(np.asarray(card_angles, float))
    ends = np.concatenate([[min((1 + RAMP_SHARE) * known[0], np.pi)], known, [0.0]])
    bracket = np.searchsorted(lifts, wanted)
    room = np.minimum(ends[bracket] - at, at - ends[bracket + 1])
    between = np.interp(wanted, RAMP_ENDS, (SHARE_ON_RAMP, SHARE_BETWEEN))
    share = np.where(bracket == 0, SHARE_BELOW, between)
    return np.asarray(np.where(np.isnan(wanted), np.nan, share * np.maximum(room, 0.0)))


def peak_acceleration_doubt(
    checking_lifts: ArrayLike, durations: ArrayLike, duration_doubt: ArrayLike, lobe_lift: float
) -> tuple[float, float]:
    """Relative standard uncertainty of the synthesised peaks of acceleration: flanks (positive), nose.

    Args:
        checking_lifts, durations, lobe_lift: as `lift_curve_from_card`.
        duration_doubt: standard uncertainty of each duration [cam rad], shape [n]; the profile is synthesised
            again with each moved by it, since lifts close together make rounded degrees matter much.

    A move that leaves no profile counts as a doubt of 1 (the figure then says nothing).
    """
    lifts, widths = np.asarray(checking_lifts, float), np.asarray(durations, float)
    moves = np.broadcast_to(np.asarray(duration_doubt, float), widths.shape)
    base = _peaks(lifts, widths, lobe_lift)
    squares = np.full(2, SHAPE_DOUBT[min(max(lifts.size, 2), 3)] ** 2)
    for index, move in enumerate(moves):
        if not move > 0:
            continue
        sides = []
        for sign in (1, -1):
            moved = widths.copy()
            moved[index] += sign * move
            try:
                sides.append(_peaks(lifts, moved, lobe_lift) / base - 1)
            except ValueError:
                sides.append(np.full(2, 1.0))
        squares = squares + np.max(np.square(sides), axis=0)
    flank, nose = np.sqrt(squares)
    return float(flank), float(nose)


def _peaks(lifts: FloatArray, widths: FloatArray, lobe_lift: float) -> FloatArray:
    curve = lift_curve_from_card(lifts, widths, lobe_lift)
    values = curve.acceleration(curve.fine_grid[0])
    return np.array([float(values.max()), float(values.min())])
