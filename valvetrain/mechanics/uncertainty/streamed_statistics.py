"""Mean, standard deviation and quantiles of samples that arrive in pieces and are not kept.

Mean and variance: pairwise update (Chan, Golub & LeVeque 1979, "Updating formulae and a pairwise
algorithm for computing sample variances"; from memory). Quantiles: a histogram whose range the first
samples fix, read by linear interpolation inside a bin.
"""

from collections.abc import Sequence

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["StreamedStatistics"]

_BINS = 2048
_REACH = 7.0  # standard deviations of the first samples, to each side
_PILOT = 4096  # samples that fix the range


class StreamedStatistics:
    """Statistics per column of samples [k, n] fed piece by piece.

    Accuracy of a quantile against keeping all samples: one bin, 2 x 7/2048 = 0.007 standard deviations, or
    the gap between neighboring samples where that is wider; the interpolation makes it far better where the
    density is smooth. A quantile among the samples outside the
    range (beyond 7 standard deviations) is given as the least or greatest sample. NaN samples are counted
    and left out. Memory: 2048 counts a column, whatever the number of samples.
    """

    def __init__(self, columns: int) -> None:
        """Start empty, for samples of `columns` columns."""
        self.columns = columns
        self.count = np.zeros(columns)
        self.missing = np.zeros(columns)
        self._mean = np.zeros(columns)
        self._squares = np.zeros(columns)
        self._least = np.full(columns, np.inf)
        self._greatest = np.full(columns, -np.inf)
        self._pilot: list[FloatArray] = []
        self._pilot_rows = 0
        self._low = np.zeros(columns)
        self._per_width = np.zeros(columns)
        self._counts = np.zeros((columns, _BINS + 2))

    def add(self, samples: FloatArray) -> None:
        """Take in samples of shape [k, n]."""
        valid = ~np.isnan(samples)
        count = valid.sum(axis=0).astype(float)
        whole = bool(np.all(count == samples.shape[0]))
        # Sums are taken from a value near the mean, so that squares of large numbers do not cancel.
        first = np.where(valid[0], samples[0], 0.0)
        shift = np.where(self.count > 0, self._mean, first)
        shifted = samples - shift
        if not whole:
            shifted = np.where(valid, shifted, 0.0)
        divisor = np.maximum(count, 1.0)
        step = shifted.sum(axis=0) / divisor
        squares = np.einsum("ij,ij->j", shifted, shifted) - count * step * step
        mean = shift + step
        total = self.count + count
        part = count / np.maximum(total, 1.0)
        between = mean - self._mean
        self._squares += squares + between * between * self.count * part
        self._mean = self._mean + between * part
        self.count = total
        self.missing += samples.shape[0] - count
        self._least = np.fmin(self._least, np.fmin.reduce(samples, axis=0))
        self._greatest = np.fmax(self._greatest, np.fmax.reduce(samples, axis=0))
        self._binned(samples)

    def _binned(self, samples: FloatArray) -> None:
        if self._pilot_rows < _PILOT:
            # The first _PILOT rows fix the range, however they are cut into pieces.
            wanted = _PILOT - self._pilot_rows
            self._pilot.append(samples[:wanted].copy())
            self._pilot_rows += min(wanted, samples.shape[0])
            samples = samples[wanted:]
            if self._pilot_rows < _PILOT:
                return
            self._range_fixed()
        if samples.shape[0]:
            self._counted(samples)

    def _range_fixed(self) -> None:
        pilot = np.concatenate(self._pilot)
        self._pilot = []
        valid = ~np.isnan(pilot)
        count = np.maximum(valid.sum(axis=0), 1)
        middle = np.where(valid, pilot, 0.0).sum(axis=0) / count
        spread = np.sqrt(np.where(valid, (pilot - middle) ** 2, 0.0).sum(axis=0) / count)
        spread = np.where(spread > 0.0, spread, np.maximum(np.abs(middle), 1.0) * 1e-9)
        self._low = middle - _REACH * spread
        self._per_width = _BINS / (2.0 * _REACH * spread)
        self._counted(pilot)

    def _counted(self, samples: FloatArray) -> None:
        place = (samples - self._low) * self._per_width
        place += 1.0
        np.clip(place, 0.0, _BINS + 1.0, out=place)  # 0 and the last: outside the range
        stride = _BINS + 2
        if np.isnan(place).any():
            row, column = np.nonzero(~np.isnan(place))
            flat = column * stride + place[row, column].astype(np.intp)
        else:
            flat = (place.astype(np.intp) + stride * np.arange(self.columns)).ravel()
        self._counts += np.bincount(flat, minlength=self._counts.size).reshape(self._counts.shape)

    @property
    def mean(self) -> FloatArray:
        """Mean [n], NaN for a column without samples."""
        return np.where(self.count > 0, self._mean, np.nan)

    @property
    def deviation(self) -> FloatArray:
        """Sample standard deviation [n], NaN below two samples."""
        freedom = np.where(self.count > 1, self.count - 1.0, np.nan)
        return np.sqrt(np.maximum(self._squares, 0.0) / freedom)

    def quantiles(self, levels: Sequence[float]) -> FloatArray:
        """Quantiles at `levels` (each 0 to 1), shape [len(levels), n]; NaN for a column without samples."""
        if self._pilot:  # few samples: exact
            pilot = np.concatenate(self._pilot)
            result = np.full((len(levels), self.columns), np.nan)
            some = self.count > 0
            if np.any(some):
                result[:, some] = np.nanquantile(pilot[:, some], levels, axis=0)
            return result
        edges, _ = self.histogram()
        out = np.full((len(levels), self.columns), np.nan)
        for column in np.flatnonzero(self.count > 0):
            counts = self._counts[column]
            below = np.concatenate([[0.0], np.cumsum(counts)]) / counts.sum()
            places = np.concatenate([[self._least[column]], edges[column], [self._greatest[column]]])
            # The outermost samples lie at the ends of the outer bins; inside them nothing is known.
            places[1:-1] = np.clip(places[1:-1], self._least[column], self._greatest[column])
            out[:, column] = np.interp(levels, below, places)
        return out

    def histogram(self) -> tuple[FloatArray, FloatArray]:
        """Edges [n, bins + 1] and counts [n, bins] of the samples inside the range."""
        if self._pilot:
            self._range_fixed()
        edges = (
            self._low[:, None]
            + np.arange(_BINS + 1) / np.where(self._per_width > 0.0, self._per_width, 1.0)[:, None]
        )
        return edges, self._counts[:, 1:-1].copy()
