"""Robust straight-line trend of many short records at once (Theil and Sen), and how sure its slope is.

Sen (1968), slope as the median of the slopes of all pairs, and its interval from Kendall's statistic (status:
memory; tested against scipy.stats.theilslopes). Records are rows: leading axes free, readings on the last.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.guards import not_negative

__all__ = ["MOST_READINGS", "Trend", "pooled_noise", "robust_trend", "slope_uncertainty"]

MOST_READINGS = 64
"""Longer records are first condensed to the medians of this many equal groups in order of time."""

# A median of slopes wastes a little against least squares on normal noise (derived, by simulation of 3 to 12
# evenly spaced readings: 1.00 to 1.07); taken with some reserve.
_INEFFICIENCY = 1.06


@dataclass(frozen=True)
class Trend:
    """Trend of each record; shapes are those of the records without the readings' axis.

    Attributes:
        slope: [value unit per time unit]; NaN with fewer than two different times.
        low, high: interval of the slope from Kendall's statistic at the asked level; NaN likewise.
        level: value of the line at the last reading's time, median of the readings moved along the slope.
        mean: mean of the readings.
        last_time: time of the last reading.
        residual_square: mean square of the residuals about a least-squares line, per degree of freedom, in
            units of one reading's variance (see `accumulating` of `robust_trend`); NaN below three readings.
        spread: sqrt(variance of the least-squares slope for unit variance of one reading) [per time unit].
        count: readings used.
    """

    slope: FloatArray
    low: FloatArray
    high: FloatArray
    level: FloatArray
    mean: FloatArray
    last_time: FloatArray
    residual_square: FloatArray
    spread: FloatArray
    count: FloatArray


def robust_trend(
    times: ArrayLike, values: ArrayLike, *, accumulating: ArrayLike = False, confidence: float = 0.95
) -> Trend:
    """Theil-Sen trend of every record.

    Args:
        times: shape [..., readings], broadcast with values; any order.
        values: shape [..., readings]; NaN (in either) is a missing reading.
        accumulating: shape [...]; True where each value adds a new difference of two readings to the one
            before (a lash set anew at every inspection), so that the noise adds up along the record.
        confidence: of the interval, between 0 and 1.

    Raises:
        ValueError: a confidence outside 0 to 1, or a record without an axis of readings.
    """
    from scipy.special import ndtri

    if not 0 < confidence < 1:
        raise ValueError(f"confidence is {confidence}: between 0 and 1 is allowed")
    t, y = np.broadcast_arrays(np.asarray(times, float), np.asarray(values, float))
    if t.ndim == 0:
        raise ValueError("a trend needs an axis of readings; a single number was given")
    t, y = _ordered(t, y)
    if t.shape[-1] > MOST_READINGS:
        t, y = _condensed(t, y)
    known = ~np.isnan(t)
    count = known.sum(axis=-1)
    slopes, pairs = _pair_slopes(t, y)
    slope = _at_rank(slopes, 0.5 * (pairs - 1))
    # Variance of Kendall's statistic, n (n - 1)(2 n + 5)/18, less what tied times and tied values take off.
    same = np.zeros(count.shape)
    for row in (t, y):
        tied = (row[..., :, None] == row[..., None, :]).sum(axis=-1)
        same = same + ((tied - 1) * (2 * tied + 5)).sum(axis=-1, where=known)
    deviation = np.sqrt(np.maximum(count * (count - 1) * (2 * count + 5) - same, 0) / 18)
    reach = float(ndtri(0.5 + 0.5 * confidence)) * deviation
    low = _at_rank(slopes, np.maximum(np.round((pairs - reach) / 2) - 1, 0))
    high = _at_rank(slopes, np.minimum(np.round((pairs + reach) / 2), pairs - 1))
    last = _last(t, count)
    moved = y + slope[..., None] * (last[..., None] - t)
    level = _at_rank(np.sort(moved, axis=-1), 0.5 * (count - 1))
    square, spread = _least_squares(t, y, known, np.asarray(accumulating, bool))
    mean = np.where(known, y, 0.0).sum(-1) / np.where(count > 0, count, np.nan)
    return Trend(slope, low, high, level, mean, last, square, spread, count.astype(float))


def pooled_noise(
    residual_square: ArrayLike, count: ArrayLike, floor: ArrayLike = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Standard deviation of one reading, from the residuals of a whole set, and its degrees of freedom.

    The two records with the greatest residuals (in sets of six and more) are left out, since a worn valve
    need not wear in a straight line; what that takes off a healthy set's scatter is put back for normal
    noise.

    Args:
        residual_square, count: from `robust_trend`, shape [..., valves].
        floor: least standard deviation to believe in, such as that of the gauge's step (step/sqrt(12)).

    Returns:
        (standard deviation, degrees of freedom), shape [...]; NaN and 0 where no record has three readings.
    """
    bottom = np.asarray(floor, float)
    not_negative("noise floor", bottom, "", finite=False)
    square, readings = np.broadcast_arrays(np.asarray(residual_square, float), np.asarray(count, float))
    freedom = np.where(np.isnan(square), 0.0, readings - 2)
    usable = (freedom > 0).sum(axis=-1)
    order = np.argsort(np.where(freedom > 0, -square, np.inf), axis=-1, kind="stable")
    dropped = np.where(usable >= 6, 2, 0)
    rank = np.empty_like(order)
    np.put_along_axis(rank, order, np.broadcast_to(np.arange(order.shape[-1]), order.shape), axis=-1)
    kept = np.where(rank >= dropped[..., None], freedom, 0.0)
    total = kept.sum(axis=-1)
    mean = (np.where(kept > 0, square, 0.0) * kept).sum(axis=-1) / np.where(total > 0, total, np.nan)
    typical = freedom.sum(axis=-1) / np.maximum(usable, 1)
    mean = mean / np.where(dropped > 0, _trimmed_share(usable, typical), 1.0)
    return np.maximum(np.sqrt(mean), bottom), total


def slope_uncertainty(trend: Trend, noise: ArrayLike) -> FloatArray:
    """Standard uncertainty of each slope for a known standard deviation of one reading."""
    return np.asarray(_INEFFICIENCY * trend.spread * np.asarray(noise, float), float)


def _ordered(t: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Readings in order of time, missing ones (NaN in both) last."""
    missing = np.isnan(t) | np.isnan(y)
    t = np.where(missing, np.nan, t)
    order = np.argsort(t, axis=-1, kind="stable")
    return np.take_along_axis(t, order, -1), np.take_along_axis(np.where(missing, np.nan, y), order, -1)


def _condensed(t: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Medians of MOST_READINGS groups of neighbours in time, each record grouped by its own count."""
    shape = t.shape[:-1]
    rows_t, rows_y = t.reshape(-1, t.shape[-1]), y.reshape(-1, t.shape[-1])
    new_t, new_y = np.full((2, len(rows_t), MOST_READINGS), np.nan)
    for row, count in enumerate((~np.isnan(rows_t)).sum(axis=-1).tolist()):
        if count <= MOST_READINGS:
            new_t[row, :count], new_y[row, :count] = rows_t[row, :count], rows_y[row, :count]
            continue
        edges = np.linspace(0, count, MOST_READINGS + 1).astype(int)
        for group, (start, stop) in enumerate(pairwise(edges.tolist())):
            new_t[row, group] = np.median(rows_t[row, start:stop])
            new_y[row, group] = np.median(rows_y[row, start:stop])
    return new_t.reshape(*shape, -1), new_y.reshape(*shape, -1)


def _pair_slopes(t: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Slopes of all pairs, sorted, NaN last, and how many there are."""
    first, second = np.triu_indices(t.shape[-1], 1)
    run = t[..., second] - t[..., first]
    slopes = (y[..., second] - y[..., first]) / np.where(run > 0, run, np.nan)
    slopes.sort(axis=-1)
    return slopes, (~np.isnan(slopes)).sum(axis=-1).astype(float)


def _at_rank(ordered: FloatArray, rank: FloatArray) -> FloatArray:
    """Value at a (half) rank of rows in rising order; NaN for a row without values."""
    if ordered.shape[-1] == 0:
        return np.full(ordered.shape[:-1], np.nan)
    rank = np.clip(rank, 0, ordered.shape[-1] - 1)
    low, high = np.floor(rank).astype(int), np.ceil(rank).astype(int)
    ends = [np.take_along_axis(ordered, index[..., None], -1)[..., 0] for index in (low, high)]
    return 0.5 * (ends[0] + ends[1])


def _last(t: FloatArray, count: FloatArray) -> FloatArray:
    """Time of each record's last reading; NaN without readings."""
    index = np.maximum(np.asarray(count, int) - 1, 0)
    return np.take_along_axis(t, index[..., None], -1)[..., 0]


def _least_squares(
    t: FloatArray, y: FloatArray, known: BoolArray, accumulating: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Residual mean square and slope spread about a least-squares line, for unit variance of a reading."""
    count = known.sum(axis=-1)
    some = np.maximum(count, 1)[..., None]
    tc = np.where(known, t - np.where(known, t, 0.0).sum(-1, keepdims=True) / some, 0.0)
    yc = np.where(known, y - np.where(known, y, 0.0).sum(-1, keepdims=True) / some, 0.0)
    sxx = (tc**2).sum(-1)
    sloped = sxx > 0
    weight = tc / np.where(sloped, sxx, np.nan)[..., None]
    residual = yc - tc * (weight * yc).sum(-1)[..., None]
    total = (residual**2).sum(-1)
    # Covariance K of the readings: the unit matrix, or 2 min(i, j) where differences add up.
    added = np.broadcast_to(accumulating, sloped.shape)
    later = 2 * (np.cumsum(weight[..., ::-1], -1)[..., ::-1][..., 1:] ** 2).sum(-1)
    variance = np.where(added, later, (weight**2).sum(-1))
    n = count.astype(float)
    trace = np.where(added, n * (n - 1), n)
    mean = np.where(added, (n - 1) * (2 * n - 1) / 3, 1.0)
    expected = trace - mean - variance * sxx
    square = total / np.where(sloped & (count > 2) & (expected > 1e-9), expected, np.nan)
    return square, np.sqrt(variance)


def _trimmed_share(valves: FloatArray, freedom: FloatArray) -> FloatArray:
    """Mean of all but the two greatest of so many chi-squared/freedom values, by quantiles."""
    from scipy.special import chdtri

    table: dict[tuple[int, int], float] = {}
    share = []
    for count, degrees in zip(
        np.ravel(valves).astype(int), np.ravel(np.round(freedom)).astype(int), strict=True
    ):
        if (count, degrees) not in table:
            # Middle of each of count x 50 slices of the distribution, the top two valves' slices left out.
            tail = 1 - (np.arange(50 * max(count - 2, 1)) + 0.5) / (50 * max(count, 1))
            table[count, degrees] = float(np.mean(chdtri(max(degrees, 1), tail)) / max(degrees, 1))
        share.append(table[count, degrees])
    return np.reshape(share, np.shape(valves))
