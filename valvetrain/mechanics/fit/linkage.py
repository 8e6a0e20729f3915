"""The linkage that explains a shop's readings best, how sure each part of it is, and what does not fit.

Maximum a posteriori: the sum of squares of (reading - prediction)/uncertainty and (parameter - prior)/
deviation. Where the readings leave two answers (see `linkage_fit_modes`) both are kept with their weights.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.model import Columns, output_slopes
from valvetrain.mechanics.fit.modes import Carried, drawn_from, mixed, mode_weights, summarized
from valvetrain.mechanics.fit.readings import Layout, Priors, Readings, reading_faults
from valvetrain.mechanics.fit.slips import likely_slip
from valvetrain.mechanics.fit.solve import Problem, Solution, mirrored, spread_of, steady_solution
from valvetrain.mechanics.fit.weak import WeakCombination, weak_combinations

__all__ = ["FlaggedReading", "LinkageFit", "Mode", "fitted"]


@dataclass(frozen=True)
class Mode:
    """One answer that explains the readings.

    Attributes:
        weight: its probability among the answers, 0 to 1.
        mean: most probable parameters, shape [P].
        covariance: of the parameters about it, shape [P, P]; zero for fixed ones.
    """

    weight: float
    mean: FloatArray
    covariance: FloatArray


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
        modes: the answers, the most probable first; one, or two where the readings cannot tell.
        predicted, predicted_uncertainty: what the first answer reads, and how sure that is, shape [m].
        residual: reading - predicted, shape [m].
        used: False for the readings set aside, shape [m].
        redundancy: 0 to 1, shape [m]: share of a reading that the others and the priors check; a gross
            error in a reading near 0 cannot be seen.
        flagged: the readings set aside, the worst first.
        slopes: derivatives of the readings used by the free parameters, in units of the readings'
            uncertainties and the priors' deviations, shape [m used, free].
        ambiguity: what a second answer means and how to decide, in words; None where there is one answer.
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
    ambiguity: str | None

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

    def carried(
        self, function: Callable[[Columns], Mapping[str, FloatArray]], probability: float = 0.95
    ) -> dict[str, Carried]:
        """Outputs of a per-valve function of the parameters, with uncertainty and interval.

        `function` takes parameter columns (shared [k, 1], per-valve [k, n]) and returns [k, n], each valve
        from its own column. First order inside each answer, correlations included.
        """
        tables = [output_slopes(function, self.layout, mode.mean) for mode in self.modes]
        weights = np.array([mode.weight for mode in self.modes])
        found = {}
        for name in tables[0]:
            values = np.stack([table[name][0] for table in tables])
            spreads = np.stack(
                [
                    np.sqrt(np.einsum("vp,pq,vq->v", table[name][1], mode.covariance, table[name][1]))
                    for table, mode in zip(tables, self.modes, strict=True)
                ]
            )
            found[name] = mixed(values, spreads, weights, probability)
        return found

    def sampled(
        self,
        function: Callable[[Columns], Mapping[str, FloatArray]],
        *,
        probability: float = 0.95,
        samples: int = 4000,
        seed: int = 0,
    ) -> dict[str, Carried]:
        """As `carried`, but from draws of the parameters: right also where an output bends.

        The sweep's width does so near its least: there it cannot fall, whichever way the shaft moves. Draws
        that cannot be assembled are left out.
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
        sizes = [self.layout.place(name).start for name in ("pad_arm", "socket_arm", "pad_radius")]
        return np.where((vectors[:, sizes] < 0.0).any(axis=1, keepdims=True), np.nan, vectors)


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
    rough = problem.solved(start, None, "soft_l1")
    first = steady_solution(problem, problem.solved(rough, None, "cauchy"))
    other = problem.solved(mirrored(problem, first.state), first.used, "linear")
    answers, weights = mode_weights(problem, (first, steady_solution(problem, other)))
    best = answers[0]
    aside = int((~best.used).sum())
    if aside > max(1, best.used.size // 3):
        raise ValueError(
            f"{aside} of {best.used.size} readings contradict the rest: check units, valve names and columns"
        )
    return _described(problem, answers, weights, readings)


def _described(
    problem: Problem, answers: tuple[Solution, ...], weights: FloatArray, readings: Readings
) -> LinkageFit:
    layout = problem.layout
    modes = []
    for answer, weight in zip(answers, weights, strict=True):
        spread, _ = spread_of(answer.slopes, answer.used)
        covariance = np.zeros((layout.mean.size, layout.mean.size))
        covariance[np.ix_(layout.free, layout.free)] = layout.factor @ spread @ layout.factor.T
        modes.append(Mode(float(weight), problem.vector(answer.state), covariance))
    best = answers[0]
    _, variance = spread_of(best.slopes, best.used)
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
        slopes=best.slopes[best.used],
        ambiguity=_ambiguity(layout, modes),
    )


def _ambiguity(layout: Layout, modes: list[Mode]) -> str | None:
    if len(modes) < 2:
        return None
    place = layout.place("height").start
    apart = float(modes[1].mean[place] - modes[0].mean[place])
    return (
        f"the readings also fit a shaft {abs(apart) * 1e3:.2f} mm {'higher' if apart > 0 else 'lower'} "
        f"(probability {modes[1].weight:.0%}), with the pattern crossed the other way as the valve opens; "
        "a mark made with the valve closed tells which"
    )
