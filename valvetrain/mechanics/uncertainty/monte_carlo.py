"""Monte Carlo propagation through any vectorised function, in pieces of bounded memory.

JCGM 101:2008, clause 7 (published; from memory): draw the inputs, evaluate, read mean, standard
deviation and the probabilistically symmetric coverage interval from the outputs.
"""

import zlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.uncertainty.distributions import NORMAL, Distribution
from valvetrain.mechanics.uncertainty.propagation import Quantities
from valvetrain.mechanics.uncertainty.streamed_statistics import StreamedStatistics

__all__ = ["Simulated", "simulated"]

_EVALUATIONS = 32768  # rows x valves a piece: large enough to hide Python, small enough for the cache


@dataclass(frozen=True)
class Simulated:
    """Outputs of a function over many drawn inputs.

    Attributes:
        samples: number of draws.
        mean, uncertainty: output name -> mean and standard deviation of the draws, shape [n].
        low, high: output name -> ends of the probabilistically symmetric interval, shape [n].
        expanded: output name -> (high - low)/2, shape [n].
        failed: output name -> share of draws in which the output was NaN, shape [n]; the other
            statistics leave these draws out.
        edges, counts: output name -> histogram of the draws, [n, bins + 1] and [n, bins].
    """

    samples: int
    probability: float
    mean: Mapping[str, FloatArray]
    uncertainty: Mapping[str, FloatArray]
    low: Mapping[str, FloatArray]
    high: Mapping[str, FloatArray]
    expanded: Mapping[str, FloatArray]
    failed: Mapping[str, FloatArray]
    edges: Mapping[str, FloatArray]
    counts: Mapping[str, FloatArray]


def simulated(
    function: Callable[[Quantities], Quantities],
    values: Quantities,
    uncertainties: Quantities,
    *,
    samples: int,
    seed: int,
    distributions: Mapping[str, Distribution] | None = None,
    shared: Collection[str] = (),
    probability: float = 0.95,
    chunk: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Simulated:
    """Evaluate `function` on `samples` draws of its inputs.

    Args:
        function: as for `propagated`: mapping of [k, n] arrays in and out, the rows independent. The
            arrays given to it are not to be written to.
        values, uncertainties: as for `propagated`: input name -> [n]; an uncertainty left out, 0 or NaN
            keeps that input fixed.
        samples: number of draws, >= 2.
        seed: with the names of the inputs it fixes every draw; the size of the pieces does not matter
            (beyond rounding), nor does adding another input.
        distributions: input name -> shape; normal where left out.
        shared: inputs of which one draw serves all n columns (one shaft height for all valves).
        probability: of the coverage interval.
        chunk: draws a piece; chosen so that memory stays small where None.
        progress: called with (draws done, draws wanted) after each piece.

    Raises:
        ValueError: fewer than 2 samples, a chunk below 1, or an uncertainty below 0.
    """
    if samples < 2:
        raise ValueError(f"number of samples is {samples}; at least 2 are needed")
    if chunk is not None and chunk < 1:
        raise ValueError(f"samples a piece is {chunk}; at least 1 is needed")
    base = {name: np.atleast_1d(np.asarray(array, float)) for name, array in values.items()}
    columns = np.broadcast_shapes(*(array.shape for array in base.values()))
    if len(columns) != 1:
        raise ValueError(f"inputs have shape {columns}; one axis (valves) is allowed")
    rows = max(1, _EVALUATIONS // columns[0]) if chunk is None else chunk
    shapes = {} if distributions is None else distributions
    # One stream an input, keyed by its name: the draws depend neither on the pieces nor on other inputs.
    sources = {
        name: _Source(name, base[name], uncertainties[name], columns, shapes.get(name), name in shared, seed)
        for name in base
        if name in uncertainties and np.any(np.nan_to_num(np.asarray(uncertainties[name], float)) != 0.0)
    }
    statistics: dict[str, StreamedStatistics] = {}
    done = 0
    while done < samples:
        count = min(rows, samples - done)
        drawn = {
            name: sources[name].drawn(count)
            if name in sources
            else np.broadcast_to(base[name], (count, *columns))
            for name in base
        }
        for name, output in function(drawn).items():
            table = np.broadcast_to(np.asarray(output, float), (count, *columns))
            statistics.setdefault(name, StreamedStatistics(columns[0])).add(table)
        done += count
        if progress is not None:
            progress(done, samples)
    return _summary(statistics, samples, probability)


class _Source:
    """The draws of one input."""

    def __init__(
        self,
        name: str,
        value: FloatArray,
        uncertainty: FloatArray,
        columns: tuple[int, ...],
        distribution: Distribution | None,
        shared: bool,
        seed: int,
    ) -> None:
        spread = np.atleast_1d(np.nan_to_num(np.asarray(uncertainty, float)))
        if np.any(spread < 0.0):
            raise ValueError(f"standard uncertainty of {name} is {spread.min():g}; it cannot be below 0")
        key = np.random.SeedSequence([seed, zlib.crc32(name.encode())])
        self.generator = np.random.Generator(np.random.SFC64(key))
        self.distribution = NORMAL if distribution is None else distribution
        self.columns = columns
        self.drawn_columns = 1 if shared else columns[0]
        self.value, self.spread = value, spread

    def drawn(self, count: int) -> FloatArray:
        draws = self.distribution.drawn(self.generator, (count, self.drawn_columns))
        if self.drawn_columns == self.columns[0]:
            draws *= self.spread
            draws += self.value
            return draws
        return np.broadcast_to(self.value + self.spread * draws, (count, *self.columns))


def _summary(statistics: dict[str, StreamedStatistics], samples: int, probability: float) -> Simulated:
    tail = 0.5 * (1.0 - probability)
    ends = {name: item.quantiles([tail, 1.0 - tail]) for name, item in statistics.items()}
    histograms = {name: item.histogram() for name, item in statistics.items()}
    return Simulated(
        samples=samples,
        probability=probability,
        mean={name: item.mean for name, item in statistics.items()},
        uncertainty={name: item.deviation for name, item in statistics.items()},
        low={name: pair[0] for name, pair in ends.items()},
        high={name: pair[1] for name, pair in ends.items()},
        expanded={name: 0.5 * (pair[1] - pair[0]) for name, pair in ends.items()},
        failed={name: item.missing / samples for name, item in statistics.items()},
        edges={name: pair[0] for name, pair in histograms.items()},
        counts={name: pair[1] for name, pair in histograms.items()},
    )
