"""What the elastic model is run with: the weakest valve of a role, its inputs and how sure they are."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.curves import lobe_shapes, train_curves
from valvetrain.questions.control.inputs import control_columns, with_default
from valvetrain.questions.control.study import ControlResult
from valvetrain.questions.control.train_stiffness import TrainStiffness, train_stiffness
from valvetrain.setup.setup import Setup

__all__ = ["ANGLES", "Lane", "Unswept", "elastic_lane", "together"]

ANGLES = 1440

_VALVE_SIDE = ("valve.mass", "masses.retainer_mass", "masses.keeper_mass")


@dataclass(frozen=True)
class Lane:
    """What one train is run with.

    Attributes:
        role, valve: whose it is.
        stiffness: of the train.
        inputs: of `reduced_train`.
        spread: standard uncertainty of those that are not sure; "follower_mass" is of tappet and pushrod.
        drop, slope: pad drop of the rigid train [m] and its derivative per cam radian, [ANGLES].
        acceleration_doubt: relative standard uncertainty of the lobe's accelerations [-].
    """

    role: str
    valve: str
    stiffness: TrainStiffness
    inputs: dict[str, float]
    spread: dict[str, float]
    drop: FloatArray
    slope: FloatArray
    acceleration_doubt: float


@dataclass(frozen=True)
class Unswept:
    """A role that cannot be run: its valve (or empty), why, and its stiffness where that is known."""

    role: str
    valve: str
    reason: str
    stiffness: TrainStiffness | None


def elastic_lane(setup: Setup, control: ControlResult, role: str) -> "Lane | Unswept":
    """Collect what the weakest valve of a role is run with, or say why it cannot be."""
    at = control.weakest(role)
    if at is None:
        return Unswept(role, "", "The rigid limit is not known: see its own advice.", None)
    angle = (np.arange(ANGLES) * 2.0 / ANGLES - 1.0) * np.pi
    shapes = lobe_shapes(setup, angle)
    columns = control_columns(setup, shapes, control.springs)
    rows = {key: column.value for key, column in columns.items()}
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    with np.errstate(invalid="ignore"):
        curves = train_curves(shapes, rows, at_pushrod)
    arm = rows["rocker.pad_arm"][at]
    sine = np.sin(curves.pad_angle[at])
    drop = arm * (sine.max() - sine)
    if not drop.max() > 0:  # a rocker known by its ratio only, which then is the same all the way
        drop = curves.ratio[at] * curves.tappet_lift[at]
    slope = curves.ratio[at] * curves.tappet_velocity[at]
    ratio = float(drop.max() / rows["lobe.lift"][at])
    stiff = train_stiffness(setup, at, ratio, rows["seat load"][at], rows["spring rate"][at])
    if stiff.reason:
        return Unswept(role, setup.valves[at], stiff.reason, stiff)
    u = {key: float(np.nan_to_num(column.uncertainty[at])) for key, column in columns.items()}
    damping = with_default(setup, "control.damping_ratio")
    lobe, seat = (with_default(setup, f"control.{key}_stiffness") for key in ("lobe", "seat"))
    open_lift = curves.valve_lift[at].max()
    inputs = {
        "tappet_mass": rows["masses.tappet_mass"][at],
        "pushrod_mass": rows["masses.pushrod_mass"][at],
        "rocker_inertia": rows["masses.rocker_inertia"][at],
        "pad_arm": arm,
        "valve_mass": sum(rows[key][at] for key in _VALVE_SIDE),
        "spring_mass": rows["masses.spring_mass"][at],
        "ratio": ratio,
        "lobe_stiffness": stiff.lobe,
        "pushrod_stiffness": stiff.pushrod,
        "tip_stiffness": stiff.tip,
        "seat_stiffness": stiff.seat,
        "spring_rate": rows["spring rate"][at],
        "seat_load": rows["seat load"][at],
        "lash": float(drop.max() - open_lift),
        "damping_ratio": float(damping.value[at]),
    }
    spread = {
        "damping_ratio": float(damping.uncertainty[at]),
        "tip_stiffness": stiff.tip_share * stiff.tip,
        "lobe_stiffness": float(lobe.uncertainty[at]),
        "seat_stiffness": float(seat.uncertainty[at]),
        "seat_load": u["seat load"],
        "spring_rate": u["spring rate"],
        "valve_mass": float(np.sqrt(sum(u[key] ** 2 for key in _VALVE_SIDE))),
        "spring_mass": u["masses.spring_mass"],
        "rocker_inertia": u["masses.rocker_inertia"],
        "follower_mass": float(np.hypot(u["masses.tappet_mass"], u["masses.pushrod_mass"])),
        "lash": u["lash.lash"] * (ratio if at_pushrod[at] else 1.0),
    }
    return Lane(role, setup.valves[at], stiff, inputs, spread, drop, slope, float(shapes.doubt[at]))


def together(inputs: list[dict[str, float]]) -> dict[str, FloatArray]:
    """Return the inputs of some trains as one row each key."""
    return {key: np.array([each[key] for each in inputs]) for key in inputs[0]}
