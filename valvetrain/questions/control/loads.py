"""Loads through each role's weakest train over cam angle, at a few speeds: what its motion asks for."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.control_limit import lobe_terms, required_spring_force
from valvetrain.mechanics.dynamics.train_loads import (
    TrainCurves,
    TrainFriction,
    TrainLoads,
    TrainShape,
    train_loads,
)
from valvetrain.questions.control.curves import lobe_shapes, train_curves
from valvetrain.questions.control.inputs import (
    control_columns,
    moving_masses,
    with_default,
)
from valvetrain.questions.control.study import ControlResult
from valvetrain.setup.setup import Setup

__all__ = ["HALF", "LIMIT", "PEAKS", "REDLINE", "SLOW", "RoleLoads", "control_loads"]

SLOW, HALF, REDLINE, LIMIT = "turned slowly", "half the redline", "redline", "limit of the rigid train"

_ANGLE = np.radians(np.arange(-180.0, 180.0, 1.0))

PEAKS = {
    "lobe": "force",
    "least_lobe": "force",
    "cup": "force",
    "tip": "force",
    "shaft": "force",
    "side": "force",
    "tilting_moment": "torque",
    "camshaft_torque": "torque",
}
"""Peaks told of every speed, with their dimensions."""


@dataclass(frozen=True)
class RoleLoads:
    """Loads of one train.

    Attributes:
        role, valve: whose they are.
        angle: cam angle from the lobe center [rad], shape [angles].
        crank_speed: [rad/s], shape [speeds]; the first is the engine turned slowly.
        named: what each speed is, in words.
        curves: its motion, each [angles].
        spring: spring force on the retainer [N], shape [angles].
        required: least spring force that keeps the tappet on the lobe [N], shape [speeds, angles].
        loads: see `TrainLoads`, each [speeds, angles] (shaft: 3 more).
        peaks: name of `PEAKS` -> greatest size [N] or [N m] at each speed (`least_lobe`: the least load on
            the lobe while the valve is open), shape [speeds].
        shaft_direction: of the greatest load on the shaft, in the rocker's plane from +x toward +y [rad].
        missing: sheet keys without which the loads beyond the tip are not known.
    """

    role: str
    valve: str
    angle: FloatArray
    crank_speed: FloatArray
    named: tuple[str, ...]
    curves: TrainCurves
    spring: FloatArray
    required: FloatArray
    loads: TrainLoads
    peaks: dict[str, FloatArray]
    shaft_direction: FloatArray
    missing: tuple[str, ...]


def control_loads(setup: Setup, control: ControlResult) -> tuple[RoleLoads, ...]:
    """Compute the loads of each role's weakest valve, turned slowly and at three speeds up to its limit.

    A role without a known limit is left out.
    """
    shapes = lobe_shapes(setup, _ANGLE)
    inputs = control_columns(setup, shapes, control.springs)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    rows = {key: column.value for key, column in inputs.items()}
    every = train_curves(shapes, rows, at_pushrod, pushrod_lean=True)
    masses = moving_masses(rows)
    found = []
    for role in dict.fromkeys(setup.roles):
        at = control.weakest(role)
        if at is None:
            continue
        curves = TrainCurves(**{name: value[at] for name, value in vars(every).items()})
        own = type(masses)(**{name: np.asarray(value)[at] for name, value in vars(masses).items()})
        speeds = _speeds(float(control.limit_speed.value[at]), control.redline)
        speed = np.array(list(speeds.values()))
        force = rows["seat load"][at] + rows["spring rate"][at] * curves.valve_lift
        tip_to_guide = setup.column("contact", "tip_over_guide").value[at]
        loads = train_loads(
            curves, _shape(setup, at), own, force, speed / 2.0, _friction(setup, at), tip_to_guide
        )
        required = required_spring_force(lobe_terms(curves, rows["rocker.pad_arm"][at]), own, speed / 2.0)
        missing = tuple(
            f"{section}.{key}" for section, key in _BEYOND_THE_TIP if np.isnan(_one(setup, at, section, key))
        )
        found.append(_role(role, setup.valves[at], speeds, curves, force, required, loads, missing))
    return tuple(found)


def _speeds(limit: float, redline: float) -> dict[str, float]:
    """Slow, half the redline, the redline and the limit of the rigid train, rising [rad/s]."""
    speeds = {SLOW: 0.0}
    if np.isfinite(redline):
        speeds |= {HALF: 0.5 * redline, REDLINE: redline}
    if np.isfinite(limit):
        speeds |= {LIMIT: limit}
    return dict(sorted(speeds.items(), key=lambda each: each[1]))


def _one(setup: Setup, at: int, section: str, key: str, unknown: float = np.nan) -> float:
    value = float(setup.column(section, key).value[at])
    return unknown if np.isnan(value) else value


def _shape(setup: Setup, at: int) -> TrainShape:
    length, splay = _one(setup, at, "pushrod", "length"), _one(setup, at, "pushrod", "splay", 0.0)
    pad = _one(setup, at, "rocker", "pad_arm")
    return TrainShape(
        pad_arm=pad,
        pad_radius=_one(setup, at, "rocker", "pad_radius"),
        setback=_one(setup, at, "shaft", "setback", pad),
        tappet_angle=_one(setup, at, "tappet", "angle", 0.0),
        splay_angle=np.arcsin(splay / length) if splay else 0.0,
        base_radius=_one(setup, at, "lobe", "base_radius", 0.0),
    )


def _friction(setup: Setup, at: int) -> TrainFriction:
    train = setup.trains[at]
    spread = {key: float(with_default(setup, key).value[at]) for key in _FRICTION}
    roller_tip, roller = train.rocker.tip == "roller", train.tappet.kind == "roller"
    radius = _one(setup, at, "shaft", "diameter", 0.0) / 2.0
    return TrainFriction(
        tip=0.0 if roller_tip else spread["control.tip_friction"],
        shaft=spread["control.shaft_friction"],
        shaft_radius=radius,
        lobe=0.0 if roller else spread["contact.friction"],
        guide=spread["control.guide_drag"],
    )


# Where the pad touches, and so the arm of its friction, stands between the tip and all that is beyond.
_BEYOND_THE_TIP = (("rocker", "pad_arm"), ("rocker", "pad_radius"))
_FRICTION = ("control.tip_friction", "control.shaft_friction", "contact.friction", "control.guide_drag")


def _role(
    role: str,
    valve: str,
    speeds: dict[str, float],
    curves: TrainCurves,
    spring: FloatArray,
    required: FloatArray,
    loads: TrainLoads,
    missing: tuple[str, ...],
) -> RoleLoads:
    """Collect the peaks."""
    opened = curves.valve_lift > 0
    size = np.linalg.norm(loads.shaft, axis=-1)
    at = np.argmax(np.nan_to_num(size, nan=-1.0), axis=-1)
    worst = np.take_along_axis(loads.shaft, at[:, np.newaxis, np.newaxis], axis=1)[:, 0]
    peaks = {
        name: np.abs(getattr(loads, name)).max(axis=-1)
        for name in ("lobe", "cup", "tip", "side", "tilting_moment", "camshaft_torque")
    }
    peaks["least_lobe"] = np.where(opened, loads.lobe, np.inf).min(axis=-1)
    peaks["shaft"] = size.max(axis=-1)
    return RoleLoads(
        role=role,
        valve=valve,
        angle=_ANGLE,
        crank_speed=np.array(list(speeds.values())),
        named=tuple(speeds),
        curves=curves,
        spring=spring,
        required=required,
        loads=loads,
        peaks={name: peaks[name] for name in PEAKS},
        shaft_direction=np.arctan2(worst[:, 1], worst[:, 0]),
        missing=missing,
    )
