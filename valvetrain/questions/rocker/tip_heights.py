"""How far each valve's tip stands off the middle of its role: a machinist works relative to the set."""

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.setup.setup import Setup

__all__ = ["role_middle", "tip_heights"]

# A middle of fewer stem heights says nothing.
_LEAST_KNOWN = 4


def role_middle(setup: Setup, role: str) -> float:
    """Median stem height of a role [m]; NaN where fewer than four of it were measured."""
    heights = setup.column("valve", "stem_height").value[np.array(setup.roles) == role]
    known = heights[np.isfinite(heights)]
    return float(np.median(known)) if known.size >= _LEAST_KNOWN else np.nan


def tip_heights(setup: Setup) -> Quantity:
    """Stem height less the middle of its role [m], shape [n], positive above; the middle counts as exact."""
    column = setup.column("valve", "stem_height")
    middle = np.array([role_middle(setup, role) for role in setup.roles])
    off = column.value - middle
    doubt = np.where(np.isnan(off), np.nan, column.uncertainty)
    return Quantity("length", off, doubt, {"valve.stem_height": np.nan_to_num(doubt)})
