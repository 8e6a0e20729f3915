"""Monte Carlo in place of first-order propagation, for every study that runs inside `simulating`."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.correlation import Correlation

if TYPE_CHECKING:
    from valvetrain.mechanics.uncertainty.monte_carlo import Simulated

__all__ = [
    "Simulation",
    "correlated_root",
    "drawn_outputs",
    "simulating",
    "simulation",
    "straight",
    "straight_only",
]

Rows = Mapping[str, FloatArray]


@dataclass(frozen=True)
class Simulation:
    """How studies are simulated.

    Attributes:
        samples: draws of every valve.
        seed: fixes every draw.
        progress: called with (draws done, draws wanted) while a study runs.
    """

    samples: int
    seed: int
    progress: Callable[[int, int], None] | None = None


_CURRENT: ContextVar[Simulation | None] = ContextVar("simulation", default=None)


def simulation() -> Simulation | None:
    """Return the simulation that studies are to use now, None for first order."""
    return _CURRENT.get()


@contextmanager
def simulating(
    samples: int, seed: int = 0, progress: Callable[[int, int], None] | None = None
) -> Iterator[None]:
    """Let every study inside the `with` block take its uncertainties from draws."""
    token = _CURRENT.set(Simulation(samples, seed, progress))
    try:
        yield
    finally:
        _CURRENT.reset(token)


_STRAIGHT: ContextVar[bool] = ContextVar("straight", default=False)


def straight() -> bool:
    """Say whether first order is to do for now even where it bends."""
    return _STRAIGHT.get()


@contextmanager
def straight_only() -> Iterator[None]:
    """Let studies take first order everywhere: an answer at once, which the real one must follow."""
    token = _STRAIGHT.set(True)
    try:
        yield
    finally:
        _STRAIGHT.reset(token)


def correlated_root(correlation: Correlation, keys: list[str]) -> FloatArray:
    """Return R with R R^T the correlation of `keys`, so that R times independent draws has it."""
    index = [correlation.keys.index(key) for key in keys]
    matrix = np.array(correlation.rows, float)[np.ix_(index, index)]
    values, vectors = np.linalg.eigh(matrix)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def drawn_outputs(
    function: Callable[[Rows], Rows],
    values: Rows,
    uncertainties: Rows,
    correlation: Correlation | None,
    how: Simulation,
) -> "Simulated":
    """Simulate `function`; keys of `correlation` are drawn together."""
    from valvetrain.mechanics.uncertainty.monte_carlo import simulated

    together = [key for key in correlation.keys if key in values] if correlation else []
    if correlation is None or not together:
        return simulated(
            function, values, uncertainties, samples=how.samples, seed=how.seed, progress=how.progress
        )
    root = correlated_root(correlation, together)
    alone = {key: value for key, value in values.items() if key not in together}
    spreads = {key: value for key, value in uncertainties.items() if key not in together}
    for key in together:
        alone[f"draw of {key}"] = np.zeros(np.shape(values[key]))
        spreads[f"draw of {key}"] = np.ones(np.shape(values[key]))

    def mixed(rows: Rows) -> Rows:
        own = dict(rows)
        draws = [own.pop(f"draw of {key}") for key in together]
        for key, weights in zip(together, root, strict=True):
            total = sum(weight * draw for weight, draw in zip(weights, draws, strict=True))
            own[key] = values[key] + uncertainties[key] * total
        return function(own)

    return simulated(mixed, alone, spreads, samples=how.samples, seed=how.seed, progress=how.progress)
