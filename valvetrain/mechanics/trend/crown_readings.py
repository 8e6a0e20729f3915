"""Crown of a tappet face and taper of a lobe from a straightedge with feelers, or a dial.

Closed forms (derived): the sagitta of a circle.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = ["crown_radius_from_gaps", "crown_radius_from_sagitta", "crown_sagitta", "lobe_taper"]


def crown_radius_from_sagitta(sagitta: ArrayLike, span: ArrayLike) -> FloatArray:
    """Radius of a face from its rise over a span: R = span^2/(8 h) + h/2 [m].

    Args:
        sagitta: h, middle above the line through the two ends of the span [m]; negative: hollow; 0: flat.
        span: distance between the two ends, across the middle [m], > 0.

    Returns:
        radius [m]; negative for a hollow face, inf for a flat one.

    Raises:
        ValueError: a span <= 0, or a sagitta beyond half the span.
    """
    rise, chord = np.asarray(sagitta, float), np.asarray(span, float)
    positive("span", chord, "m", finite=False)
    if np.any(2 * np.abs(rise) > chord):
        raise ValueError("the crown's rise is more than half the span: are the two mixed up?")
    with np.errstate(divide="ignore"):
        return np.asarray(
            np.where(rise == 0, np.inf, chord**2 / (8 * np.where(rise == 0, 1, rise)) + rise / 2)
        )


def crown_sagitta(radius: ArrayLike, span: ArrayLike) -> FloatArray:
    """Rise of a face's middle over a span [m], the reverse of `crown_radius_from_sagitta`.

    Raises:
        ValueError: a span <= 0, a radius of 0, or a span beyond twice the radius.
    """
    size, chord = np.asarray(radius, float), np.asarray(span, float)
    positive("span", chord, "m", finite=False)
    if np.any(np.abs(size) < chord / 2):
        raise ValueError("crown radius is less than half the span")
    # R - sqrt(R^2 - c^2/4) without the loss of digits of the difference.
    quarter = chord**2 / 4
    return np.asarray(np.sign(size) * quarter / (np.abs(size) + np.sqrt(size**2 - quarter)), float)


def crown_radius_from_gaps(gap_1: ArrayLike, gap_2: ArrayLike, span: ArrayLike) -> FloatArray:
    """Radius from a straightedge that rocks on a crown: feeler gaps under it at the two ends of the span.

    The straightedge touches the crown somewhere; the mean of the two gaps is the sagitta if it touches near
    the middle, which rocking it until both gaps are alike makes sure of.

    Args:
        gap_1, gap_2: gaps at both ends [m], >= 0 (a hollow face shows none: measure its middle).
        span: between the two feelers [m], > 0.

    Raises:
        ValueError: a negative gap or a span <= 0.
    """
    first, second = np.asarray(gap_1, float), np.asarray(gap_2, float)
    if np.any(first < 0) or np.any(second < 0):
        raise ValueError(
            "a gap under the straightedge is negative: for a hollow face give the sagitta instead"
        )
    return crown_radius_from_sagitta(0.5 * (first + second), span)


def lobe_taper(front_reading: ArrayLike, rear_reading: ArrayLike, distance: ArrayLike) -> FloatArray:
    """Taper of a lobe [rad] from dial readings near both edges on the base circle.

    Args:
        front_reading, rear_reading: rise of the surface [m]; positive out from the cam's axis.
        distance: between the two along the camshaft [m], > 0.

    Returns:
        positive where the rear side is the larger.

    Raises:
        ValueError: a distance <= 0.
    """
    apart = np.asarray(distance, float)
    positive("distance between the readings", apart, "m", finite=False)
    return np.asarray(np.arctan2(np.asarray(rear_reading, float) - np.asarray(front_reading, float), apart))
