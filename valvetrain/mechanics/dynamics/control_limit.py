"""Rigid control limit: the speed at which a rigid valvetrain would first leave its lobe, and what moves it.

By virtual work the force of lobe on tappet is static + w^2 x inertia at every cam angle, whatever the
pushrod's lean: static = ratio x spring force, inertia = the sum of each mass times its own motion. Friction
is left out: it holds the train to the lobe on the way up and helps it off on the way down.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.dynamics.train_loads import TrainCurves, TrainMasses, rocker_motion

__all__ = [
    "ControlLimit",
    "LobeTerms",
    "control_limit",
    "control_margin",
    "lobe_terms",
    "required_spring_force",
    "seat_load_for",
]


@dataclass(frozen=True)
class LobeTerms:
    """The force of lobe on tappet, split; every field has the shape [..., angles].

    force = ratio (seat_load + rate x lift) + w^2 (valve_side x m_v + rocker x J + follower x m_f) where the
    valve is lifted.

    Attributes:
        lifted: whether the valve is off its seat there.
        ratio: instantaneous ratio [-].
        valve_lift: [m].
        valve_side: per kg at the valve [m/rad2].
        rocker: per kg m2 of rocker inertia [1/(m rad2)].
        follower: per kg of tappet and pushrod [m/rad2].
    """

    lifted: BoolArray
    ratio: FloatArray
    valve_lift: FloatArray
    valve_side: FloatArray
    rocker: FloatArray
    follower: FloatArray

    def inertia(self, masses: TrainMasses) -> FloatArray:
        """Force per square of the cam speed [N s2/rad2], shape [..., angles]."""
        valve, rocker, pushrod, tappet = (np.asarray(m, float)[..., None] for m in vars(masses).values())
        total: FloatArray = (
            self.valve_side * valve + self.rocker * rocker + self.follower * (pushrod + tappet)
        )
        return total


@dataclass(frozen=True)
class ControlLimit:
    """Where a rigid train leaves its lobe; every field has the shape [...] of the valves.

    A speed is that of the camshaft; twice it for the crankshaft, derivatives as well. Where the train never
    leaves (no angle pushes it off) speed is infinite, and the angle and the derivatives are NaN.

    Attributes:
        speed: [rad/s].
        angle: cam angle at which the force first reaches zero [rad].
        valve_lift: lift there [m].
        per_seat_load: change of the speed per seat load [rad/s/N].
        per_rate: per spring rate, the seat load kept [rad/s/(N/m)].
        per_valve_mass: per mass at the valve side [rad/s/kg], negative.
        per_rocker_inertia: [rad/s/(kg m2)], usually negative.
        per_follower_mass: per mass of tappet and pushrod [rad/s/kg], negative.
        nose_force: force on the lobe at full lift, turning slowly, where the nose carries most [N].
        nose_per_seat_load: its change per seat load [-].
        nose_per_rate: its change per rate, the seat load kept [m].
    """

    speed: FloatArray
    angle: FloatArray
    valve_lift: FloatArray
    per_seat_load: FloatArray
    per_rate: FloatArray
    per_valve_mass: FloatArray
    per_rocker_inertia: FloatArray
    per_follower_mass: FloatArray
    nose_force: FloatArray
    nose_per_seat_load: FloatArray
    nose_per_rate: FloatArray


def lobe_terms(curves: TrainCurves, pad_arm: ArrayLike) -> LobeTerms:
    """Split the force on the lobe by virtual work.

    Args:
        curves: motion over cam angle, shape [..., angles].
        pad_arm: [m], shape [...].

    Returns:
        the terms; NaN where the motion is NaN.
    """
    _, turn2 = rocker_motion(curves, pad_arm)
    across = np.asarray(pad_arm, float)[..., None] * np.cos(curves.pad_angle)
    acceleration = curves.ratio * curves.tappet_acceleration + curves.ratio_slope * curves.tappet_velocity**2
    lifted = np.asarray(curves.valve_lift) > 0
    return LobeTerms(
        lifted=lifted,
        ratio=curves.ratio,
        valve_lift=curves.valve_lift,
        valve_side=lifted * curves.ratio * acceleration,
        rocker=turn2 * curves.ratio / across,
        follower=curves.tappet_acceleration,
    )


def control_limit(
    terms: LobeTerms, angle: FloatArray, masses: TrainMasses, seat_load: ArrayLike, rate: ArrayLike
) -> ControlLimit:
    """The least speed at which the force of the lobe on the tappet reaches zero, and its derivatives.

    Closed form per angle, w^2 = static/(-inertia) where inertia < 0; the least over the angles is refined by
    a parabola through its neighbors. At that least the angle's own shift has no first-order effect, so the
    derivatives are those of w^2 at a fixed angle.

    Args:
        terms: from `lobe_terms`, shape [..., angles].
        angle: cam angles, rising evenly [rad], shape [angles].
        masses: shape [...].
        seat_load: spring force on the closed valve [N], shape [...], > 0.
        rate: spring rate [N/m], shape [...], > 0.

    Returns:
        the limit, shape [...]. NaN where an input is NaN.

    Raises:
        ValueError: seat load or rate zero or negative (the spring does not reach the valve).
    """
    seat, k = _spring(seat_load, rate)
    inertia, static = np.broadcast_arrays(
        terms.inertia(masses), terms.ratio * (seat[..., None] + k[..., None] * terms.valve_lift)
    )
    leaving = terms.lifted & (inertia < 0)
    squared = np.where(leaving, static / np.where(leaving, -inertia, 1.0), np.inf)
    unknown = np.any(np.isnan(inertia) | np.isnan(static), axis=-1)
    at = np.argmin(squared, axis=-1)
    least, shift = _vertex(squared, at)
    least = np.where(unknown, np.nan, least)
    speed = np.sqrt(least)
    found = np.isfinite(least)

    def there(values: FloatArray) -> FloatArray:
        full = np.broadcast_to(values, squared.shape)
        return np.where(found, np.take_along_axis(full, at[..., None], -1)[..., 0], np.nan)

    pushing = -there(inertia)
    # d(w)/dp = d(w^2)/dp / (2 w); a mass enters below the fraction bar, a load above it.
    finite = np.where(found, speed, np.nan)
    by_load = 1.0 / (2.0 * finite * pushing)
    by_mass = finite / (2.0 * pushing)
    ratio = there(terms.ratio)
    lift = there(terms.valve_lift)
    step = float(angle[1] - angle[0])
    top = np.argmax(np.nan_to_num(np.broadcast_to(static, squared.shape), nan=-np.inf), axis=-1)[..., None]
    nose_ratio = np.take_along_axis(np.broadcast_to(terms.ratio, squared.shape), top, -1)[..., 0]
    nose_lift = np.take_along_axis(np.broadcast_to(terms.valve_lift, squared.shape), top, -1)[..., 0]
    return ControlLimit(
        speed=speed,
        angle=np.where(found, np.asarray(angle)[at] + shift * step, np.nan),
        valve_lift=lift,
        per_seat_load=by_load * ratio,
        per_rate=by_load * ratio * lift,
        per_valve_mass=by_mass * there(terms.valve_side),
        per_rocker_inertia=by_mass * there(terms.rocker),
        per_follower_mass=by_mass * there(terms.follower),
        nose_force=nose_ratio * (seat + k * nose_lift),
        nose_per_seat_load=nose_ratio,
        nose_per_rate=nose_ratio * nose_lift,
    )


def control_margin(limit_speed: ArrayLike, redline: ArrayLike) -> FloatArray:
    """Room between a limit and the redline, limit/redline - 1 [-]; negative where the limit lies below.

    Args:
        limit_speed: any unit of speed; infinite where there is no limit.
        redline: same unit, of the same shaft, > 0.
    """
    line = np.asarray(redline, float)
    if np.any(line <= 0):
        raise ValueError(f"The redline is {line.min():g}; it must be greater than zero.")
    margin: FloatArray = np.asarray(limit_speed, float) / line - 1.0
    return margin


def required_spring_force(terms: LobeTerms, masses: TrainMasses, cam_speed: ArrayLike) -> FloatArray:
    """Spring force that just keeps the tappet on the lobe [N], shape [..., speeds, angles].

    Zero where the motion itself presses the train on the lobe, and where the valve is closed.

    Args:
        terms: from `lobe_terms`.
        masses: shape [...].
        cam_speed: [rad/s], shape [speeds].
    """
    squared = (np.atleast_1d(np.asarray(cam_speed, float)) ** 2)[:, None]
    need = -terms.inertia(masses) / terms.ratio
    force: FloatArray = np.maximum(
        0.0, np.where(terms.lifted | np.isnan(need), need, 0.0)[..., None, :] * squared
    )
    return force


def seat_load_for(terms: LobeTerms, masses: TrainMasses, rate: ArrayLike, cam_speed: ArrayLike) -> FloatArray:
    """Least seat load that keeps the tappet on the lobe at a speed, at a given rate [N], shape [..., speeds].

    Args:
        terms: from `lobe_terms`.
        masses: shape [...].
        rate: spring rate [N/m], shape [...], > 0.
        cam_speed: [rad/s], shape [speeds].

    Returns:
        the load, never below zero.
    """
    _, k = _spring(1.0, rate)
    need = required_spring_force(terms, masses, cam_speed)
    short = need - k[..., None, None] * np.asarray(terms.valve_lift)[..., None, :]
    load: FloatArray = np.maximum(0.0, short.max(axis=-1))
    return load


def _spring(seat_load: ArrayLike, rate: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Seat load and rate as arrays; zero or negative is refused."""
    seat, k = np.asarray(seat_load, float), np.asarray(rate, float)
    if np.any(seat <= 0):
        raise ValueError(
            f"Seat load is {seat.min():g} N; the spring must press on the closed valve (greater than zero)."
        )
    if np.any(k <= 0):
        raise ValueError(f"Spring rate is {k.min():g} N/m; it must be greater than zero.")
    return seat, k


def _vertex(values: FloatArray, at: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Least of a parabola through a least sample and its neighbors, and its shift in steps.

    At a border of the lifted or leaving range (a neighbor is infinite) the sample itself is the least.
    """
    last = values.shape[-1] - 1
    picks = np.stack([np.clip(at - 1, 0, last), at, np.clip(at + 1, 0, last)], axis=-1)
    before, here, after = np.moveaxis(np.take_along_axis(values, picks, -1), -1, 0)
    inside = np.isfinite(before) & np.isfinite(after) & (at > 0) & (at < last)
    before, after = np.where(inside, before, here), np.where(inside, after, here)
    with np.errstate(invalid="ignore"):
        bend = before - 2.0 * here + after
        rise = 0.5 * (after - before)
    curved = inside & (bend > 0)
    shift = np.where(curved, -rise / np.where(curved, bend, 1.0), 0.0)
    return np.where(curved, here + 0.5 * rise * shift, here), shift
