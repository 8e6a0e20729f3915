"""Refusal of lengths that no part can have, in one sentence; NaN is unknown and passes."""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["floats", "not_negative", "positive", "with_angle_axis"]


def floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    """Return each value as an array of floats, shapes unchanged."""
    return tuple(np.asarray(value, float) for value in values)


def positive(name: str, value: ArrayLike) -> FloatArray:
    """Return `value` as an array of floats.

    Raises:
        ValueError: where a value is zero, negative or infinite. NaN (unknown) passes.
    """
    array = np.asarray(value, float)
    wrong = (array <= 0) | np.isinf(array)
    if wrong.any():
        raise ValueError(f"{name} is {array[wrong].flat[0]:g}: it must be finite and greater than zero.")
    return array


def not_negative(name: str, value: ArrayLike) -> FloatArray:
    """Return `value` as an array of floats.

    Raises:
        ValueError: where a value is negative or infinite. NaN (unknown) passes.
    """
    array = np.asarray(value, float)
    wrong = (array < 0) | np.isinf(array)
    if wrong.any():
        raise ValueError(f"{name} is {array[wrong].flat[0]:g}: it must be finite and not negative.")
    return array


def with_angle_axis(value: ArrayLike) -> FloatArray:
    """Geometry of shape [...] -> [..., 1], ready to meet arrays whose last axis is the angle."""
    return np.asarray(value, float)[..., np.newaxis]
