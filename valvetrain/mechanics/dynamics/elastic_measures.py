"""What an elastic run says of control: separation, seating, bounce, peak loads, lost lift, their onset."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.dynamics.elastic_train import ElasticSweep

__all__ = ["ElasticMeasures", "elastic_measures", "lasting", "onset_speed"]

SEAT_BIT = 1  # the seat's place in the binary number of closed contacts


@dataclass(frozen=True)
class ElasticMeasures:
    """One number per train and speed, shape [V, S], from the last cycle.

    Attributes:
        lobe_separation: cam angle over which the tappet is off the lobe while the rigid valve is open [rad].
        lobe_separation_start: cam angle from full lift where that begins [rad]; NaN if it never does.
        lobe_gap: greatest gap there, at the tappet [m]; 0 if none.
        pushrod_separation: cam angle over which the pushrod is out of its cup, likewise [rad].
        pushrod_separation_start: [rad].
        tip_separation: cam angle over which the pad is off the tip while the rigid valve is open [rad].
        tip_separation_start: [rad].
        seating_angle: cam angle from full lift of the first landing after full lift [rad], NaN if none.
        seating_speed: speed toward the seat at that landing [m/s], positive.
        bounce_height: greatest lift after that landing [m].
        bounces: number of times the valve leaves its seat after that landing.
        peak_lobe, peak_pushrod, peak_cup, peak_tip, peak_seat: greatest forces [N].
        lost_lift: greatest rigid lift less greatest lift [m]; negative where the valve flies past it.
        overshoot: greatest lift above the rigid lift at the same angle while the rigid valve is open [m].
    """

    lobe_separation: FloatArray
    lobe_separation_start: FloatArray
    lobe_gap: FloatArray
    pushrod_separation: FloatArray
    pushrod_separation_start: FloatArray
    tip_separation: FloatArray
    tip_separation_start: FloatArray
    seating_angle: FloatArray
    seating_speed: FloatArray
    bounce_height: FloatArray
    bounces: FloatArray
    peak_lobe: FloatArray
    peak_pushrod: FloatArray
    peak_cup: FloatArray
    peak_tip: FloatArray
    peak_seat: FloatArray
    lost_lift: FloatArray
    overshoot: FloatArray


def elastic_measures(sweep: ElasticSweep, shy: float = 0.1, least_gap: float = 38e-6) -> ElasticMeasures:
    """Measure the last cycle of a sweep.

    Args:
        sweep: from `elastic_sweep`.
        shy: share of the greatest rigid lift below which separation is not counted [-], 0 to 1: while the
            lash is being taken up the parts meet and part at any speed, which is no loss of control.
        least_gap: gap below which parts are not counted as separated [m], >= 0: a stiff train chatters by
            a few micrometers long before it loses control. As given it is the thinnest feeler, 0.0015 in.

    Returns:
        the measures, [V, S]. Peaks are those of a parabola through the greatest sample and its neighbors.
    """
    if not 0 <= shy < 1:
        raise ValueError(f"shy is {shy:g}; it must be from 0 to below 1.")
    if not least_gap >= 0:
        raise ValueError(f"least_gap is {least_gap:g} m; it must be zero or more.")
    rigid = sweep.rigid_lift[:, None]
    raised = rigid > shy * rigid.max(axis=-1, keepdims=True)
    lobe_off = raised & (sweep.lobe_gap > least_gap)
    pushrod_off = raised & (sweep.pushrod_gap > least_gap)
    tip_off = raised & (sweep.tip_gap > least_gap)
    step = float(sweep.angle[1] - sweep.angle[0])
    landing, speed, bounces = _landings(sweep, step)
    after = sweep.angle > landing[..., None]
    lift_after = np.where(after, sweep.valve_lift, 0.0)
    peak = _peak(sweep.valve_lift)
    return ElasticMeasures(
        lobe_separation=step * lobe_off.sum(axis=-1),
        lobe_separation_start=_start(sweep.angle, lobe_off),
        lobe_gap=np.max(np.where(lobe_off, sweep.lobe_gap, 0.0), axis=-1, initial=0.0),
        pushrod_separation=step * pushrod_off.sum(axis=-1),
        pushrod_separation_start=_start(sweep.angle, pushrod_off),
        tip_separation=step * tip_off.sum(axis=-1),
        tip_separation_start=_start(sweep.angle, tip_off),
        seating_angle=landing,
        seating_speed=speed,
        bounce_height=np.where(np.isnan(landing), np.nan, np.maximum(0.0, lift_after.max(axis=-1))),
        bounces=bounces,
        peak_lobe=_peak(sweep.lobe),
        peak_pushrod=_peak(sweep.pushrod),
        peak_cup=_peak(sweep.cup),
        peak_tip=_peak(sweep.tip),
        peak_seat=_peak(sweep.seat),
        lost_lift=rigid.max(axis=-1) - peak,
        overshoot=np.max(np.where(rigid > 0, sweep.valve_lift - rigid, 0.0), axis=-1, initial=0.0),
    )


def lasting(measure: FloatArray, threshold: ArrayLike) -> FloatArray:
    """A measure over speed without what grazes at a single speed, to be held against its threshold.

    Cut off at twice the threshold, so that a jump to any height weighs no more than it must, then averaged
    over three speeds (1, 2, 1): a jump is found between the two speeds where it is, and one that lasts for
    one speed only is not found unless its neighbors are near the threshold as well.

    Args:
        measure: at even speeds (or of even ratio), >= 0, [..., S]; NaN counts as zero.
        threshold: [...], >= 0.

    Returns:
        [..., S], from 0 to twice the threshold.
    """
    limit = np.broadcast_to(np.asarray(threshold, float), measure.shape[:-1])[..., np.newaxis]
    cut = np.minimum(np.nan_to_num(measure), 2.0 * limit)
    ends = np.concatenate([cut[..., :1], cut, cut[..., -1:]], axis=-1)
    averaged: FloatArray = (ends[..., :-2] + 2.0 * ends[..., 1:-1] + ends[..., 2:]) / 4.0
    return averaged


def onset_speed(speed: ArrayLike, measure: FloatArray, threshold: ArrayLike) -> FloatArray:
    """Lowest speed at which a measure passes a threshold, between speeds on a straight line.

    Args:
        speed: rising, any unit, [S].
        measure: [..., S]; NaN counts as not passed.
        threshold: [...].

    Returns:
        [...] in the unit of `speed`: NaN where it never passes within the sweep, the first speed where it is
        passed from the start.

    Raises:
        ValueError: speeds that do not rise.
    """
    x = np.asarray(speed, float)
    if x.ndim != 1 or np.any(np.diff(x) <= 0):
        raise ValueError("The speeds of a sweep must rise from one to the next.")
    y = np.asarray(measure, float)
    limit = np.broadcast_to(np.asarray(threshold, float), y.shape[:-1])[..., None]
    over = y > limit
    at = np.argmax(over, axis=-1)[..., None]
    before = np.maximum(at - 1, 0)
    high = np.take_along_axis(y, at, -1)
    low = np.take_along_axis(y, before, -1)
    rise = np.where((at > 0) & np.isfinite(low) & (high > low), high - low, np.inf)
    back = np.where(np.isfinite(rise), (high - limit) / rise, 0.0)
    found = x[at] - back * (x[at] - x[before])
    return np.where(over.any(axis=-1), found[..., 0], np.nan)


def _start(angle: FloatArray, off: BoolArray) -> FloatArray:
    """First angle of a mask, NaN where it is empty."""
    return np.where(off.any(axis=-1), angle[np.argmax(off, axis=-1)], np.nan)


def _landings(sweep: ElasticSweep, step: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Angle and speed of the first landing after full lift, and how often the seat is left after it."""
    shape = sweep.valve_lift.shape[:2]
    landing, speed = np.full(shape, np.nan), np.full(shape, np.nan)
    bounces = np.full(shape, np.nan)
    changes = sweep.changes
    angle = -np.pi + changes.step * step
    lands = ((changes.after & SEAT_BIT) > (changes.before & SEAT_BIT)) & (angle > 0)
    leaves = ((changes.after & SEAT_BIT) < (changes.before & SEAT_BIT)) & (angle > 0)
    lane = (changes.train, changes.speed)
    order = np.argsort(angle, kind="stable")[::-1]  # the earliest is written last and stays
    order = order[lands[order]]
    where = (lane[0][order], lane[1][order])
    landing[where], speed[where], bounces[where] = angle[order], -changes.velocity[order], 0.0
    later = leaves & (angle > landing[lane])
    np.add.at(bounces, (lane[0][later], lane[1][later]), 1.0)
    return landing, speed, bounces


def _peak(values: FloatArray) -> FloatArray:
    """Greatest value along the last axis, on a parabola through its neighbors where these are not zero."""
    last = values.shape[-1] - 1
    at = np.argmax(values, axis=-1)[..., None]
    here, before, after = (
        np.take_along_axis(values, np.clip(at + shift, 0, last), -1)[..., 0] for shift in (0, -1, 1)
    )
    bend = 2.0 * here - before - after
    good = (bend > 0) & (before > 0) & (after > 0)
    return here + np.where(good, (after - before) ** 2 / (8.0 * np.where(good, bend, 1.0)), 0.0)
