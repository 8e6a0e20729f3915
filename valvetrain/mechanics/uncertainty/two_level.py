"""What unsure inputs do to a result that jumps: two-level runs in which all of them are moved at once.

Moved one at a time, an input's effect is the difference of two runs, and a result that jumps (contacts that
graze) puts its whole jump into it. In orthogonal two-level runs every input stands half the time at its upper
level and half at its lower one, so that each effect is a mean over all runs, and jumps average out.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import hadamard

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["TwoLevelEffects", "two_level_effects", "two_level_runs"]


@dataclass(frozen=True)
class TwoLevelEffects:
    """Effects from two-level runs, in the result's unit.

    Attributes:
        mean: of all runs, [...].
        effects: change of the result as an input goes from the middle to its upper level, [..., inputs].
        scatter: standard deviation of what the sum of the effects leaves, [...]: jumps, and what inputs do
            only together.
    """

    mean: FloatArray
    effects: FloatArray
    scatter: FloatArray


def two_level_runs(inputs: int, runs: int = 16) -> FloatArray:
    """Orthogonal signs of so many inputs, every column with as many of either.

    The columns of a Hadamard matrix without its first: R. L. Plackett and J. P. Burman, "The design of
    optimum multifactorial experiments", Biometrika 33 (1946) 305-325 (memory).

    Args:
        inputs: 1 to runs - 2, so that something is left to tell the scatter by.
        runs: a power of two.

    Returns:
        +1 and -1, [runs, inputs].

    Raises:
        ValueError: more inputs than the runs can part.
    """
    if not 1 <= inputs <= runs - 2:
        raise ValueError(f"{inputs} inputs in {runs} runs; there must be 1 to {runs - 2}.")
    return np.asarray(hadamard(runs)[:, 1 : inputs + 1], float)


def two_level_effects(signs: FloatArray, results: FloatArray) -> TwoLevelEffects:
    """Find the effects.

    Args:
        signs: from `two_level_runs`, [runs, inputs].
        results: [..., runs]; NaN makes its row NaN.
    """
    runs, inputs = signs.shape
    mean = results.mean(axis=-1)
    effects = results @ signs / runs
    left = results - mean[..., np.newaxis] - effects @ signs.T
    scatter = np.sqrt((left**2).sum(axis=-1) / (runs - 1 - inputs))
    return TwoLevelEffects(mean, effects, scatter)
