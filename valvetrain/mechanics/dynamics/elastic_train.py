"""Elastic valvetrain over a speed sweep: motion and loads in the last of a few cycles.

Model and its limits: three masses and a surging spring in a row with four contacts (see `elastic_system`).
The changing ratio enters through the pad drop of the rigid train; masses and stiffnesses are reduced with one
ratio. Torsion and bending of the camshaft, the oil film and the rocker's shaft clearance are in the lobe's
stiffness and damping, if anywhere. A limit of this model is not a licence to run at it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.elastic_stepping import LONGEST_STEP, ContactChanges, March, marched
from valvetrain.mechanics.dynamics.elastic_system import CONTACTS, ElasticSystem, ElasticTrain, elastic_system

__all__ = ["ElasticSweep", "elastic_sweep", "reduced_train"]


@dataclass(frozen=True)
class ElasticSweep:
    """Last cycle of every train (V) at every speed (S); curves have the shape [V, S, steps + 1].

    Attributes:
        angle: cam angle from full lift, -pi to pi [rad], [steps + 1].
        cam_speed: [rad/s], [S].
        rigid_lift: net lift of the rigid train [m], [V, steps + 1].
        valve_lift: [m]; 0 is the closed valve at rest, so a landing valve dips a little below it.
        valve_velocity: [m/s].
        lobe, pushrod, cup, tip, seat: force in each contact [N], lobe, pushrod and cup on the tappet's side
            of the ratio; 0 where the contact is open.
        lobe_gap: tappet off the lobe, on the tappet's side [m]; negative when pressed.
        pushrod_gap: pushrod out of its cup, on the tappet's side [m].
        tip_gap: pad off the tip, the lash included [m].
        changes: located contact changes; `step` in steps since angle -pi.
        unsteadiness: greatest change of the valve's place between the last two cycles [m], [V, S].
    """

    angle: FloatArray
    cam_speed: FloatArray
    rigid_lift: FloatArray
    valve_lift: FloatArray
    valve_velocity: FloatArray
    lobe: FloatArray
    pushrod: FloatArray
    cup: FloatArray
    tip: FloatArray
    seat: FloatArray
    lobe_gap: FloatArray
    pushrod_gap: FloatArray
    tip_gap: FloatArray
    changes: ContactChanges
    unsteadiness: FloatArray


def reduced_train(
    *,
    tappet_mass: ArrayLike,
    pushrod_mass: ArrayLike,
    rocker_inertia: ArrayLike,
    pad_arm: ArrayLike,
    valve_mass: ArrayLike,
    spring_mass: ArrayLike,
    ratio: ArrayLike,
    lobe_stiffness: ArrayLike,
    pushrod_stiffness: ArrayLike,
    tip_stiffness: ArrayLike,
    seat_stiffness: ArrayLike,
    spring_rate: ArrayLike,
    seat_load: ArrayLike,
    lash: ArrayLike,
    damping_ratio: ArrayLike = 0.1,
    spring_damping: ArrayLike = 0.02,
    guide_damping: ArrayLike = 0.0,
) -> ElasticTrain:
    """The train seen from the valve, from its parts as they are.

    Args:
        tappet_mass, pushrod_mass, valve_mass: [kg], > 0; the valve's without the spring.
        rocker_inertia: about the shaft [kg m2], > 0.
        pad_arm: shaft axis to pad, across the stem [m], > 0.
        spring_mass: active coils [kg].
        ratio: pad drop per tappet rise [-], > 0.
        lobe_stiffness, pushrod_stiffness: on the tappet's side [N/m], > 0.
        tip_stiffness: rocker, shaft and its stands, felt at the tip [N/m], > 0.
        seat_stiffness: valve head and seat [N/m], > 0.
        spring_rate, seat_load, lash: [N/m], [N], [m].
        damping_ratio: of each contact, as a share of critical for the masses that meet there [-]; 0.05 to
            0.15 is common practice, no source.
        spring_damping: damping ratio of the surge modes [-].
        guide_damping: [N s/m].

    Returns:
        the reduced train. The weights of tappet and pushrod hold the tappet side down, as in an upright
        engine.
    """
    g = 9.80665
    r, arm = np.asarray(ratio, float), np.asarray(pad_arm, float)
    # Parts that are added to others here could hide behind them; the rest is checked by ElasticTrain.
    for name, part in (
        ("ratio", r),
        ("pad_arm", arm),
        ("tappet_mass", tappet_mass),
        ("pushrod_mass", pushrod_mass),
        ("rocker_inertia", rocker_inertia),
    ):
        if np.any(np.asarray(part, float) <= 0):
            raise ValueError(f"{name} is {np.min(part):g}; it must be greater than zero.")
    half = np.asarray(pushrod_mass, float) / 2.0
    below = (np.asarray(tappet_mass, float) + half) / r**2
    middle = np.asarray(rocker_inertia, float) / arm**2 + half / r**2
    valve = np.asarray(valve_mass, float) + np.asarray(spring_mass, float) / 3.0
    lobe_k, rod_k = np.asarray(lobe_stiffness, float) / r**2, np.asarray(pushrod_stiffness, float) / r**2
    tip_k, seat_k = np.asarray(tip_stiffness, float), np.asarray(seat_stiffness, float)
    zeta = np.asarray(damping_ratio, float)

    def damper(stiffness: FloatArray, mass: FloatArray) -> FloatArray:
        # max keeps a wrong sign out of the root; ElasticTrain refuses it with its name
        damping: FloatArray = 2.0 * zeta * np.sqrt(np.maximum(stiffness * mass, 0.0))
        return damping

    return ElasticTrain(
        tappet_mass=below,
        rocker_mass=middle,
        valve_mass=valve_mass,
        spring_mass=spring_mass,
        lobe_stiffness=lobe_k,
        pushrod_stiffness=rod_k,
        tip_stiffness=tip_k,
        seat_stiffness=seat_k,
        lobe_damping=damper(lobe_k, below),
        pushrod_damping=damper(rod_k, below * middle / (below + middle)),
        tip_damping=damper(tip_k, middle * valve / (middle + valve)),
        seat_damping=damper(seat_k, valve),
        spring_rate=spring_rate,
        seat_load=seat_load,
        spring_damping=spring_damping,
        guide_damping=guide_damping,
        tappet_weight=g * (np.asarray(tappet_mass, float) + half) / r,
        rocker_weight=g * half / r,
        lash=lash,
        ratio=r,
        cup_mass=half,
    )


def elastic_sweep(
    train: ElasticTrain,
    pad_drop: FloatArray,
    pad_velocity: FloatArray,
    cam_speed: ArrayLike,
    *,
    modes: int = 2,
    cycles: int = 3,
    progress: Callable[[float], None] | None = None,
) -> ElasticSweep:
    """Run V trains at S speeds through some cycles and keep the last.

    Args:
        train: V trains.
        pad_drop: of the rigid train, lash not taken off [m], [V, n] (or [n] for all) at n even cam angles
            once around, the end left out, n even; its greatest place becomes angle 0.
        pad_velocity: its derivative per cam radian [m/rad], same shape. The drop between the angles is the
            cubic through both.
        cam_speed: half the crankshaft's [rad/s], [S], > 0.
        modes: surge modes of the spring.
        cycles: cycles run from rest, the last is kept; see `unsteadiness`.
        progress: called with the part done, 0 to 1.

    Raises:
        ValueError: a speed, a curve or a number of cycles that cannot be run.
    """
    speed = np.atleast_1d(np.asarray(cam_speed, float))
    if not np.all(speed > 0):
        raise ValueError(f"Cam speed is {speed.min():g} rad/s; it must be greater than zero.")
    if cycles < 1:
        raise ValueError(f"The number of cycles is {cycles}; it must be at least 1.")
    system = elastic_system(train, modes)
    trains = len(system.start)
    drop, velocity = (np.atleast_2d(np.asarray(v, float)) for v in (pad_drop, pad_velocity))
    if drop.shape != velocity.shape or drop.shape[0] not in (1, trains) or drop.shape[1] < 36:
        raise ValueError(
            f"Pad drop has the shape {drop.shape}, its velocity {velocity.shape}; "
            f"both must be [{trains}, n], n at least 36."
        )
    if not (np.all(np.isfinite(drop)) and np.all(np.isfinite(velocity))):
        raise ValueError("The pad drop or its velocity has gaps (NaN); the elastic model needs every angle.")
    count = drop.shape[1]
    nose = np.argmax(drop, axis=1)
    lobe, slope = _around(drop, nose), _around(velocity, nose) * (2 * np.pi / count)
    if np.any(lobe[:, 0] > np.min(np.broadcast_to(np.asarray(train.lash, float), trains))) or count % 2:
        raise ValueError(
            "Half a turn from its greatest pad drop the valve must be closed, and the number of angles even; "
            f"there the pad drop is {lobe[:, 0].max():g} m at {count} angles."
        )
    coarse = 2 * np.pi / count / speed.min() / system.time_unit
    parts = int(np.ceil(coarse / LONGEST_STEP))
    lobe, slope = _refined(lobe, slope, parts)
    lobe, slope = (np.broadcast_to(v, (trains, v.shape[1])) for v in (lobe, slope))
    times = 2 * np.pi / (count * parts) / speed
    run = marched(system, lobe, slope, times, cycles, progress)
    return _sweep(train, system, run, lobe, speed)


def _around(values: FloatArray, nose: NDArray[np.intp]) -> FloatArray:
    """Values once around from half a turn before each train's nose to half a turn after it, [V, n + 1]."""
    count = values.shape[1]
    spots = (nose[:, None] + np.arange(count + 1) - count // 2) % count
    return np.take_along_axis(values, spots, axis=1)


def _refined(lobe: FloatArray, slope: FloatArray, parts: int) -> tuple[FloatArray, FloatArray]:
    """The same Hermite cubics with every step cut in parts."""
    u = np.arange(parts) / parts
    rise = np.diff(lobe, axis=1)[..., None]
    first, second = slope[:, :-1, None], slope[:, 1:, None]
    bend, twist = 3 * rise - 2 * first - second, first + second - 2 * rise
    fine = lobe[:, :-1, None] + u * (first + u * (bend + u * twist))
    steep = (first + u * (2 * bend + 3 * u * twist)) / parts
    rows = len(lobe)
    return (
        np.concatenate([fine.reshape(rows, -1), lobe[:, -1:]], axis=1),
        np.concatenate([steep.reshape(rows, -1), slope[:, -1:] / parts], axis=1),
    )


def _sweep(
    train: ElasticTrain, system: ElasticSystem, run: March, lobe: FloatArray, speed: FloatArray
) -> ElasticSweep:
    """Curves and loads from the states."""
    trains = len(system.start)
    wide = {k: np.broadcast_to(np.asarray(v, float), trains)[:, None, None] for k, v in vars(train).items()}
    x = run.states.copy()
    x[..., -4] = lobe[:, None]
    spots = np.swapaxes(system.gap, 1, 2)[:, None]
    forces = np.where(run.closed, x @ np.swapaxes(system.force, 1, 2)[:, None], 0.0)
    gaps = -(x @ spots)
    f = {name: forces[..., i] for i, name in enumerate(CONTACTS)}
    lift = 3 + system.modes
    acceleration = (f["pushrod"] - f["tip"] - wide["rocker_weight"]) / wide["rocker_mass"]
    cup = f["pushrod"] * wide["ratio"] - wide["cup_mass"] * acceleration / wide["ratio"]
    return ElasticSweep(
        angle=np.linspace(-np.pi, np.pi, lobe.shape[1]),
        cam_speed=speed,
        rigid_lift=np.maximum(0.0, lobe - wide["lash"][:, :, 0]),
        valve_lift=x[..., 2],
        valve_velocity=x[..., lift + 2] / system.time_unit,
        lobe=f["lobe"] * wide["ratio"],
        pushrod=f["pushrod"] * wide["ratio"],
        cup=np.where(run.closed[..., 1], cup, 0.0),
        tip=f["tip"],
        seat=f["seat"],
        lobe_gap=gaps[..., 0] / wide["ratio"],
        pushrod_gap=gaps[..., 1] / wide["ratio"],
        tip_gap=gaps[..., 2],
        changes=run.changes,
        unsteadiness=run.unsteadiness,
    )
