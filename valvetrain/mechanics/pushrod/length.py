"""Length of a pushrod by the trade's four conventions, each carried to the distance between its ball centers.

Common practice, no source: makers state a length between ball centers, over the balls, from ball tip to cup
bottom, or between two rings of a gauge diameter that sit on the balls. The differences reach a tenth of an
inch and more. Geometry of spheres; derived.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import not_negative, positive

__all__ = ["CONVENTIONS", "beyond_centers", "center_distance", "stated_length"]

CONVENTIONS = ("between ball centers", "over the balls", "ball tip to cup bottom", "to gauge diameter")


def beyond_centers(
    convention: str,
    *,
    lower_ball: ArrayLike = np.nan,
    upper_ball: ArrayLike = np.nan,
    gauge: ArrayLike = np.nan,
    oil_hole: ArrayLike = 0.0,
) -> FloatArray:
    """How much longer the stated length is than the distance between the ball centers [m]; may be negative.

    Args:
        convention: one of CONVENTIONS.
        lower_ball, upper_ball: diameters [m]. "ball tip to cup bottom": the upper ball is the one that sits
            in the cup, seated on the cup's bottom.
        gauge: diameter of the gauge's ring [m], smaller than both balls.
        oil_hole: diameter of the hole through a ball's tip [m], which takes the tip away.

    Returns:
        shape broadcast; NaN where a size that the convention needs is NaN.

    Raises:
        ValueError: a convention that is not one, a size that no ball has, a ring or hole not smaller than
            its ball.
    """
    if convention not in CONVENTIONS:
        known = ", ".join(CONVENTIONS)
        raise ValueError(f"'{convention}' is not a length convention; it must be one of {known}.")
    if convention == "between ball centers":
        return np.zeros(np.broadcast_shapes(np.shape(lower_ball), np.shape(upper_ball)))
    low, high = 0.5 * positive("lower ball", lower_ball), 0.5 * positive("upper ball", upper_ball)
    if convention == "to gauge diameter":
        ring = 0.5 * positive("gauge diameter", gauge)
        return _cap(low, ring, "gauge") + _cap(high, ring, "gauge")
    hole = 0.5 * not_negative("oil hole", oil_hole)
    if convention == "over the balls":
        return _cap(low, hole, "oil hole") + _cap(high, hole, "oil hole")
    return _cap(low, hole, "oil hole") - high


def _cap(radius: FloatArray, across: FloatArray, name: str) -> FloatArray:
    """Distance from a ball's center to the plane of a circle of radius `across` on it."""
    if np.any(across >= radius):
        raise ValueError(
            f"the {name} is {2 * np.nanmax(across):g} m across: it must be smaller than its ball "
            f"({2 * np.nanmin(radius):g} m)."
        )
    return np.asarray(np.sqrt((radius - across) * (radius + across)))


def center_distance(stated: ArrayLike, convention: str, **sizes: ArrayLike) -> FloatArray:
    """Distance between ball centers [m] of a pushrod whose stated length [m] follows `convention`.

    `sizes` and errors as in `beyond_centers`.
    """
    return np.asarray(positive("stated length", stated) - beyond_centers(convention, **sizes))


def stated_length(between_centers: ArrayLike, convention: str, **sizes: ArrayLike) -> FloatArray:
    """Stated length [m] by `convention` of a distance between ball centers [m]: the inverse."""
    return np.asarray(positive("center distance", between_centers) + beyond_centers(convention, **sizes))
