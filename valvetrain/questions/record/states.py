"""How lash and lobe lift of a set of valves move, from the readings of its inspections.

Arrays only, so that one call judges one engine or a thousand: shape [..., valves, readings].
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.trend.robust import Trend, robust_trend
from valvetrain.mechanics.trend.wear import FALLING, SetStates, lash_growth, less_group_median, set_states

__all__ = ["RecordStates", "record_states"]

# Readings to a coarse step scatter in jumps, whose tails are heavier than a normal noise's: by simulation of
# healthy engines with feelers, so much of the step and so strict a bar keep false alarms below one in fifty.
_COARSENESS = 0.6
_ALARM_RATE = 0.0025
# A dial's tenths are fine beside its noise: nothing to be stricter for.
_LIFT_ALARM_RATE = 0.006


@dataclass(frozen=True)
class RecordStates:
    """Trends and states of a set.

    Attributes:
        growth: lash that wear has added since the first reading, resets out [m], [..., valves, readings].
        lift: lobe lift less the median of its role [m], same shape.
        span: time from a valve's first to its last reading, [..., valves].
        lash_trend, lift_trend: Theil and Sen, of growth and of lift.
        lash, lift_states: what the set says of each valve.
    """

    growth: FloatArray
    lift: FloatArray
    span: FloatArray
    lash_trend: Trend
    lift_trend: Trend
    lash: SetStates
    lift_states: SetStates


def record_states(
    time: ArrayLike,
    lash_found: ArrayLike,
    lash_left: ArrayLike,
    lobe_lift: ArrayLike,
    role: ArrayLike,
    *,
    lash_step: float = 0.0,
    lift_step: float = 0.0,
    notable_lash: float = float("nan"),
    notable_lift: float = float("nan"),
) -> RecordStates:
    """Judge a set of valves by its readings.

    Args:
        time: of each reading, rising along the last axis, NaN past a valve's last reading.
        lash_found, lash_left: [m]; NaN not measured.
        lobe_lift: [m].
        role: number of each valve's role, shape [valves].
        lash_step, lift_step: finest step of the readings [m]; nothing finer than its scatter is believed.
        notable_lash, notable_lift: changes over the record that one wants to see [m].
    """
    t = np.asarray(time, float)
    growth, adds_up = lash_growth(lash_found, lash_left)
    lift = less_group_median(lobe_lift, role)
    known = ~np.isnan(t)
    first = np.min(t, axis=-1, where=known, initial=np.inf)
    last = np.max(t, axis=-1, where=known, initial=-np.inf)
    span = np.where(known.any(axis=-1), last - first, np.nan)
    lash_trend = robust_trend(t, growth, accumulating=adds_up)
    lift_trend = robust_trend(t, lift)
    return RecordStates(
        growth=growth,
        lift=lift,
        span=span,
        lash_trend=lash_trend,
        lift_trend=lift_trend,
        lash=set_states(
            lash_trend,
            span,
            noise_floor=_COARSENESS * lash_step,
            alarm_rate=_ALARM_RATE,
            notable_change=notable_lash,
            group=role,
        ),
        lift_states=set_states(
            lift_trend,
            span,
            noise_floor=_COARSENESS * lift_step,
            alarm_rate=_LIFT_ALARM_RATE,
            notable_change=notable_lift,
            only=FALLING,
            alike=True,
            group=role,
        ),
    )
