"""The one check that nearly every dimension needs: above zero, or unknown (NaN)."""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["not_negative", "positive"]


def positive(name: str, value: ArrayLike) -> FloatArray:
    """Give `value` as a float array, NaN (unknown) kept.

    Raises:
        ValueError: where a value is zero, negative or infinite; the sentence names it.
    """
    array = np.asarray(value, float)
    wrong = ~(np.isnan(array) | ((array > 0) & np.isfinite(array)))
    if np.any(wrong):
        raise ValueError(f"{name} is {array[wrong].flat[0]:g}: it must be a finite number above zero.")
    return array


def not_negative(name: str, value: ArrayLike) -> FloatArray:
    """Give `value` as a float array, NaN (unknown) kept.

    Raises:
        ValueError: where a value is negative; the sentence names it.
    """
    array = np.asarray(value, float)
    wrong = array < 0
    if np.any(wrong):
        raise ValueError(f"{name} is {array[wrong].flat[0]:g}: it must not be below zero.")
    return array
