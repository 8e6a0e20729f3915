"""The linkage that explains a shop's readings best, how sure each part of it is, and what does not fit.

Maximum a posteriori: the sum of squares of (reading - prediction)/uncertainty and (parameter - prior)/
deviation. All shafts are fitted together: their castings are shared. Where the readings of a shaft leave two
answers (see `linkage_fit_modes`) both are kept with their weights.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.layout import Columns, Layout, Priors
from valvetrain.mechanics.fit.modes import (
    Carried,
    WeightedAnswer,
    drawn_from,
    summarized,
    weighted_answers,
)
from valvetrain.mechanics.fit.readings import Readings, reading_faults
from valvetrain.mechanics.fit.scatter import found_scatter
from valvetrain.mechanics.fit.slips import likely_slip
from valvetrain.mechanics.fit.solve import Problem, off_half_lift, spread_of, steady_solution
from valvetrain.mechanics.fit.weak import WeakCombination, weak_combinations

__all__ = ["FlaggedReading", "LinkageFit", "Mode", "fitted"]


@dataclass(frozen=True)
class Mode:
    """One answer that explains the readings.

    Attributes:
        weight: its probability among the answers, 0 to 1.
        mean: most probable parameters, shape [P].
        covariance: of the parameters about it, shape [P, P]; zero for fixed ones.
        crossing: for each shaft 0, or 1 where its pads cross the tips the other way than in the first answer.
    """

    weight: float
    mean: FloatArray
    covariance: FloatArray
    crossing: tuple[int, ...] = (0,)


@dataclass(frozen=True)
class FlaggedReading:
    """A reading set aside.

    Attributes:
        index: in the readings given.
        standardized: (reading - prediction from the others)/its standard uncertainty.
        predicted: what the others say it should be.
        slip: the likely cause in words, or None where nothing common explains it.
    """

    index: int
    standardized: float
    predicted: float
    slip: str | None


@dataclass(frozen=True)
class LinkageFit:
    """The fitted linkage; P parameters (see `Layout`), m readings.

    Attributes:
        layout: where each parameter stands.
        modes: the answers, the most probable first; one, or for each shaft whose readings cannot tell two.
        predicted, predicted_uncertainty: what the first answer reads, and how sure that is, shape [m].
        residual: reading - predicted, shape [m].
        used: False for the readings set aside, shape [m].
        redundancy: 0 to 1, shape [m]: share of a reading that the others and the priors check; a gross
            error in a reading near 0 cannot be seen.
        flagged: the readings set aside, the worst first.
        slopes: derivatives of the readings used by the free parameters, in units of the readings'
            uncertainties and the priors' deviations, shape [m used, free].
        scatter: instrument (see `Readings.alike`) -> how many times as much as taken its readings scatter,
            where that is clearly more; their uncertainties were taken so.
    """

    layout: Layout
    modes: tuple[Mode, ...]
    predicted: FloatArray
    predicted_uncertainty: FloatArray
    residual: FloatArray
    used: BoolArray
    redundancy: FloatArray
    flagged: tuple[FlaggedReading, ...]
    slopes: FloatArray
    scatter: Mapping[str, float]

    @cached_property
    def weak(self) -> tuple[WeakCombination, ...]:
        """Combinations of parameters that the readings do not determine."""
        return weak_combinations(self.slopes, self.layout)

    @property
    def mean(self) -> FloatArray:
        """Most probable parameters, shape [P]."""
        return self.modes[0].mean

    @property
    def covariance(self) -> FloatArray:
        """Mean square about `mean`, shape [P, P]; a second answer counts with its weight and distance."""
        total = np.zeros_like(self.modes[0].covariance)
        for mode in self.modes:
            away = mode.mean - self.mean
            total += mode.weight * (mode.covariance + np.outer(away, away))
        return total

    def value(self, name: str) -> FloatArray:
        """Fitted value: shape [1] for a shared parameter, [n] for a per-valve one."""
        return self.mean[self.layout.place(name)]

    def uncertainty(self, name: str) -> FloatArray:
        """Standard uncertainty, shaped as `value`."""
        return np.sqrt(np.diag(self.covariance)[self.layout.place(name)])

    def sampled(
        self,
        function: Callable[[Columns], Mapping[str, FloatArray]],
        *,
        probability: float = 0.95,
        samples: int = 4000,
        seed: int = 0,
    ) -> dict[str, Carried]:
        """Outputs of a per-valve function of the parameters, with uncertainty and interval, from draws.

        `function` takes parameter columns ([k, 1] or [k, n]) and returns [k, n], each valve from its own
        column. Right also where an output bends, as the sweep's width does near its least:
        there it cannot fall, whichever way the shaft moves. Draws that cannot be assembled are left out.
        """
        table = function(self.layout.columns(self.drawn(samples, seed)))
        return {name: summarized(draws, probability) for name, draws in table.items()}

    def drawn(self, samples: int, seed: int) -> FloatArray:
        """Parameter vectors [samples, P] from the answers, for a Monte Carlo that keeps correlations.

        NaN throughout where a draw has a pad radius or an arm below zero.
        """
        weights = np.array([mode.weight for mode in self.modes])
        vectors = drawn_from(
            [mode.mean for mode in self.modes],
            [mode.covariance for mode in self.modes],
            weights,
            samples,
            seed,
        )
        columns = self.layout.columns(vectors)
        sizes = [columns[name] for name in ("pad_arm", "socket_arm", "pad_radius")]
        lost = np.any([(one <= 0.0).any(axis=1) for one in sizes], axis=0)
        return np.where(lost[:, np.newaxis], np.nan, vectors)

    def answers_of(self, shaft: int) -> tuple["LinkageFit", ...]:
        """This fit if one or the other answer of one shaft holds, the most probable first."""
        found = []
        for way in (0, 1):
            modes = [mode for mode in self.modes if mode.crossing[shaft] == way]
            whole = sum(mode.weight for mode in modes)
            if modes:
                kept = tuple(replace(mode, weight=mode.weight / whole) for mode in modes)
                found.append((whole, replace(self, modes=kept)))
        found.sort(key=lambda one: -one[0])
        return tuple(fit for _, fit in found)

    def weight_of(self, shaft: int) -> tuple[float, ...]:
        """Probabilities of the answers of one shaft, the most probable first."""
        ways = [sum(mode.weight for mode in self.modes if mode.crossing[shaft] == way) for way in (0, 1)]
        return tuple(sorted((one for one in ways if one > 0.0), reverse=True))


def fitted(readings: Readings, priors: Priors) -> LinkageFit:
    """Fit the linkage to the readings.

    Raises:
        ValueError: a reading that cannot be meant so (all are listed), no reading at all, a prior missing,
            a linkage that cannot be assembled at the priors' means, or readings of which more than a
            third contradict the rest.
    """
    layout = Layout(priors)
    if not readings.kind:
        raise ValueError("there are no readings to fit")
    faults = reading_faults(readings, priors.valves)
    if faults:
        raise ValueError("; ".join(f"reading {index + 1}: {sentence}" for index, sentence in faults))
    problem = Problem(readings, layout)
    start = np.zeros(int(layout.free.sum()))
    if not np.all(np.isfinite(problem.residuals(start))):
        raise ValueError("the linkage cannot be assembled at the priors' means: check these and their units")
    rough = problem.solved(problem.solved(off_half_lift(problem, start), None, "soft_l1"), None, "cauchy")
    scatter = found_scatter(problem, rough, readings.alike)
    if scatter:
        factor = np.array([scatter.get(name, 1.0) for name in readings.alike])
        readings = replace(readings, uncertainty=readings.uncertainty * factor)
        problem = Problem(readings, layout)
        rough = problem.solved(rough, None, "cauchy")
    answers = weighted_answers(problem, steady_solution(problem, rough))
    best = answers[0].solution
    aside = int((~best.used).sum())
    if aside > max(1, best.used.size // 3):
        raise ValueError(
            f"{aside} of {best.used.size} readings contradict the rest: check units, valve names and columns"
        )
    return _described(problem, answers, readings, scatter)


def _described(
    problem: Problem, answers: Sequence[WeightedAnswer], readings: Readings, scatter: Mapping[str, float]
) -> LinkageFit:
    layout = problem.layout
    modes = []
    covariances: dict[int, FloatArray] = {}
    for answer in answers:
        if id(answer.solution) not in covariances:
            spread, _ = spread_of(answer.solution.slopes, answer.solution.trust)
            covariance = np.zeros((layout.mean.size, layout.mean.size))
            covariance[np.ix_(layout.free, layout.free)] = layout.factor @ spread @ layout.factor.T
            covariances[id(answer.solution)] = covariance
        modes.append(
            Mode(
                answer.weight,
                problem.vector(answer.state),
                covariances[id(answer.solution)],
                answer.crossing,
            )
        )
    best = answers[0].solution
    _, variance = spread_of(best.slopes, best.trust)
    predicted = best.residual * problem.spread + problem.value
    uncertainty = np.sqrt(variance) * problem.spread
    order = sorted(np.flatnonzero(~best.used), key=lambda index: -abs(float(best.standardized[index])))
    flagged = []
    for index in order:
        own = float(np.hypot(uncertainty[index], problem.spread[index]))
        slip = likely_slip(int(index), readings, problem.model, modes[0].mean, own)
        flagged.append(
            FlaggedReading(int(index), float(best.standardized[index]), float(predicted[index]), slip)
        )
    return LinkageFit(
        layout=layout,
        modes=tuple(modes),
        predicted=predicted,
        predicted_uncertainty=uncertainty,
        residual=problem.value - predicted,
        used=best.used,
        redundancy=np.where(best.used, np.clip(1.0 - variance, 0.0, 1.0), 1.0),
        flagged=tuple(flagged),
        slopes=best.slopes[best.used] * np.sqrt(best.trust[best.used])[:, np.newaxis],
        scatter=dict(scatter),
    )
