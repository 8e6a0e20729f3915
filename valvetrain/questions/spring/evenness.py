"""How far each spring stands from the others of its role."""

from collections.abc import Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["from_middle"]


def from_middle(height: FloatArray, roles: Sequence[str]) -> FloatArray:
    """Height less the median of its role, over the valves that were measured; valves are the last axis."""
    deviation = np.full(height.shape, np.nan)
    names = np.array(roles)
    for role in set(roles):
        own = names == role
        known = height[..., own]
        if np.all(np.isnan(known)):
            continue
        middle = np.nanmedian(known, axis=-1, keepdims=True)
        deviation[..., own] = known - middle
    return deviation
