"""The moving drawing's data: computed positions and readings, rounded, for a script that looks them up."""

import math
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.moving_train import MovingTrains
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["moving_data"]

# Positions are drawn in millimeters, to a micrometer.
_DRAWN = 1e3
_LENGTHS = (
    "socket_path_x",
    "socket_path_y",
    "tappet_path_x",
    "tappet_path_y",
    "valve_lift",
    "gap",
    "contact_x",
)


def moving_data(setup: Setup, trains: MovingTrains, system: str) -> dict[str, Any]:
    """Return what the script draws: every valve whose train is known, and why the others are not there.

    Positions are in millimeters, `readings` in the unit of `system`, angles in degrees.
    """
    valves, missing = [], []
    for index, valve in enumerate(trains.valves):
        own = _valve(setup, trains, index, system)
        if own is None:
            missing.append(valve)
        else:
            valves.append({"name": valve, **own})
    if not valves:
        return {}
    return {
        "crank": _rounded(np.degrees(trains.crank_angle), 2),
        "units": {"lift": display_unit("length", system), "load": display_unit("force", system)},
        "digits": {"lift": 4 if system == "inch" else 3, "load": 1 if system == "inch" else 0},
        "valves": valves,
        "missing": missing,
    }


def _valve(setup: Setup, trains: MovingTrains, index: int, system: str) -> dict[str, Any] | None:
    """Return one valve's data, or None where its train is not known."""
    train = setup.trains[index]
    stem = train.valve.stem_diameter
    parts = (*(getattr(trains, name)[index] for name in _LENGTHS), trains.turn[index])
    if stem is None or any(np.isnan(each).any() for each in parts):
        return None
    still = {
        name: _one(float(getattr(trains, name)[index]))
        for name in ("shaft_x", "shaft_y", "pad_x", "pad_y", "socket_x", "socket_y", "tappet_x", "tappet_y")
    }
    sizes = {
        "pad_radius": train.rocker.pad_radius,
        "shaft_diameter": train.shaft.diameter,
        "stem_diameter": stem,
        "tip_chamfer": train.valve.tip_chamfer,
        "pushrod_diameter": train.pushrod.outside_diameter,
        "face_diameter": train.tappet.face_diameter,
    }
    face = trains.faces[index]
    if face is not None:
        # How far it reaches to either side: what the view must take in.
        still["reach"] = _one(0.5 * float(face[:, 0].max() - face[:, 0].min()))
        sizes["pad_radius"] = None
    moving = {name: _rounded(getattr(trains, name)[index] * _DRAWN, 3) for name in _LENGTHS}
    load = trains.spring_load[index]
    digits = 4 if system == "inch" else 3
    return {
        "role": train.role,
        "timed": trains.timed[index],
        "lean": round(math.degrees(train.tappet.angle.value) if train.tappet.angle else 0.0, 3),
        "roller": train.rocker.tip == "roller",
        "still": still,
        "face": None if face is None else [_rounded(point * _DRAWN, 3) for point in face],
        "size": {name: None if each is None else _one(each.value) for name, each in sizes.items()},
        **moving,
        "turn": _rounded(np.degrees(trains.turn[index]), 4),
        "ratio": _rounded(trains.ratio[index], 3),
        "readings": {
            "lift": _rounded(from_si(trains.valve_lift[index], "length", system), digits),
            "gap": _rounded(from_si(trains.gap[index], "length", system), digits),
            "contact": _rounded(from_si(trains.contact_x[index], "length", system), digits),
            "load": None if np.isnan(load).any() else _rounded(from_si(load, "force", system), 1),
        },
    }


def _one(value: float) -> float:
    return round(value * _DRAWN, 4)


def _rounded(values: FloatArray, digits: int) -> list[float]:
    """Round a list; a whole number is written as one, which is shorter."""
    return [int(each) if each == int(each) else each for each in np.round(values, digits).tolist()]
