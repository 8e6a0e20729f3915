"""Which valves share a rocker shaft, and which of them stand apart from the rest of their set.

A machinist works relative to the rest of the set: one tip that stands apart is that valve's own fault (seat,
valve length, tip), and no stand shim mends it without spoiling its neighbors.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.setup import Setup

__all__ = ["ShaftGroup", "shaft_groups", "standing_apart"]

# A tip stands apart beyond this, whatever the scatter of the rest: 0.020 in, what the trade allows installed
# heights valve to valve (common practice, no source) [m].
LEAST_APART = 0.020 * 0.0254

# ... and beyond this many robust standard deviations of the rest (our judgment, no source).
MANY_SIGMA = 6.0

# Robust standard deviation over median absolute deviation, for normal scatter (derived).
_SIGMA = 1.4826


@dataclass(frozen=True)
class ShaftGroup:
    """The valves of one shaft, as indices into the setup's valves.

    Attributes:
        name: the shaft's name; empty where the sheet names none.
        members: all its valves.
        deciding: those whose shaft height is known and that stand with the rest: the shim is chosen for them.
        apart: those that stand apart from the rest.
        unknown: those whose height over the tip is not known.
        middle: median shaft height over the deciding valves' tips [m]; NaN where none is known.
    """

    name: str
    members: tuple[int, ...]
    deciding: tuple[int, ...]
    apart: tuple[int, ...]
    unknown: tuple[int, ...]
    middle: float


def standing_apart(heights: FloatArray) -> np.ndarray:
    """Whether each height [m], shape [n], stands apart from the median of the known ones; NaN does not.

    At least three must agree and they must be more than half: of two heights neither stands apart.
    """
    known = np.isfinite(heights)
    if known.sum() < 4:
        return np.zeros(len(heights), bool)
    off = np.abs(heights - np.median(heights[known]))
    limit = max(LEAST_APART, MANY_SIGMA * _SIGMA * float(np.median(off[known])))
    apart = known & (np.where(known, off, 0.0) > limit)
    together = known.sum() - apart.sum()
    if together < 3 or 2 * together <= known.sum():
        return np.zeros(len(heights), bool)
    return np.asarray(apart)


def shaft_groups(setup: Setup, height: FloatArray) -> tuple[ShaftGroup, ...]:
    """Group the valves by shaft, in the engine's order.

    Args:
        setup: the setup.
        height: shaft axis above each valve's own closed tip [m], shape [n].
    """
    names = [train.shaft.name or "" for train in setup.trains]
    groups = []
    for name in dict.fromkeys(names):
        members = np.array([index for index, own in enumerate(names) if own == name])
        own_height = height[members]
        apart = standing_apart(own_height)
        known = np.isfinite(own_height)
        deciding = members[known & ~apart]
        groups.append(
            ShaftGroup(
                name=name,
                members=tuple(map(int, members)),
                deciding=tuple(map(int, deciding)),
                apart=tuple(map(int, members[apart])),
                unknown=tuple(map(int, members[~known])),
                middle=float(np.median(height[deciding])) if len(deciding) else float("nan"),
            )
        )
    return tuple(groups)
