"""Refusal of inputs that no part can have, in one sentence; NaN is unknown and passes."""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray

__all__ = ["first_marked", "floats", "not_negative", "positive", "with_angle_axis"]


def floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    """Return each value as an array of floats, shapes unchanged."""
    return tuple(np.asarray(value, float) for value in values)


def positive(name: str, value: ArrayLike, unit: str = "", *, finite: bool = True) -> FloatArray:
    """Return `value` as an array of floats.

    Args:
        name: what it is, for the sentence.
        value: any unit, any shape.
        unit: of the value, for the sentence.
        finite: False where an unlimited value may be.

    Raises:
        ValueError: where a value is zero or negative, or infinite if it must be finite. NaN (unknown) passes.
    """
    array = np.asarray(value, float)
    return _refused(name, array, unit, array <= 0, "greater than zero", finite)


def not_negative(name: str, value: ArrayLike, unit: str = "", *, finite: bool = True) -> FloatArray:
    """Return `value` as an array of floats; as `positive`, but zero may be."""
    array = np.asarray(value, float)
    return _refused(name, array, unit, array < 0, "not negative", finite)


def _refused(
    name: str, array: FloatArray, unit: str, wrong: BoolArray, wanted: str, finite: bool
) -> FloatArray:
    if finite:
        wrong, wanted = wrong | np.isinf(array), f"finite and {wanted}"
    if np.any(wrong):
        found = f"{first_marked(array, wrong):g} {unit}".rstrip()
        raise ValueError(f"{name} is {found}: it must be {wanted}")
    return array


def first_marked(values: FloatArray, marked: BoolArray) -> float:
    """Return the first of the values that is marked."""
    return float(np.atleast_1d(values)[np.atleast_1d(marked)][0])


def with_angle_axis(value: ArrayLike) -> FloatArray:
    """Geometry of shape [...] -> [..., 1], ready to meet arrays whose last axis is the angle."""
    return np.asarray(value, float)[..., np.newaxis]
