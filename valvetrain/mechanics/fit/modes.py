"""Two answers to one set of readings: their weights, and intervals that hold both.

A pattern on the tip is as wide with the arm square to the stem at 0.3 of the lift as at 0.7; only the order
in which the contact moves differs, which ink does not show. Each answer is taken as normal about its
minimum (Laplace's approximation), weighted by exp(-cost/2)/sqrt(det information).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.solve import Problem, Solution, flag_limit, square_at, squared, steady_solution

__all__ = ["Carried", "WeightedAnswer", "drawn_from", "summarized", "weighted_answers"]

_LEAST_WEIGHT = 1e-3  # of a shaft's second answer against its first
_NEGLIGIBLE = 1e-5  # of a combination
_SOLVED = 3  # shafts with two answers of which every combination is solved for
_MOST = 512  # combinations kept
_NEAR_HALF = 0.15
_BOTH_SIDES = (0.25, 0.75)
_SAME = 0.3  # minima nearer than this, in posterior standard deviations, are one


@dataclass(frozen=True)
class Carried:
    """An output per valve: value and standard uncertainty over all answers, and its interval, shape [n]."""

    value: FloatArray
    uncertainty: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True)
class WeightedAnswer:
    """One combination of the shafts' answers.

    Attributes:
        weight: its probability.
        crossing: for each shaft 0, or 1 where its pads cross the tips the other way than in the first answer.
        state: of the fit.
        solution: whose slopes hold about it: its own, or the first answer's where it was not solved for.
    """

    weight: float
    crossing: tuple[int, ...]
    state: FloatArray
    solution: Solution


def weighted_answers(problem: Problem, first: Solution) -> tuple[WeightedAnswer, ...]:
    """The distinct answers, the most probable first, with their weights (sum 1).

    Each shaft is turned alone; of up to `_SOLVED` shafts with two answers every combination is then solved
    for. Of more the shafts are taken as independent, each moving the rest as it does alone.
    """
    shafts = int(problem.layout.of["height"].max()) + 1
    best, score = first, _score(problem, first)
    turned: dict[int, tuple[Solution, float]] = {}
    improved = True
    while improved:
        improved, turned = False, {}
        for shaft in range(shafts):
            for share in _other_shares(problem, best, shaft):
                other = _turned(problem, best, {shaft: share})
                if _distance(best, other) < _SAME:
                    continue
                its = _score(problem, other)
                if its > score + 1e-9:
                    best, score, improved = other, its, True
                    break
                if shaft not in turned or its > turned[shaft][1]:
                    turned[shaft] = (other, its)
            if improved:
                break
    likely = {shaft: one for shaft, one in turned.items() if one[1] - score > np.log(_LEAST_WEIGHT)}
    none = (0,) * shafts
    found = [(score, none, best.state, best)]
    # The least certain first, so that what is cut off at the end is the least probable.
    order = sorted(likely, key=lambda shaft: -likely[shaft][1])
    for number, shaft in enumerate(order):
        for base in tuple(found):
            crossing = tuple(1 if each == shaft else own for each, own in enumerate(base[1]))
            if base[1] == none:
                other, its = likely[shaft]
            elif len(order) <= _SOLVED:
                shares = {
                    each: float(square_at(problem, likely[each][0].state)[each])
                    for each, way in enumerate(crossing)
                    if way
                }
                other = _turned(problem, best, shares)
                its = _score(problem, other)
            else:
                moved = base[2] + likely[shaft][0].state - best.state
                found.append((base[0] + likely[shaft][1] - score, crossing, moved, best))
                continue
            found.append((its, crossing, other.state, other))
        if number >= _SOLVED:
            found = sorted(found, key=lambda one: -one[0])[:_MOST]
    top = max(one[0] for one in found)
    weights = np.exp(np.array([one[0] for one in found]) - top)
    weights /= weights.sum()
    kept = [int(index) for index in np.argsort(-weights, kind="stable") if weights[index] >= _NEGLIGIBLE]
    whole = float(sum(weights[index] for index in kept))
    return _first_as_zero(
        [WeightedAnswer(float(weights[index]) / whole, *found[index][1:]) for index in kept]
    )


def _first_as_zero(answers: list[WeightedAnswer]) -> tuple[WeightedAnswer, ...]:
    """Crossings told from the most probable answer's."""
    first = answers[0].crossing
    return tuple(
        replace(one, crossing=tuple(int(a != b) for a, b in zip(one.crossing, first, strict=True)))
        for one in answers
    )


def _other_shares(problem: Problem, best: Solution, shaft: int) -> tuple[float, ...]:
    """Shares of the lift, at which the arms are square, to start from for a shaft's other answer.

    Near half lift the pattern is as narrow as it can be whichever way the shaft moves, and a search that
    stands there stays: both sides are tried.
    """
    if problem.full_lift == 0.0:
        return ()
    share = float(square_at(problem, best.state)[shaft])
    return (1.0 - share,) if abs(share - 0.5) > _NEAR_HALF else _BOTH_SIDES


def _turned(problem: Problem, best: Solution, shares: Mapping[int, float]) -> Solution:
    state = best.state
    for shaft, share in shares.items():
        state = squared(problem, state, shaft, share)
    return steady_solution(problem, problem.solved(state, best.trust, "linear"))


def _score(problem: Problem, one: Solution) -> float:
    # A reading set aside costs what just made it so.
    cost = np.sum(one.trust * one.residual**2) + np.sum(one.state**2)
    cost += flag_limit(one.used.size) ** 2 * np.sum(1.0 - one.trust)
    information = (one.slopes.T * one.trust) @ one.slopes + np.eye(one.state.size)
    return -0.5 * float(cost) - 0.5 * float(np.linalg.slogdet(information)[1])


def _distance(one: Solution, other: Solution) -> float:
    away = one.state - other.state
    return float(np.sqrt(np.sum(other.trust * (other.slopes @ away) ** 2) + np.sum(away**2)))


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
    roots: dict[int, FloatArray] = {}
    for mean, covariance, end in zip(means, covariances, ends, strict=True):
        if id(covariance) not in roots:
            values, vectors = np.linalg.eigh(covariance)
            roots[id(covariance)] = vectors * np.sqrt(np.maximum(values, 0.0))
        root = roots[id(covariance)]
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
