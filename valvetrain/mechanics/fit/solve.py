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

__all__ = ["Problem", "Solution", "flag_limit", "mirrored", "spread_of", "steady_solution"]

_CAUCHY = 2.0  # standard uncertainties at which the loss turns from square to logarithm
_FALSE_ALARM = 0.01  # chance that a set of sound readings has one flagged
_TOLERANCE = {"soft_l1": 1e-2, "cauchy": 1e-3, "linear": 1e-6}  # of the cost, each stage starts the next
_MOST_STEPS = 60
_LEAST_SHARE = 1e-3  # of a step


@dataclass(frozen=True)
class Solution:
    """A minimum: state [free], residuals [m] and slopes [m, free] in units of uncertainty and prior.

    `standardized` [m]: (reading - prediction)/(standard deviation expected of that difference).
    """

    state: FloatArray
    used: BoolArray
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
        self.full_lift = float(np.max(np.nan_to_num(readings.tappet_lift())[edge], initial=0.0))

    def vector(self, state: FloatArray) -> FloatArray:
        """Parameter vector [P] of a state."""
        vector = self.layout.mean.copy()
        vector[self.layout.free] += self.layout.factor @ state
        return vector

    def residuals(self, state: FloatArray) -> FloatArray:
        """(prediction - reading)/uncertainty, shape [m]."""
        predicted = self.model.predicted(self.vector(state)[np.newaxis])[0]
        return np.asarray((predicted - self.value) / self.spread)

    def slopes(self, state: FloatArray) -> FloatArray:
        """Derivatives of the residuals, shape [m, free]."""
        _, slopes = self.model.derivatives(self.vector(state))
        return np.asarray(slopes[:, self.layout.free] @ self.layout.factor / self.spread[:, np.newaxis])

    def solved(self, state: FloatArray, used: BoolArray | None, loss: str) -> FloatArray:
        """The most probable state from the readings used (all: None); priors count as plain squares.

        Gauss and Newton's steps on reweighted squares, halved until the cost falls. The priors keep the
        equations well conditioned, so that they are solved as they are.
        """
        keep = np.ones(self.value.size, dtype=bool) if used is None else used
        residual = self.residuals(state)[keep]
        cost = _cost(residual, state, loss)
        for _ in range(_MOST_STEPS):
            slopes = self.slopes(state)[keep]
            weight = _weight(residual, loss)
            gradient = slopes.T @ (weight * residual) + state
            information = (slopes.T * weight) @ slopes + np.eye(state.size)
            step = np.linalg.solve(information, -gradient)
            share = 1.0
            while True:
                trial = state + share * step
                moved = self.residuals(trial)[keep]
                lower = _cost(moved, trial, loss) if np.all(np.isfinite(moved)) else np.inf
                if lower <= cost or share < _LEAST_SHARE:
                    break
                share *= 0.5
            if lower > cost:
                break
            gained, cost, state, residual = cost - lower, lower, trial, moved
            if gained < _TOLERANCE[loss] * max(cost, 1.0):
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
    rho = {
        "linear": lambda: z,
        "soft_l1": lambda: 2.0 * (np.sqrt(1.0 + z) - 1.0),
        "cauchy": lambda: np.log1p(z),
    }
    return float(_CAUCHY**2 * np.sum(rho[loss]()) + state @ state)


def spread_of(slopes: FloatArray, used: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Posterior covariance of the state, and variance of each prediction in units of its reading's own."""
    information = slopes[used].T @ slopes[used] + np.eye(slopes.shape[1])
    covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return covariance, np.asarray(np.einsum("ij,ij->i", slopes @ covariance, slopes))


def flag_limit(readings: int) -> float:
    """Standardized residual beyond which one of that many readings is set aside."""
    from scipy.special import ndtri

    return float(-ndtri(0.5 * _FALSE_ALARM / readings))


def steady_solution(problem: Problem, state: FloatArray) -> Solution:
    """The minimum near `state`: what does not fit there out, what fits after all back in, till steady."""
    residual = problem.residuals(state)
    limit = flag_limit(residual.size)
    used = np.abs(residual) <= limit
    seen: set[bytes] = set()
    while True:
        state = problem.solved(state, used, "linear")
        residual, slopes = problem.residuals(state), problem.slopes(state)
        _, variance = spread_of(slopes, used)
        # Variance of a residual: less than the reading's own where it took part, more where it did not.
        expected = np.sqrt(np.where(used, np.maximum(1.0 - variance, 1e-6), 1.0 + variance))
        standardized = -residual / expected
        seen.add(used.tobytes())
        fits = np.abs(standardized) <= limit
        worse = used & ~fits
        if worse.any() and not (fits & ~used).any():
            # One at a time, the worst first: a gross error makes its neighbors look wrong too.
            fits = used.copy()
            fits[np.argmax(np.where(worse, np.abs(standardized), 0.0))] = False
        if fits.tobytes() in seen:
            return Solution(state, used, residual, slopes, standardized)
        used = fits


def mirrored(problem: Problem, state: FloatArray, shaft: int) -> FloatArray:
    """The state that leaves nearly the same patterns on one shaft's tips, crossed the other way.

    The arm square to the stem at a fraction q of the lift sweeps as widely as at 1 - q: the shaft goes to
    2 pad_radius - net lift - height. The rest follows from solving again.
    """
    layout = problem.layout
    other = problem.vector(state)
    place = layout.place("height").start + shaft
    if layout.deviation[place] == 0.0 or problem.full_lift == 0.0:
        return state
    own = layout.of["height"] == shaft
    columns = layout.columns(other[np.newaxis])
    outputs = linkage_outputs(columns, np.full(layout.valves, problem.full_lift))
    radius = np.broadcast_to(columns["pad_radius"], (1, layout.valves))
    other[place] = float(np.mean((2.0 * radius - outputs["net_lift"])[:, own])) - other[place]
    moved: FloatArray = np.asarray(np.linalg.solve(layout.factor, (other - layout.mean)[layout.free]), float)
    return moved if np.all(np.isfinite(problem.residuals(moved))) else state
