"""Which measurement to take next: the one that would turn most open verdicts into decisions.

A verdict is open where the expanded uncertainty (k = 2) straddles a limit (ISO 14253-1; from memory) or
where an input has never been measured. Measuring an input again makes its part of the uncertainty smaller
and lets the value itself move by what the part loses; so each open verdict is decided with a probability
that can be stated beforehand (preposterior analysis; derived for normal distributions).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.uncertainty.propagation import Quantities

__all__ = ["Candidate", "OpenQuestion", "Ranked", "decision_probability", "ranked_measurements"]

_COVERAGE = 2.0


@dataclass(frozen=True)
class Candidate:
    """A measurement that could be taken, for all valves at once.

    Attributes:
        parameter: the input it measures.
        instrument: what with, in words.
        uncertainty: its standard uncertainty, in the input's unit, > 0.
    """

    parameter: str
    instrument: str
    uncertainty: float


@dataclass(frozen=True)
class OpenQuestion:
    """A quantity with limits, for n valves.

    Attributes:
        name: of the quantity.
        value, uncertainty: shape [n]; NaN where unmeasured.
        contributions: input -> its part of the uncertainty, shape [n] (as `Propagated` gives them).
        low, high: limits, shape [n] or []; -inf or inf where there is none.
        missing: input -> True where the quantity is unmeasured for want of it, shape [n].
    """

    name: str
    value: FloatArray
    uncertainty: FloatArray
    contributions: Quantities
    low: FloatArray
    high: FloatArray
    missing: Mapping[str, BoolArray] | None = None


@dataclass(frozen=True)
class Ranked:
    """A candidate with what it would do.

    Attributes:
        candidate: the measurement.
        decided: number of verdicts, now unsure, that it is expected to decide.
        measured: number of verdicts, now unmeasured, that it alone would open to judgment.
        uncertainty_after: quantity -> standard uncertainty after it, shape [n]; unchanged where the
            quantity does not depend on it, NaN where unmeasured.
    """

    candidate: Candidate
    decided: float
    measured: int
    uncertainty_after: Quantities


def decision_probability(
    value: FloatArray, uncertainty: FloatArray, after: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """Probability that a quantity will be decided (in or out) once its uncertainty is `after`.

    The value then found is normal about the present one, of variance uncertainty^2 - after^2. Decided: at
    least 2 `after` inside both limits, or as far beyond one. NaN gives NaN.
    """
    from scipy.special import ndtr

    move = np.sqrt(np.maximum(uncertainty**2 - after**2, 0.0))
    steady = move <= 1e-12 * np.maximum(uncertainty, 1e-300)
    scale = np.where(steady, 1.0, move)
    band = _COVERAGE * after

    def below(limit: FloatArray) -> FloatArray:
        """Probability that the value found is below `limit`."""
        return np.asarray(np.where(steady, (value < limit) * 1.0, ndtr((limit - value) / scale)))

    inside = np.maximum(below(high - band) - below(low + band), 0.0)
    outside = below(low - band) + 1.0 - below(high + band)
    unknown = np.isnan(value) | np.isnan(uncertainty)
    return np.where(unknown, np.nan, np.clip(inside + outside, 0.0, 1.0))


def ranked_measurements(
    questions: Sequence[OpenQuestion], candidates: Sequence[Candidate], uncertainties: Quantities
) -> list[Ranked]:
    """Candidates, the most useful first: unmeasured verdicts opened plus unsure ones decided.

    Args:
        questions: quantities with their limits; verdicts that are decided already do not count.
        candidates: what could be measured. A new measurement is combined with what is known (weights by
            variance), so that a poor instrument never makes things worse.
        uncertainties: input -> standard uncertainty now, shape [n] or [].

    Raises:
        ValueError: an instrument's uncertainty not above 0.
    """
    ranked = [_judged(candidate, questions, uncertainties) for candidate in candidates]
    # Among equals the one that lessens the variance of the open quantities most.
    ranked.sort(key=lambda pair: (-(pair[0].decided + pair[0].measured), -pair[1]))
    return [pair[0] for pair in ranked]


def _judged(
    candidate: Candidate, questions: Sequence[OpenQuestion], uncertainties: Quantities
) -> tuple[Ranked, float]:
    if not candidate.uncertainty > 0.0:
        raise ValueError(
            f"uncertainty of {candidate.instrument} on {candidate.parameter} is {candidate.uncertainty:g}; "
            "it must be above 0"
        )
    now = np.asarray(uncertainties.get(candidate.parameter, np.nan), float)
    # Weights by variance; an input never measured takes the instrument's own.
    known = np.isfinite(now) & (now > 0.0)
    safe = np.where(known, now, 1.0)
    left = np.where(known, candidate.uncertainty / np.hypot(candidate.uncertainty, safe), 1.0)
    decided, measured, gain = 0.0, 0, 0.0
    after: dict[str, FloatArray] = {}
    for question in questions:
        part = question.contributions.get(candidate.parameter, np.zeros(np.shape(question.value)))
        finite = np.isfinite(part) & np.isfinite(question.uncertainty)
        less = np.where(finite, part, 0.0) ** 2 * (1.0 - left**2)
        spread = np.where(np.isfinite(question.uncertainty), question.uncertainty, 0.0)
        rest = np.sqrt(np.maximum(spread**2 - less, 0.0))
        after[question.name] = np.where(np.isfinite(question.uncertainty), rest, question.uncertainty)
        before = decision_probability(
            question.value, question.uncertainty, question.uncertainty, question.low, question.high
        )
        then = decision_probability(
            question.value, question.uncertainty, after[question.name], question.low, question.high
        )
        unsure = before == 0.0
        decided += float(np.sum(np.where(unsure, then, 0.0)))
        gain += float(np.sum(np.where(unsure, less / np.maximum(spread, 1e-150) ** 2, 0.0)))
        measured += _opened(candidate.parameter, question)
    return Ranked(candidate, decided, measured, after), gain


def _opened(parameter: str, question: OpenQuestion) -> int:
    """Unmeasured verdicts for which `parameter` is the only input missing."""
    if question.missing is None or parameter not in question.missing:
        return 0
    wanting = sum(np.asarray(one, dtype=int) for one in question.missing.values())
    alone = np.asarray(question.missing[parameter], dtype=bool) & (np.asarray(wanting) == 1)
    return int(np.sum(alone & np.isnan(question.value)))
