"""Clear errors for inputs that cannot be; NaN (unknown) always passes."""

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["first_marked", "must_be_positive", "must_not_be_negative"]


def must_be_positive(name: str, values: FloatArray, unit: str) -> None:
    """Raise ValueError naming the first value that is zero or negative."""
    if np.any(values <= 0):
        raise ValueError(
            f"{name} is {first_marked(values, values <= 0):g} {unit}: it must be greater than zero"
        )


def must_not_be_negative(name: str, values: FloatArray, unit: str) -> None:
    """Raise ValueError naming the first value that is negative."""
    if np.any(values < 0):
        found = first_marked(values, values < 0)
        raise ValueError(f"{name} is {found:g} {unit}: it must not be negative")


def first_marked(values: FloatArray, marked: BoolArray) -> float:
    """Return the first of the values that is marked."""
    return float(np.atleast_1d(values)[np.atleast_1d(marked)][0])
