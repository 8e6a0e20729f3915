"""Stiffness of every valve's train: from the lift lost to the real spring, or else from sizes."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.dynamics.elastic_moduli import ELASTIC_MODULI
from valvetrain.mechanics.dynamics.elastic_stiffness import (
    at_valve,
    remaining_stiffness,
    rocker_stiffness,
    series_stiffness,
    shaft_stiffness,
    stiffness_from_lift_loss,
)
from valvetrain.mechanics.dynamics.vibration import rod_stiffness
from valvetrain.questions.control.inputs import with_default
from valvetrain.setup.setup import Setup

__all__ = ["TrainStiffness", "train_stiffness"]

FROM_SIZES = 0.30
"""Relative standard uncertainty of a stiffness from sizes: stubby arms and stands give more than slender
beams say (common practice, no source)."""


@dataclass(frozen=True)
class TrainStiffness:
    """One train's stiffness [N/m]; NaN where not known.

    Attributes:
        whole: as felt at the valve tip, with its standard uncertainty `whole_uncertainty`.
        pushrod, lobe: on the tappet's side.
        tip: what is left for rocker, shaft, stands and stem, at the valve; tip_share: its relative standard
            uncertainty.
        seat: valve head and seat.
        source: "measured", "given", "sizes" or empty.
        reason: why it is not known; empty where it is.
    """

    whole: float
    whole_uncertainty: float
    pushrod: float
    lobe: float
    tip: float
    tip_share: float
    seat: float
    source: str
    reason: str


def train_stiffness(setup: Setup, at: int, ratio: float, seat_load: float, rate: float) -> TrainStiffness:
    """Find the stiffness of the train of valve number `at`.

    Args:
        setup: the setup.
        at: index of the valve.
        ratio: pad drop over tappet rise [-].
        seat_load, rate: of its spring [N], [N/m], for the load at the lift read.
    """
    lobe = float(with_default(setup, "control.lobe_stiffness").value[at])
    seat = float(with_default(setup, "control.seat_stiffness").value[at])
    pushrod = _pushrod(setup, at)
    whole, spread, source, reason = _measured(setup, at, seat_load, rate)
    if source:
        tip = float(remaining_stiffness(whole, at_valve(pushrod, ratio), at_valve(lobe, ratio)))
        if np.isnan(pushrod):
            reason = "Give the pushrod's outside_diameter, wall and length."
        elif np.isnan(tip):
            reason = (
                "The lift lost between the two springs is less than pushrod and lobe alone give: read it "
                "again, or give [control] lobe_stiffness."
            )
        share = spread / whole * (tip / whole if np.isfinite(tip) else 1.0)  # the tip carries the whole doubt
        return TrainStiffness(whole, spread, pushrod, lobe, tip, min(share, 0.9), seat, source, reason)
    if reason:
        return TrainStiffness(np.nan, np.nan, pushrod, lobe, np.nan, np.nan, seat, "", reason)
    tip = _from_sizes(setup, at)
    if np.isnan(tip) or np.isnan(pushrod):
        return TrainStiffness(
            np.nan,
            np.nan,
            pushrod,
            lobe,
            tip,
            np.nan,
            seat,
            "",
            "Read the valve lift with a light checking spring and with the real one ([control] "
            "light_spring_lift, real_spring_lift, light_spring_load), or give the sizes of rocker, shaft and "
            "pushrod ([masses] rocker_height, rocker_width; [control] shaft_bore, shaft_span; [pushrod] "
            "outside_diameter, wall).",
        )
    whole = float(series_stiffness(tip, at_valve(pushrod, ratio), at_valve(lobe, ratio)))
    return TrainStiffness(whole, FROM_SIZES * whole, pushrod, lobe, tip, FROM_SIZES, seat, "sizes", "")


def _value(setup: Setup, at: int, key: str) -> float:
    return float(setup.column(*key.split(".")).value[at])


def _pushrod(setup: Setup, at: int) -> float:
    """Stiffness of the pushrod along itself [N/m]."""
    outside, wall, length = (
        _value(setup, at, f"pushrod.{key}") for key in ("outside_diameter", "wall", "length")
    )
    modulus = _value(setup, at, "pushrod.elastic_modulus")
    if np.isnan(modulus):
        modulus = ELASTIC_MODULI[setup.trains[at].masses.pushrod_material or "carbon steel"]
    bore = max(outside - 2 * wall, 0.0) if not np.isnan(wall) else np.nan
    return float(rod_stiffness(modulus, np.pi / 4 * (outside**2 - bore**2), length))


def _measured(setup: Setup, at: int, seat_load: float, rate: float) -> tuple[float, float, str, str]:
    """Stiffness of the whole train, its uncertainty, source, and what is wrong with the readings."""
    given = setup.trains[at].control.train_stiffness
    if given is not None:
        return given.value, given.uncertainty or 0.2 * given.value, "given", ""
    own = setup.trains[at].control
    if own.light_spring_lift is None or own.real_spring_lift is None or own.light_spring_load is None:
        return np.nan, np.nan, "", ""
    real = seat_load + rate * own.real_spring_lift.value
    lost = own.light_spring_lift.value - own.real_spring_lift.value
    more = real - own.light_spring_load.value
    if np.isnan(more):
        return np.nan, np.nan, "", "The spring's load at full lift is not known."
    if not more > 0:
        return (
            np.nan,
            np.nan,
            "",
            "The light spring is not lighter than the real one: check light_spring_load.",
        )
    doubt = np.hypot(own.light_spring_lift.uncertainty, own.real_spring_lift.uncertainty)
    if not lost > 2 * doubt:
        return (
            np.nan,
            np.nan,
            "",
            "The lift lost between the two springs is less than the dial can tell: read both again.",
        )
    whole = float(
        stiffness_from_lift_loss(
            own.light_spring_lift.value, own.real_spring_lift.value, own.light_spring_load.value, real
        )
    )
    return whole, whole * float(doubt) / lost, "measured", ""


def _from_sizes(setup: Setup, at: int) -> float:
    """Stiffness of rocker, shaft and stem at the valve [N/m]."""
    train = setup.trains[at]
    rocker_modulus = ELASTIC_MODULI[train.masses.rocker_material or "carbon steel"]
    height, width = _value(setup, at, "masses.rocker_height"), _value(setup, at, "masses.rocker_width")
    pad, socket = _value(setup, at, "rocker.pad_arm"), _value(setup, at, "rocker.socket_arm")
    rocker = rocker_stiffness(pad, socket, width * height**3 / 12.0, rocker_modulus)
    shaft = shaft_stiffness(
        _value(setup, at, "shaft.diameter"),
        _value(setup, at, "control.shaft_bore"),
        _value(setup, at, "control.shaft_span"),
        ELASTIC_MODULI["carbon steel"],
        pad,
        socket,
    )
    length, stem = _value(setup, at, "masses.valve_length"), _value(setup, at, "valve.stem_diameter")
    rows = [rocker, shaft]
    if not np.isnan(length):
        valve = ELASTIC_MODULI[train.masses.valve_material or "valve steel"]
        rows.append(rod_stiffness(valve, np.pi / 4 * stem**2, length))
    return float(series_stiffness(*rows))
