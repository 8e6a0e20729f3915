"""Published cases of uncertainty through the toolkit's own way: `computed`, as every study uses it."""

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.uncertainty.distributions import NORMAL
from valvetrain.parts.correlation import Correlation
from valvetrain.setup.setup import Column


def found(function, inputs, together: Correlation | None = None) -> Quantity:
    """The quantity "y" of a function, from name -> (value, standard uncertainty[, distribution])."""
    columns = {}
    for name, (value, uncertainty, *shape) in inputs.items():
        known = together if together is not None and name in together.keys else None
        columns[name] = Column(
            np.array([float(value)]),
            np.array([float(uncertainty)]),
            ("published",),
            known,
            shape[0] if shape else NORMAL,
        )
    return computed(function, columns, {"y": "ratio"})["y"]


def ends(quantity: Quantity) -> tuple[float, float]:
    """The 95 % interval: that of draws, or of first order where it holds."""
    told = quantity.ends(0)
    spread = 1.959964 * float(quantity.uncertainty[0])
    return (
        told if told is not None else (float(quantity.value[0]) - spread, float(quantity.value[0]) + spread)
    )
