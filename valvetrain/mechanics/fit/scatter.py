"""Whether the readings of an instrument scatter more among themselves than was taken for it.

The ratio is a trimmed root mean square of the residuals, each by its own expected deviation: readings beyond
three of them are left out and the rest corrected for that. Ordinary statistics; no publication followed.
"""

from collections.abc import Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.solve import Problem, spread_of

__all__ = ["found_scatter"]

_FEWEST = 6.0  # independent readings below which a scatter says nothing
_TRIM = 3.0
_KEPT = 0.973**0.5  # root mean square of a normal cut off at three deviations
_SURE = 2.0  # standard deviations by which the scatter must be above what was taken
_ROUNDS = 6


def found_scatter(problem: Problem, state: FloatArray, alike: Sequence[str]) -> dict[str, float]:
    """Instrument -> ratio of the scatter found to that taken, where it is clearly above 1.

    Args:
        problem: of the readings, m of them.
        state: that explains them, found robustly.
        alike: for each reading the instrument whose scatter was taken and not stated, "" for others; empty
            where none was.
    """
    names = np.array(alike)
    if names.size == 0 or not np.any(names != ""):
        return {}
    residual, slopes = problem.residuals(state), problem.slopes(state)
    _, variance = spread_of(slopes, np.abs(residual) < _TRIM * 2.0)
    left = np.maximum(1.0 - variance, 1e-3)
    found = {}
    for name in np.unique(names[names != ""]):
        own, room = residual[names == name], left[names == name]
        size = np.abs(own) / np.sqrt(room)
        ratio = float(np.median(size)) / 0.6745
        count = 0.0
        for _ in range(_ROUNDS):
            kept = size < _TRIM * max(ratio, 1e-9)
            count = float(np.sum(room[kept]))
            ratio = float(np.sqrt(np.sum(own[kept] ** 2) / max(count, 1e-9))) / _KEPT
        if count >= _FEWEST and ratio > 1.0 + _SURE / np.sqrt(2.0 * count):
            found[str(name)] = ratio
    return found
