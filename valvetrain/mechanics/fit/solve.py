"""Solving the fit of the linkage from a start: robust first, then without the readings that do not fit.

Readings under Cauchy's loss, so that a gross error cannot pull. Those that then lie too far off are set aside
and the rest solved again by plain least squares, whose inverse information matrix is the posterior covariance
(linearised). Ordinary statistics; no publication followed.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.layout import Layout
from valvetrain.mechanics.fit.model import ReadingModel, linkage_outputs
from valvetrain.mechanics.fit.readings import Readings

__all__ = [
    "Problem",
    "Solution",
    "flag_limit",
    "off_half_lift",
    "spread_of",
    "square_at",
    "squared",
    "steady_solution",
]

_CAUCHY = 2.0  # standard uncertainties at which the loss turns from square to logarithm
_FALSE_ALARM = 0.01  # chance that a set of sound readings has one flagged
_TOLERANCE = {"soft_l1": 0.5, "cauchy": 0.05, "linear": 1e-3}  # of the cost, each stage starts the next
_MOST_STEPS = 60
_NEAR_HALF = 0.15  # of the lift
_GROSS = 0.08  # share of readings grossly wrong, of which most are set aside
_REACH = 6.0  # their spread, in standard uncertainties
_ROUNDS = 4
_STEADY = 0.02  # of a trust
_LEAST_SHARE = 1e-3  # of a step


@dataclass(frozen=True)
class Solution:
    """A minimum: state [free], residuals [m] and slopes [m, free] in units of uncertainty and prior.

    `standardized` [m]: (reading - prediction)/(standard deviation expected of that difference); `trust` [m]:
    probability that a reading is no gross error, by which it counts; `used` [m]: False for those set aside,
    whose trust is 0.
    """

    state: FloatArray
    used: BoolArray
    trust: FloatArray
    residual: FloatArray
    slopes: FloatArray
    standardized: FloatArray


class Problem:
    """Residuals in units of uncertainty; state: each prior's own part, in its deviations from the mean."""

    def __init__(self, readings: Readings, layout: Layout) -> None:
        """Bind readings to the model."""
        self.layout = layout
        self.model = ReadingModel(readings, layout)
        self.value, self.spread = np.asarray(readings.value, float), np.asarray(readings.uncertainty, float)
        edge = np.array([kind in ("near_edge", "far_edge") for kind in readings.kind])
        empty = np.zeros(0)
        self._last: tuple[FloatArray, FloatArray, FloatArray] = (empty, empty, empty)
        self.full_lift = float(np.max(np.nan_to_num(readings.tappet_lift())[edge], initial=0.0))

    def vector(self, state: FloatArray) -> FloatArray:
        """Parameter vector [P] of a state."""
        vector = self.layout.mean.copy()
        vector[self.layout.free] += self.layout.factor @ state
        return vector

    def residuals(self, state: FloatArray) -> FloatArray:
        """(prediction - reading)/uncertainty, shape [m]."""
        if state is not self._last[0]:
            predicted = self.model.predicted(self.vector(state)[np.newaxis])[0]
            return np.asarray((predicted - self.value) / self.spread)
        return self._last[1]

    def slopes(self, state: FloatArray) -> FloatArray:
        """Derivatives of the residuals, shape [m, free]."""
        # One search ends where the next begins: what was found there is kept.
        if state is not self._last[0]:
            predicted, slopes = self.model.derivatives(self.vector(state))
            scaled = slopes[:, self.layout.free] @ self.layout.factor / self.spread[:, np.newaxis]
            self._last = (state, (predicted - self.value) / self.spread, scaled)
        return self._last[2]

    def solved(self, state: FloatArray, trust: FloatArray | None, loss: str) -> FloatArray:
        """The most probable state from the readings, each by its trust (1: None); priors count in full.

        Gauss and Newton's steps on reweighted squares, halved until the cost falls. The priors keep the
        equations well conditioned, so that they are solved as they are.
        """
        keep = np.ones(self.value.size, dtype=bool) if trust is None else trust > 0.0
        root = np.ones(int(keep.sum())) if trust is None else np.sqrt(trust[keep])
        residual = self.residuals(state)[keep] * root
        cost = _cost(residual, state, loss)
        for _ in range(_MOST_STEPS):
            slopes = self.slopes(state)[keep] * root[:, np.newaxis]
            weight = _weight(residual, loss)
            gradient = slopes.T @ (weight * residual) + state
            information = (slopes.T * weight) @ slopes + np.eye(state.size)
            step = np.linalg.solve(information, -gradient)
            share = 1.0
            while True:
                trial = state + share * step
                moved = self.residuals(trial)[keep] * root
                lower = _cost(moved, trial, loss) if np.all(np.isfinite(moved)) else np.inf
                if lower <= cost or share < _LEAST_SHARE:
                    break
                share *= 0.5
            if lower > cost:
                break
            gained, cost, state, residual = cost - lower, lower, trial, moved
            if gained < _TOLERANCE[loss]:
                break
        return state


def _weight(residual: FloatArray, loss: str) -> FloatArray:
    """Weight of each squared residual at the loss's own slope."""
    z = (residual / _CAUCHY) ** 2
    if loss == "linear":
        return np.ones(residual.size)
    return np.asarray(1.0 / np.sqrt(1.0 + z) if loss == "soft_l1" else 1.0 / (1.0 + z))


def _cost(residual: FloatArray, state: FloatArray, loss: str) -> float:
    """The loss of the readings, robust or plain, and that of the priors, plain."""
    z = (residual / _CAUCHY) ** 2
    if loss == "linear":
        rho = z
    elif loss == "soft_l1":
        rho = 2.0 * (np.sqrt(1.0 + z) - 1.0)
    else:
        rho = np.log1p(z)
    return float(_CAUCHY**2 * np.sum(rho) + state @ state)


def spread_of(slopes: FloatArray, trust: FloatArray | BoolArray) -> tuple[FloatArray, FloatArray]:
    """Posterior covariance of the state, and variance of each prediction in units of its reading's own."""
    information = (slopes.T * trust) @ slopes + np.eye(slopes.shape[1])
    covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return covariance, np.asarray(np.einsum("ij,ij->i", slopes @ covariance, slopes))


def flag_limit(readings: int) -> float:
    """Standardized residual beyond which one of that many readings is set aside."""
    from scipy.special import ndtri

    return float(-ndtri(0.5 * _FALSE_ALARM / readings))


def steady_solution(problem: Problem, state: FloatArray) -> Solution:
    """The minimum near `state`: what does not fit there out, what fits after all back in, till steady.

    What is left counts by its probability of being sound, among which gross errors of six times the
    uncertainty are one in `1/_GROSS`: an error too small to be told for certain cannot pull in full, and the
    doubt that it leaves is stated.
    """
    residual = problem.residuals(state)
    limit = flag_limit(residual.size)
    used = np.abs(residual) <= limit
    seen: set[bytes] = set()
    while True:
        state = problem.solved(state, used.astype(float), "linear")
        residual, slopes = problem.residuals(state), problem.slopes(state)
        _, variance = spread_of(slopes, used)
        standardized = _standardized(residual, variance, used.astype(float))
        seen.add(used.tobytes())
        fits = np.abs(standardized) <= limit
        worse = used & ~fits
        if worse.any() and not (fits & ~used).any():
            # One at a time, the worst first: a gross error makes its neighbors look wrong too.
            fits = used.copy()
            fits[np.argmax(np.where(worse, np.abs(standardized), 0.0))] = False
        if fits.tobytes() in seen:
            break
        used = fits
    trust = used.astype(float)
    for _ in range(_ROUNDS):
        before, trust = trust, np.where(used, _sound(standardized), 0.0)
        if np.max(np.abs(trust - before)) < _STEADY:
            break
        state = problem.solved(state, trust, "linear")
        residual, slopes = problem.residuals(state), problem.slopes(state)
        standardized = _standardized(residual, spread_of(slopes, trust)[1], trust)
    return Solution(state, used, trust, residual, slopes, standardized)


def _standardized(residual: FloatArray, variance: FloatArray, trust: FloatArray) -> FloatArray:
    """(Reading - what the others alone predict)/(standard deviation expected of that difference), [m]."""
    left = np.maximum(1.0 - trust * variance, 1e-6)
    return np.asarray(-residual / left / np.sqrt(1.0 + variance / left))


def _sound(standardized: FloatArray) -> FloatArray:
    """Probability that a reading so far off is no gross error."""
    odds = _GROSS / (1.0 - _GROSS) / _REACH
    square = np.minimum(standardized**2, 100.0)
    return np.asarray(1.0 / (1.0 + odds * np.exp(0.5 * square * (1.0 - _REACH**-2))))


def square_at(problem: Problem, state: FloatArray) -> FloatArray:
    """Share of the lift at which the arms stand square to the stem, the mean of each shaft, [shafts]."""
    layout = problem.layout
    columns = layout.columns(problem.vector(state)[np.newaxis])
    outputs = linkage_outputs(columns, np.full(layout.valves, problem.full_lift))
    share = ((columns["pad_radius"] - outputs["height"]) / outputs["net_lift"])[0]
    which = layout.of["height"]
    return np.asarray(np.bincount(which, weights=share) / np.bincount(which))


def off_half_lift(problem: Problem, state: FloatArray) -> FloatArray:
    """The state with no shaft's arms square near half lift, where no small move of it narrows a pattern."""
    if problem.full_lift > 0.0:
        for shaft, share in enumerate(square_at(problem, state)):
            if abs(share - 0.5) < _NEAR_HALF:
                state = squared(problem, state, shaft, 0.5 - _NEAR_HALF)
    return state


def squared(problem: Problem, state: FloatArray, shaft: int, share: float) -> FloatArray:
    """The state with one shaft so high that its arms stand square at this share of the lift.

    At q the pads leave nearly the same patterns on the tips as at 1 - q, crossed the other way. The rest
    follows from solving again.
    """
    layout = problem.layout
    other = problem.vector(state)
    place = layout.place("height").start + shaft
    if layout.deviation[place] == 0.0 or problem.full_lift == 0.0:
        return state
    own = layout.of["height"] == shaft
    columns = layout.columns(other[np.newaxis])
    net = linkage_outputs(columns, np.full(layout.valves, problem.full_lift))["net_lift"][0]
    other[place] += float((square_at(problem, state)[shaft] - share) * np.mean(net[own]))
    moved: FloatArray = np.asarray(np.linalg.solve(layout.factor, (other - layout.mean)[layout.free]), float)
    return moved if np.all(np.isfinite(problem.residuals(moved))) else state
