"""Wear by Archard's law, used to compare places, never to promise a life.

Depth = k p s/H, with k the coefficient of THIS form (depth per sliding distance times hardness over
pressure). Tables that write V = K F s/(3 H) give a K three times this k: `coefficient_from_third_form`.
Archard (1953) (status: memory). The coefficient is uncertain by an order of magnitude.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import positive

__all__ = ["archard_depth", "coefficient_from_third_form", "lobe_wear_intensity", "relative_wear"]


def archard_depth(
    coefficient: ArrayLike, pressure: ArrayLike, sliding_distance: ArrayLike, hardness: ArrayLike
) -> FloatArray:
    """Depth worn off [m] = k p s/H.

    Args:
        coefficient: k of the form without the 3 [1].
        pressure: mean pressure while sliding [Pa].
        sliding_distance: s [m].
        hardness: H of the softer side [Pa], > 0.

    Raises:
        ValueError: hardness <= 0 or a negative coefficient.
    """
    k, h = np.asarray(coefficient, float), np.asarray(hardness, float)
    positive("hardness", h, "Pa", finite=False)
    if np.any(k < 0):
        raise ValueError("wear coefficient is negative: zero or more is allowed")
    return np.asarray(k * np.asarray(pressure, float) * np.asarray(sliding_distance, float) / h, float)


def coefficient_from_third_form(coefficient: ArrayLike) -> FloatArray:
    """Return k of this module from the K of tables written as V = K F s/(3 H): a third of it."""
    return np.asarray(np.asarray(coefficient, float) / 3, float)


def lobe_wear_intensity(
    line_load: ArrayLike, sliding_speed: ArrayLike, surface_speed: ArrayLike
) -> FloatArray:
    """Pressure times sliding distance of one pass over a spot of the surface [N/m].

    A spot meets the mean pressure (w/2b) while the contact passes over it, for a time 2b/|v|, and slides at
    |vs| meanwhile: the product is w |vs|/|v|, free of the contact's width. Times k/H it is the depth worn
    off per turn. On the tappet face, whose surface speed passes through zero, spinning spreads the wear:
    use this for the lobe.

    Args:
        line_load: load per length w [N/m]; for an ellipse that of its middle, pi b p/2.
        sliding_speed: vs [m/s].
        surface_speed: of the worn surface relative to the contact [m/s]; zero gives NaN.
    """
    speed = np.abs(np.asarray(surface_speed, float))
    sliding = np.abs(np.asarray(sliding_speed, float))
    return np.asarray(np.asarray(line_load, float) * sliding / np.where(speed > 0, speed, np.nan), float)


def relative_wear(intensity: ArrayLike, reference: ArrayLike | None = None) -> FloatArray:
    """Wear around a lobe as a fraction of the greatest [1], angle axis last.

    Args:
        intensity: from `lobe_wear_intensity`, shape [..., angles]; NaN (parted, no contact) is no wear.
        reference: the intensity that counts as 1, shape [...] (for comparing lobes with one another); by
            default the lobe's own greatest.

    Returns:
        0 to 1 by default; all NaN where a lobe has no reading at all or does not wear.
    """
    values = np.asarray(intensity, float)
    filled = np.where(np.isnan(values), 0.0, values)
    scale = np.asarray(filled.max(axis=-1) if reference is None else reference, float)
    unknown = np.isnan(values).all(axis=-1)
    scale = np.where((scale > 0) & ~unknown, scale, np.nan)
    return np.asarray(filled / scale[..., None], float)
