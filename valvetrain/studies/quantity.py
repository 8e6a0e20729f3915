"""A computed quantity at every valve, with its standard uncertainty and where that comes from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.propagation import propagated
from valvetrain.setup.setup import Column

__all__ = ["Quantity", "computed"]


@dataclass(frozen=True)
class Quantity:
    """One quantity at every valve.

    Attributes:
        dimension: its dimension, as in `valvetrain.setup.units`.
        value: values [SI], shape [n]; NaN where a measurement that it needs is missing.
        uncertainty: standard uncertainties [SI], shape [n]; NaN where the value is.
        contributions: sheet key -> signed contribution of that key's uncertainty [SI], shape [n].
    """

    dimension: str
    value: FloatArray
    uncertainty: FloatArray
    contributions: Mapping[str, FloatArray]


def computed(
    function: Callable[[Mapping[str, FloatArray]], Mapping[str, FloatArray]],
    inputs: Mapping[str, Column],
    dimensions: Mapping[str, str],
) -> dict[str, Quantity]:
    """Evaluate `function` at every valve and carry the sheet's uncertainties through it.

    Args:
        function: takes sheet key -> array [k, n], returns quantity -> array [k, n], rows independent.
        inputs: sheet key -> measured column.
        dimensions: quantity -> its dimension; the quantities returned are these.
    """
    with np.errstate(invalid="ignore"):
        result = propagated(
            function,
            {key: column.value for key, column in inputs.items()},
            {key: column.uncertainty for key, column in inputs.items()},
        )
    return {
        name: Quantity(dimension, result.value[name], result.uncertainty[name], result.contributions[name])
        for name, dimension in dimensions.items()
    }
