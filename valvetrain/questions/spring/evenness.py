"""How far each spring stands from the others of its role, and which a plan of shims would set too low."""

from collections.abc import Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["from_middle", "least_even_height"]


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


def least_even_height(
    height: FloatArray, lowered: FloatArray, roles: Sequence[str], lowest: float
) -> FloatArray:
    """Return the least height allowed where a plan sets a spring too low among the others of its role [m].

    A spring that is lowered below that, and farther than it stands from the others now, is short of load for
    another reason than its height: it is another spring that is wanted, and not more shims.

    Args:
        height: installed heights now [m], shape [n].
        lowered: by how much the plan lowers each [m], shape [n].
        roles: of the valves.
        lowest: least height against the middle of the role [m], negative.

    Returns:
        heights [m], shape [n]; -infinite where the plan is as even as is asked.
    """
    planned = height - lowered
    now, then = from_middle(height, roles), from_middle(planned, roles)
    with np.errstate(invalid="ignore"):
        uneven = (lowered > 0) & (then < lowest) & (then < now)
    return np.where(uneven, planned - then + lowest, -np.inf)
