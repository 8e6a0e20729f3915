"""First-order propagation of standard uncertainties through any vectorised function.

Each input is moved up and down by its own standard uncertainty while the others stay, which is the
numerical form of the law of propagation: JCGM 100:2008 (GUM), 5.1.2 equation (10) with the sensitivity
of 5.1.3 note 2 (published). All moves of all valves are one call of the function.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["Propagated", "propagated"]

Quantities = Mapping[str, FloatArray]


@dataclass(frozen=True)
class Propagated:
    """Outputs of a function with their standard uncertainties and where these come from.

    Attributes:
        value: output name -> values, shape [n].
        uncertainty: output name -> standard uncertainty, shape [n]; NaN where the value is NaN.
        contributions: output name -> input name -> signed contribution of that input to the output
            (the output's change when the input rises by one standard uncertainty), shape [n].
    """

    value: Mapping[str, FloatArray]
    uncertainty: Mapping[str, FloatArray]
    contributions: Mapping[str, Mapping[str, FloatArray]]


def propagated(
    function: Callable[[Quantities], Quantities], values: Quantities, uncertainties: Quantities
) -> Propagated:
    """Evaluate `function` with the standard uncertainties of its inputs carried to its outputs.

    Args:
        function: takes a mapping of input arrays of shape [k, n] and returns output arrays of shape
            [k, n]; the rows are independent evaluations, the columns valves.
        values: input name -> values, shape [n], any unit; NaN where unknown.
        uncertainties: input name -> standard uncertainty, shape [n], same unit, >= 0. An input left out,
            or with 0 or NaN, is taken as exact.

    Returns:
        the outputs at `values`, uncorrelated inputs assumed. Where a moved input has no solution (NaN on
        one side), the one-sided difference is used; where both fail the uncertainty is infinite.
    """
    names = list(values)
    base = {name: np.atleast_1d(np.asarray(values[name], float)) for name in names}
    size = np.broadcast_shapes(*(array.shape for array in base.values()))
    steps = {
        name: np.broadcast_to(np.nan_to_num(np.asarray(uncertainties[name], float)), size)
        for name in names
        if name in uncertainties
    }
    moved = [name for name in names if name in steps and np.any(steps[name] > 0)]
    rows = {
        name: np.tile(np.broadcast_to(array, size), (1 + 2 * len(moved),) + (1,) * len(size))
        for name, array in base.items()
    }
    for row, name in enumerate(moved):
        rows[name][1 + 2 * row] += steps[name]
        rows[name][2 + 2 * row] -= steps[name]
    outputs = function(rows)
    value: dict[str, FloatArray] = {}
    uncertainty: dict[str, FloatArray] = {}
    contributions: dict[str, Mapping[str, FloatArray]] = {}
    for output, table in outputs.items():
        center = table[0]
        value[output] = center
        # Every moved input at once, shape [moved, n].
        parts = _half_difference(center, table[1::2], table[2::2])
        contributions[output] = dict(zip(moved, parts, strict=True))
        total = np.hypot.reduce(parts, axis=0)
        uncertainty[output] = np.where(np.isnan(center), np.nan, total)
    return Propagated(value, uncertainty, contributions)


def _half_difference(center: FloatArray, up: FloatArray, down: FloatArray) -> FloatArray:
    """Half of up - down; one-sided where one is NaN, infinite where both are and the center is not.

    An output that stays at the same infinity (a spring that never buckles) has not moved: 0.
    """
    with np.errstate(invalid="ignore"):  # infinity less infinity
        difference = np.where(
            np.isnan(up), center - down, np.where(np.isnan(down), up - center, 0.5 * (up - down))
        )
    steady = np.isinf(center) & (np.isnan(up) | (up == center)) & (np.isnan(down) | (down == center))
    difference = np.where(steady & ~(np.isnan(up) & np.isnan(down)), 0.0, difference)
    return np.where(np.isnan(difference) & ~np.isnan(center), np.inf, difference)
