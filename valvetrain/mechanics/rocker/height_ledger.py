"""The stack from cam to valve tip: what each change of height does to the two distances that count.

Two distances: `reach`, from the tappet's lower ball up to the shaft (it moves the adjuster only), and `rise`,
from the valve's tip up to the shaft (it moves the pattern on the tip, and through the rocker's turn the
adjuster too). The adjuster makes up for both; its exposure, read at each valve, therefore tells the sum of
what is not known. First order in the changes, the rocker's own turn through its linkage. Derived.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.rocker.linkage import ClosedPosition

__all__ = ["ITEMS", "ExposureRates", "exposure_rates", "implied_change", "weighted_mean"]

# item -> (share of its growth that goes into reach, into rise, what growing means)
ITEMS: dict[str, tuple[int, int, str]] = {
    "deck": (1, 0, "block deck above the cam; minus what was cut"),
    "gasket": (1, 0, "head gasket's thickness when tight"),
    "head": (1, 0, "head's thickness; minus what was cut off its face"),
    "stand": (1, 1, "rocker stand, and the shim under it"),
    "base_circle": (-1, 0, "radius of the base circle; minus what a regrind took"),
    "tappet": (-1, 0, "tappet, from its face to the pushrod's seat"),
    "seat": (0, 1, "depth of the valve's seat in the head; minus where it was cut deeper"),
    "valve": (0, -1, "valve, from its seat to its tip; minus what was ground off the tip"),
    "lash_cap": (0, -1, "lash cap on the tip"),
}


@dataclass(frozen=True)
class ExposureRates:
    """Change of adjuster exposure per change of height [m/m], shape of the linkage, the lash reset."""

    by_reach: FloatArray
    by_rise: FloatArray


def exposure_rates(closed: ClosedPosition, axis_lean: ArrayLike = 0.0) -> ExposureRates:
    """Rates at a rocker on its base circle with an unchanged pushrod; NaN where the linkage is unknown.

    More reach takes the rocker away from the pushrod: more thread must show. More rise turns the rocker to
    follow the tip down: its pushrod end comes up, and more thread must show as well.
    """
    x, y = closed.socket_x - closed.tappet_x, closed.socket_y - closed.tappet_y
    length = np.hypot(x, y)
    x, y = x / length, y / length
    screw = closed.socket_angle + 0.5 * np.pi - np.asarray(axis_lean, float)
    # Growth of the distance between the balls per exposure: the screw brings the ball nearer, so < 0.
    by_screw = np.cos(screw) * x + np.sin(screw) * y
    # Reach moves the lower ball away along the bore; the bore leans by the tappet's angle.
    by_reach = -np.sin(closed.tappet_angle) * x + np.cos(closed.tappet_angle) * y
    # Rise turns the pad arm down by 1/(arm cos phi); the upper ball follows the socket arm's turn.
    turn = -1.0 / (closed.pad_arm * np.cos(closed.pad_angle))
    ball_x = -np.sin(closed.socket_angle) * closed.socket_arm * turn
    ball_y = np.cos(closed.socket_angle) * closed.socket_arm * turn
    by_rise = ball_x * x + ball_y * y
    return ExposureRates(by_reach=-by_reach / by_screw, by_rise=-by_rise / by_screw)


def implied_change(
    exposure_change: ArrayLike, known_reach: ArrayLike, known_rise: ArrayLike, rates: ExposureRates
) -> FloatArray:
    """Unknown change of reach [m] that, with the known ones [m], gives the exposure change found [m].

    An unknown change of rise shows in it as `by_rise/by_reach` of itself: the adjuster alone cannot tell the
    two apart, the pattern on the tip or the stem height can.
    """
    found = np.asarray(exposure_change, float)
    known = np.asarray(known_reach, float) * rates.by_reach + np.asarray(known_rise, float) * rates.by_rise
    return np.asarray((found - known) / rates.by_reach)


def weighted_mean(values: ArrayLike, uncertainties: ArrayLike) -> tuple[float, float, float]:
    """Mean weighted by 1/u^2, its standard uncertainty, and chi-square per degree of freedom.

    Unknown values are left out; NaN where nothing is known; chi-square NaN for a single value. A value
    without uncertainty takes the mean of the others'.
    """
    each, spread = np.asarray(values, float), np.asarray(uncertainties, float)
    known = np.isfinite(each) & np.isfinite(spread)
    if not known.any():
        return float("nan"), float("nan"), float("nan")
    each, spread = each[known], spread[known]
    usual = spread[spread > 0].mean() if (spread > 0).any() else 1.0
    weight = 1.0 / np.where(spread > 0, spread, usual) ** 2
    mean = float((weight * each).sum() / weight.sum())
    doubt = float(weight.sum() ** -0.5) if (spread > 0).any() else 0.0
    free = len(each) - 1
    scatter = float((weight * (each - mean) ** 2).sum() / free) if free else float("nan")
    return mean, doubt, scatter
