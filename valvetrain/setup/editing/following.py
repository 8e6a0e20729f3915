"""What follows when another stand shim is tried: the shaft rises with it, the adjuster takes it up."""

import dataclasses
from typing import Any

import numpy as np

from valvetrain.mechanics.pushrod.adjuster import exposure_change_for, socket_at
from valvetrain.mechanics.rocker.linkage import closed_position, planar_length
from valvetrain.mechanics.rocker.stand_shims import shimmed
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.measured import Measured
from valvetrain.parts.train import Train
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Setup

__all__ = ["with_stand_shims_tried"]

_MOVED = ("height", "setback")


def with_stand_shims_tried(before: Setup, after: Setup) -> Setup:
    """Let the rest follow where a changed setup has other stand shims and the shaft's place is as before.

    The sheet's shaft height was measured with the shims that are fitted. Tried with others, the shaft stands
    higher or lower by the difference along the stand's axis; the pushrod stays, and the adjuster is turned
    until the lash is as before. Where the shaft's height was changed too, it is taken as measured with the
    new shims, and nothing follows.

    Args:
        before: the setup as the sheet has it.
        after: with the values that are tried.
    """
    old = {train.name: train for train in before.trains}
    rise = np.zeros(len(after.trains))
    doubt = np.zeros(len(after.trains))
    for index, train in enumerate(after.trains):
        was, now = old[train.name].shaft if train.name in old else None, train.shaft
        if was is None or now.stand_shim is None or _value(was.height) != _value(now.height):
            continue
        fitted = 0.0 if was.stand_shim is None else was.stand_shim.value
        rise[index] = now.stand_shim.value - fitted
        known = after.instruments.get("shim", DEFAULT_UNCERTAINTY["shim"])[1]
        doubt[index] = known if rise[index] else 0.0
    if not rise.any():
        return after
    return dataclasses.replace(after, trains=_moved(after, rise, doubt))


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value


def _moved(setup: Setup, rise: Any, doubt: Any) -> tuple[Train, ...]:
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    lean = np.nan_to_num(setup.column("shaft", "stand_angle").value)
    axis = np.nan_to_num(setup.column("adjuster", "axis_lean").value)
    rod = planar_length(length=rows["pushrod.length"], splay=rows["pushrod.splay"])
    with np.errstate(invalid="ignore"):
        closed = closed_position(
            setback=rows["shaft.setback"],
            height=height_over_tip(rows),
            pad_arm=rows["rocker.pad_arm"],
            pad_radius=rows["rocker.pad_radius"],
            socket_arm=rows["rocker.socket_arm"],
            arm_angle=rows["rocker.arm_angle"],
            lash=np.nan_to_num(rows["lash.lash"]),
            pushrod_planar_length=rod,
            tappet_setback=rows["tappet.setback"],
            tappet_angle=rows["tappet.angle"],
        )
        turned = exposure_change_for(shimmed(closed, rise, stand_angle=lean), rod, axis)
        lever, between = socket_at(rows["rocker.socket_arm"], rows["rocker.arm_angle"], turned, axis)
    trains = []
    for index, train in enumerate(setup.trains):
        up, unsure = float(rise[index]), float(doubt[index])
        if not up:
            trains.append(train)
            continue
        tappet_lean = 0.0 if train.tappet.angle is None else train.tappet.angle.value
        shaft = dataclasses.replace(
            train.shaft,
            height=_plus(train.shaft.height, up * np.cos(lean[index]), unsure),
            setback=_plus(train.shaft.setback, -up * np.sin(lean[index]), 0.0),
        )
        across = up * np.sin(lean[index] + tappet_lean)
        tappet = dataclasses.replace(train.tappet, setback=_plus(train.tappet.setback, across, 0.0))
        rocker, adjuster = train.rocker, train.adjuster
        out = float(turned[index])
        if np.isfinite(out):
            rocker = dataclasses.replace(
                rocker,
                socket_arm=_at(rocker.socket_arm, float(lever[index])),
                arm_angle=_at(rocker.arm_angle, float(between[index])),
            )
            adjuster = dataclasses.replace(adjuster, exposure=_plus(adjuster.exposure, out, 0.0))
        trains.append(
            dataclasses.replace(train, shaft=shaft, tappet=tappet, rocker=rocker, adjuster=adjuster)
        )
    return tuple(trains)


def _plus(measured: Measured | None, more: float, doubt: float) -> Measured | None:
    if measured is None:
        return None
    words = f"{measured.source}, moved by the stand shim that is tried"
    uncertainty = float(np.hypot(measured.uncertainty, doubt))
    return dataclasses.replace(
        measured, value=measured.value + float(more), uncertainty=uncertainty, source=words
    )


def _at(measured: Measured | None, value: float) -> Measured | None:
    return None if measured is None else dataclasses.replace(measured, value=value)
