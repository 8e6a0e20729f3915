"""From the trends of a set of valves to how each of them moves: rising, steady, falling, cannot tell.

A valve is judged twice: does its own trend differ from none, and does it stand out from its fellows? Only the
second is an alarm: what all fellows do together is even wear. The bar is set so that an evenly wearing engine
as a whole seldom raises one, however many valves it has.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.trend.robust import Trend, pooled_noise, slope_uncertainty

__all__ = [
    "CANNOT_TELL",
    "FALLING",
    "RISING",
    "STEADY",
    "SetStates",
    "lash_growth",
    "less_group_median",
    "set_states",
]

RISING, STEADY, FALLING, CANNOT_TELL = "rising", "steady", "falling", "cannot tell"
_WORDS = np.array([FALLING, STEADY, RISING, CANNOT_TELL])
_LEAST_READINGS = 3
_LEAST_FELLOWS = 4
# Valves that wear evenly still differ: standard deviation as a share of their common rate (invented).
_UNEVEN = 0.15
# Beyond so many standard uncertainties the fellows are said to move together.
_TOGETHER = 3.0


@dataclass(frozen=True)
class SetStates:
    """How each valve of a set moves; all of shape [..., valves] unless said.

    Attributes:
        state: RISING, STEADY, FALLING or CANNOT_TELL.
        stands_out: True where the valve moves otherwise than its fellows.
        score: slope over its standard uncertainty [1].
        set_score: slope less its fellows' median, over the uncertainty of that difference [1]; NaN without
            at least four that can be compared.
        common: median slope of its fellows, itself among them [value per time].
        common_uncertainty: standard uncertainty of that median.
        together: True where the fellows as a whole move beyond doubt.
        bar: score beyond which a valve raises an alarm [1], shape [...].
        slope_uncertainty: standard uncertainty of the slope [value per time].
        noise: standard deviation of one reading [value], shape [...].
        provable_change: least change over the record that would have raised an alarm [value].
    """

    state: np.ndarray[tuple[int, ...], np.dtype[np.str_]]
    stands_out: BoolArray
    score: FloatArray
    set_score: FloatArray
    common: FloatArray
    common_uncertainty: FloatArray
    together: BoolArray
    bar: FloatArray
    slope_uncertainty: FloatArray
    noise: FloatArray
    provable_change: FloatArray


def lash_growth(found: ArrayLike, left: ArrayLike) -> tuple[FloatArray, BoolArray]:
    """Lash that wear has added since the first inspection, resets by the adjuster taken out.

    Args:
        found: lash found at each inspection [m], shape [..., inspections] in order of time; NaN missing.
        left: lash left after it [m]; NaN where it was not touched (then what was found was left).

    Returns:
        (growth [m], same shape, 0 at the first reading, NaN where no lash was found; whether the noise adds
        up, shape [...]: True if the lash was set anew at more than a third of the inspections).
    """
    have, leave = np.broadcast_arrays(np.asarray(found, float), np.asarray(left, float))
    after = np.where(np.isnan(leave), have, leave)
    # The lash left at the last inspection that has one, carried over inspections that have none.
    index = np.where(np.isnan(after), 0, np.arange(after.shape[-1]))
    index = np.maximum.accumulate(index, axis=-1)
    carried = np.take_along_axis(after, index, -1)
    step = np.zeros(have.shape)
    step[..., 1:] = have[..., 1:] - carried[..., :-1]
    growth = np.where(np.isnan(have), np.nan, np.nancumsum(step, axis=-1))
    # A reset at the last inspection of all has no later reading to disturb.
    reset = (np.abs(after - have) > 0) & ~np.isnan(have)
    return growth, np.asarray(3 * reset[..., :-1].sum(axis=-1) > have.shape[-1], bool)


def less_group_median(values: ArrayLike, group: ArrayLike) -> FloatArray:
    """Readings less the median of all readings of their group (role), so that the roles form one set.

    Args:
        values: shape [..., valves, readings]; NaN missing.
        group: number of each valve's group, shape [valves].
    """
    table, groups = np.asarray(values, float), np.asarray(group)
    centered = np.full(table.shape, np.nan)
    for one in np.unique(groups):
        rows = table[..., groups == one, :]
        flat = np.sort(rows.reshape(*rows.shape[:-2], -1), axis=-1)
        rank = 0.5 * (np.maximum((~np.isnan(flat)).sum(axis=-1), 1) - 1)
        ends = [np.take_along_axis(flat, end(rank).astype(int)[..., None], -1) for end in (np.floor, np.ceil)]
        centered[..., groups == one, :] = rows - 0.5 * (ends[0] + ends[1])[..., None]
    return centered


def set_states(
    trend: Trend,
    span: ArrayLike,
    *,
    noise_floor: float = 0.0,
    alarm_rate: float = 0.008,
    notable_change: float = float("nan"),
    only: str | None = None,
    alike: bool = False,
    group: ArrayLike | None = None,
) -> SetStates:
    """Judge the valves of a set together.

    Args:
        trend: of the set, shape [..., valves] (`robust_trend`).
        span: time from first to last reading [time], shape [..., valves].
        noise_floor: least standard deviation of a reading to believe in [value].
        alarm_rate: accepted share of healthy sets that raise any alarm, for this one quantity, 0 to 0.5.
        notable_change: change over the record that one would want to see [value]; a valve whose record could
            not prove it is CANNOT_TELL and not STEADY. NaN: not asked.
        only: RISING or FALLING where the other way cannot be wear and raises no alarm (lift never grows).
        alike: True where the set was made to one value (the lobes of one role, or each lobe's lift less its
            role's median). A fall that leaves a valve below its fellows then counts twice: the slope and the
            distance from the others' mean are independent evidence, joined by Fisher's method (memory). How
            alike the others are is taken from their own scatter. Needs `only`, and four valves.
        group: number of each valve's group (role), shape [valves]: valves of one group are fellows, since
            intake and exhaust may wear at rates of their own. A group of fewer than four that can be judged
            is compared with the whole set. None: all are fellows.

    Raises:
        ValueError: an alarm rate out of range, a direction that is neither, or `alike` without a direction.
    """
    from scipy.special import stdtrit

    if not 0 < alarm_rate <= 0.5:
        raise ValueError(f"alarm rate is {alarm_rate}: above 0 and up to 0.5 is allowed")
    if only not in (None, RISING, FALLING):
        raise ValueError(f"direction is {only!r}: {RISING!r}, {FALLING!r} or None is allowed")
    if alike and only is None:
        raise ValueError("a set that was made alike is judged in one direction: name RISING or FALLING")
    noise, freedom = pooled_noise(trend.residual_square, trend.count, noise_floor)
    uncertainty = slope_uncertainty(trend, noise[..., None])
    enough = (trend.count >= _LEAST_READINGS) & ~np.isnan(uncertainty) & ~np.isnan(trend.slope)
    valves = enough.sum(axis=-1)
    # Every valve is tried in one or both directions, against none and against the set: two trials that are so
    # alike that they count as 1.2 (by simulation of healthy sets of 4 to 16 valves).
    trials = np.maximum(valves, 1) * (1.2 if only else 2.4)
    single = alarm_rate / trials * (0.5 if alike else 1.0)
    bar = stdtrit(np.maximum(freedom, 1), 1 - single)
    with np.errstate(invalid="ignore", divide="ignore"):
        score = np.where(enough, trend.slope / uncertainty, np.nan)
        slopes = np.where(enough, trend.slope, np.nan)
        common, common_u, fellows = _fellows(slopes, uncertainty, group)
        apart = slopes - common
        set_score = apart / np.sqrt(uncertainty**2 + common_u**2 + (_UNEVEN * common) ** 2)
    # Against fewer than four there is no rest to stand out from.
    compared = enough & (fellows >= _LEAST_FELLOWS)
    set_score = np.where(compared, set_score, np.nan)
    high, low = score > bar[..., None], score < -bar[..., None]
    out_high, out_low = set_score > bar[..., None], set_score < -bar[..., None]
    if alike:
        sign = 1.0 if only == RISING else -1.0
        mean = np.where(enough, sign * trend.mean, np.nan)
        # The joint trial of each valve is one trial, not 1.2.
        joint = _both_apart(
            sign * set_score,
            mean,
            noise[..., None] / np.sqrt(np.where(trend.count > 0, trend.count, np.nan)),
            freedom,
            1.2 * single,
        )
        # Independent only while the noise and not uneven wear, which moves both, sets the slopes apart.
        joint &= np.abs(_UNEVEN * common) < uncertainty
        if only == RISING:
            high, out_high = high | joint, out_high | joint
        else:
            low, out_low = low | joint, out_low | joint
    if only == FALLING:
        high, out_high = np.zeros_like(high), np.zeros_like(high)
    if only == RISING:
        low, out_low = np.zeros_like(low), np.zeros_like(low)
    provable = bar[..., None] * uncertainty * np.asarray(span, float)
    unclear = ~enough | (~high & ~low & (provable > notable_change))
    code = np.where(high, 2, np.where(low, 0, np.where(unclear, 3, 1)))
    return SetStates(
        state=_WORDS[code],
        stands_out=out_high | out_low,
        score=score,
        set_score=set_score,
        common=np.where(compared, common, np.nan),
        common_uncertainty=np.where(compared, common_u, np.nan),
        together=compared & (np.abs(common) > _TOGETHER * common_u),
        bar=bar,
        slope_uncertainty=np.where(enough, uncertainty, np.nan),
        noise=noise,
        provable_change=provable,
    )


def _fellows(
    slope: FloatArray, uncertainty: FloatArray, group: ArrayLike | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Each valve's fellows: median slope, its standard uncertainty, and their number, [..., valves]."""
    middle, variance = _set_median(slope, uncertainty)
    known = ~np.isnan(slope)
    common, square, count = (
        np.broadcast_to(each[..., None], slope.shape).copy()
        for each in (middle, variance, known.sum(axis=-1).astype(float))
    )
    groups = np.zeros(slope.shape[-1]) if group is None else np.asarray(group)
    for one in np.unique(groups):
        mine = groups == one
        own, own_variance = _set_median(slope[..., mine], uncertainty[..., mine])
        number = known[..., mine].sum(axis=-1).astype(float)
        enough = (number >= _LEAST_FELLOWS)[..., None]
        for table, value in ((common, own), (square, own_variance), (count, number)):
            table[..., mine] = np.where(enough, value[..., None], table[..., mine])
    return common, np.sqrt(square), count


def _both_apart(
    score: FloatArray, mean: FloatArray, mean_noise: FloatArray, freedom: FloatArray, rate: FloatArray
) -> BoolArray:
    """Valves that move (score) and lie (mean) in the positive direction, by the product of both chances."""
    from scipy.special import chdtri, stdtr

    known = ~np.isnan(mean)
    others = (known.sum(-1, keepdims=True) - known).astype(float)
    filled = np.where(known, mean - np.where(known, mean, 0.0).sum(-1, keepdims=True)
                      / np.maximum(known.sum(-1, keepdims=True), 1), 0.0)  # fmt: skip
    rest = np.where(others >= 3, others, np.nan)
    middle = (filled.sum(-1, keepdims=True) - filled) / rest
    square = ((filled**2).sum(-1, keepdims=True) - filled**2) - rest * middle**2
    scatter = np.maximum(square / (rest - 1), mean_noise**2)
    with np.errstate(invalid="ignore", divide="ignore"):
        distance = (filled - middle) / np.sqrt(scatter * (1 + 1 / rest))
    chance_mean = stdtr(rest - 1, -distance)
    chance_slope = stdtr(np.maximum(freedom, 1)[..., None], -score)  # NaN without fellows: not apart
    product = np.maximum(chance_mean * chance_slope, 1e-300)
    joined = -2 * np.log(product) > chdtri(4, rate)[..., None]
    # A valve that was low from the start and stays so is not moving.
    return np.asarray(known & joined & (chance_slope < 0.05), bool)


def _set_median(slope: FloatArray, uncertainty: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Median slope of the set and its variance (pi/2 of a mean's, for normal noise); NaN without valves."""
    ordered = np.sort(slope, axis=-1)
    count = (~np.isnan(ordered)).sum(axis=-1)
    rank = 0.5 * (np.maximum(count, 1) - 1)
    ends = [
        np.take_along_axis(ordered, end(rank).astype(int)[..., None], -1)[..., 0]
        for end in (np.floor, np.ceil)
    ]
    square = np.where(np.isnan(slope), 0.0, uncertainty**2).sum(axis=-1)
    return 0.5 * (ends[0] + ends[1]), 0.5 * np.pi * square / np.maximum(count, 1) ** 2
