"""Tolerance stack-up: of a plain chain of lengths, and of every offset and end clearance on a shaft.

Worst case adds the tolerances, root-sum-square adds their squares: J. E. Shigley et al., *Mechanical
Engineering Design*, section on dimensions and tolerances (memory); for standard uncertainties the
root-sum-square is the law of propagation, JCGM 100, 5.1.2 equation (10).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.row.shaft import Part, Rocker, Shim, Spacer, Spring, Stand, placed

__all__ = ["RowTolerance", "StackUp", "row_tolerance", "stack_up"]

_STEP = 1e-6


@dataclass(frozen=True)
class StackUp:
    """A closing length and its tolerance [same unit as given], shape [...]."""

    nominal: FloatArray
    worst_case: FloatArray
    root_sum_square: FloatArray


@dataclass(frozen=True)
class RowTolerance:
    """Spread of every rocker's offset and end clearance [m], front to rear, shape [rocker].

    `*_worst` is reached when every part is at its limit the wrong way; `*_rss` is the root-sum-square.
    """

    valves: tuple[str, ...]
    offset_worst: FloatArray
    offset_rss: FloatArray
    clearance_worst: FloatArray
    clearance_rss: FloatArray


def stack_up(signs: ArrayLike, lengths: ArrayLike, tolerances: ArrayLike) -> StackUp:
    """Closing length of a chain: sum of signs x lengths (last axis), with its +- tolerance.

    Args:
        signs: +1 where a longer part opens the closing length, -1 where it closes it (or any sensitivity).
        lengths, tolerances: shape [..., part], one unit; tolerances >= 0 either way.

    NaN in, NaN out. Raises ValueError for a negative tolerance.
    """
    factor, length, tolerance = (np.asarray(v, float) for v in (signs, lengths, tolerances))
    if np.any(tolerance < 0):
        raise ValueError(f"tolerances are {tolerances!r}; none may be negative")
    part = np.abs(factor * tolerance)
    return StackUp(
        np.asarray(np.sum(factor * length, axis=-1)),
        np.asarray(np.sum(part, axis=-1)),
        np.asarray(np.sqrt(np.sum(part**2, axis=-1))),
    )


def row_tolerance(row: Sequence[Part], tolerances: Sequence[float]) -> RowTolerance:
    """Spread of offsets and end clearances from one tolerance [m] a part, in the order of the row.

    The tolerance belongs to a stand's position, a rocker's hub width (pad position and stem held), a shim's
    thickness, a spacer's length or a spring's free length. The forward model is linear as long as springs
    stay pressed, so that a small step gives the sensitivities. Raises ValueError for a count that differs.
    """
    if len(row) != len(tolerances):
        raise ValueError(f"{len(tolerances)} tolerances for {len(row)} parts; give one a part")
    base = placed(tuple(row)).rockers
    now = np.array([(rocker.offset, rocker.end_clearance) for rocker in base]).reshape(-1, 2)
    slopes = np.zeros((len(base), 2, len(row)))
    for index, part in enumerate(row):
        if tolerances[index] == 0:
            continue
        moved = placed((*row[:index], _longer(part), *row[index + 1 :])).rockers
        slopes[:, :, index] = (
            np.array([(r.offset, r.end_clearance) for r in moved]).reshape(-1, 2) - now
        ) / _STEP
    spread = stack_up(slopes, np.zeros(len(row)), np.asarray(tolerances, float))
    return RowTolerance(
        tuple(rocker.valve for rocker in base),
        spread.worst_case[:, 0],
        spread.root_sum_square[:, 0],
        spread.worst_case[:, 1],
        spread.root_sum_square[:, 1],
    )


def _longer(part: Part) -> Part:
    if isinstance(part, Stand):
        return replace(part, position=part.position + _STEP)
    if isinstance(part, Rocker):
        return replace(part, hub_width=part.hub_width + _STEP)
    if isinstance(part, Shim):
        return replace(part, thickness=part.thickness + _STEP)
    if isinstance(part, Spacer):
        return replace(part, width=part.width + _STEP)
    assert isinstance(part, Spring)
    return replace(part, free_length=part.free_length + _STEP)
