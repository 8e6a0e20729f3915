"""Two answers to one set of readings: their weights, and intervals that hold both.

A pattern on the tip is as wide with the arm square to the stem at 0.3 of the lift as at 0.7; only the order
in which the contact moves differs, which ink does not show. Each answer is taken as normal about its
minimum (Laplace's approximation), weighted by exp(-cost/2)/sqrt(det information).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.solve import Problem, Solution, flag_limit

__all__ = ["Carried", "drawn_from", "mixed", "mode_weights", "summarized"]

_LEAST_WEIGHT = 1e-3
_SAME = 0.3  # minima nearer than this, in posterior standard deviations, are one


@dataclass(frozen=True)
class Carried:
    """An output per valve: value and standard uncertainty over all answers, and its interval, shape [n]."""

    value: FloatArray
    uncertainty: FloatArray
    low: FloatArray
    high: FloatArray


def mode_weights(problem: Problem, found: Sequence[Solution]) -> tuple[tuple[Solution, ...], FloatArray]:
    """The distinct answers, the most probable first, and their weights (sum 1)."""
    distinct: list[Solution] = []
    for one in found:
        if not any(_distance(one, other) < _SAME for other in distinct):
            distinct.append(one)
    scores = []
    for one in distinct:
        # A reading set aside costs what just made it so.
        cost = np.sum(one.residual[one.used] ** 2) + np.sum(one.state**2)
        cost += flag_limit(one.used.size) ** 2 * np.sum(~one.used)
        information = one.slopes[one.used].T @ one.slopes[one.used] + np.eye(one.state.size)
        scores.append(-0.5 * float(cost) - 0.5 * float(np.linalg.slogdet(information)[1]))
    weights = np.exp(np.array(scores) - max(scores))
    weights /= weights.sum()
    order = [int(index) for index in np.argsort(-weights) if weights[index] >= _LEAST_WEIGHT]
    kept = weights[order]
    return tuple(distinct[index] for index in order), kept / kept.sum()


def _distance(one: Solution, other: Solution) -> float:
    away = one.state - other.state
    return float(np.sqrt(np.sum((other.slopes[other.used] @ away) ** 2) + np.sum(away**2)))


def mixed(values: FloatArray, spreads: FloatArray, weights: FloatArray, probability: float) -> Carried:
    """Mean, deviation and equal-tailed interval of a mixture of normals.

    Args:
        values, spreads: of each answer, shape [answers, n].
        weights: shape [answers], sum 1.
        probability: of the interval.
    """
    from scipy.special import ndtr, ndtri

    mean = weights @ values
    deviation = np.sqrt(weights @ (spreads**2 + (values - mean) ** 2))
    reach = -float(ndtri(1e-9)) * np.maximum(spreads, 1e-300)
    ends = []
    for level in (0.5 - 0.5 * probability, 0.5 + 0.5 * probability):
        low, high = np.min(values - reach, axis=0), np.max(values + reach, axis=0)
        for _ in range(60):  # halvings: to the last bit of any bracket
            middle = 0.5 * (low + high)
            below = weights @ ndtr((middle - values) / np.maximum(spreads, 1e-300)) < level
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        ends.append(0.5 * (low + high))
    return Carried(mean, deviation, ends[0], ends[1])


def drawn_from(
    means: Sequence[FloatArray],
    covariances: Sequence[FloatArray],
    weights: FloatArray,
    samples: int,
    seed: int,
) -> FloatArray:
    """Draws [samples, P] of a mixture of normals, in pairs mirrored at their mean; seeded.

    Each answer has its weight's share of the draws (rounded), one after the other.
    """
    generator = np.random.default_rng(seed)
    ends = np.rint(np.cumsum(weights) / np.sum(weights) * samples).astype(int)
    out = np.empty((samples, means[0].size))
    start = 0
    for mean, covariance, end in zip(means, covariances, ends, strict=True):
        values, vectors = np.linalg.eigh(covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        half = generator.standard_normal(((end - start + 1) // 2, mean.size)) @ root.T
        out[start:end] = mean + np.concatenate([half, -half])[: end - start]
        start = int(end)
    return out


def summarized(draws: FloatArray, probability: float) -> Carried:
    """Mean, deviation and equal-tailed interval of draws [k, n]; NaN draws are left out."""
    tail = 0.5 - 0.5 * probability
    levels = [tail, 1.0 - tail]
    missing = np.isnan(draws)
    if missing.any():
        empty = missing.all(axis=0)
        kept = np.where(empty, 0.0, draws)
        low, high = np.nanquantile(kept, levels, axis=0)
        parts = (np.nanmean(kept, axis=0), np.nanstd(kept, axis=0), low, high)
        return Carried(*(np.where(empty, np.nan, part) for part in parts))
    low, high = np.quantile(draws, levels, axis=0)
    return Carried(draws.mean(axis=0), draws.std(axis=0), low, high)
