"""Where every part of each valve's train stands over two turns of the crank, for a drawing that moves."""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker_linkage import rocker_turn, swung
from valvetrain.setup.setup import Setup
from valvetrain.studies.lift_path_study import lift_path_study
from valvetrain.studies.linkage_inputs import closed_linkage, height_over_tip, linkage_columns
from valvetrain.studies.rocker_study import RockerResult
from valvetrain.studies.spring_study import SpringResult

__all__ = ["MovingTrains", "moving_train_study"]

CRANK_STEP = pi / 90.0
"""Between two samples [crank rad]: 2 degrees, over 720."""


@dataclass(frozen=True)
class MovingTrains:
    """Every valve's train through the cycle, in that valve's own frame [m, rad, N]; NaN where unknown.

    Attributes:
        crank_angle: after the top dead center of the overlap, from 0 to under 4 pi, [angles].
        timed: per valve, whether the lobe's center on the crank is known; else the lobe's nose is at 2 pi.
        shaft_x, shaft_y: the shaft's axis, [valves].
        pad_x, pad_y, socket_x, socket_y, tappet_x, tappet_y: center of the pad's radius, the pushrod's upper
            and lower ball, on the base circle, [valves].
        turn: rocker's rotation from the base circle, opening positive, [valves, angles].
        socket_path_x, ..., tappet_path_y: the two balls as they move, [valves, angles].
        valve_lift: [valves, angles].
        gap: between pad and tip, 0 where they touch, [valves, angles].
        contact_x: pad on tip from the stem axis, positive away from the shaft; where they do not touch, where
            the pad would come down, [valves, angles].
        ratio: d(pad drop)/d(tappet rise), [valves, angles].
        spring_load: [valves, angles].
    """

    valves: tuple[str, ...]
    crank_angle: FloatArray
    timed: tuple[bool, ...]
    shaft_x: FloatArray
    shaft_y: FloatArray
    pad_x: FloatArray
    pad_y: FloatArray
    socket_x: FloatArray
    socket_y: FloatArray
    tappet_x: FloatArray
    tappet_y: FloatArray
    turn: FloatArray
    socket_path_x: FloatArray
    socket_path_y: FloatArray
    tappet_path_x: FloatArray
    tappet_path_y: FloatArray
    valve_lift: FloatArray
    gap: FloatArray
    contact_x: FloatArray
    ratio: FloatArray
    spring_load: FloatArray


def moving_train_study(setup: Setup, rocker: RockerResult, spring: SpringResult) -> MovingTrains:
    """Move every train through two turns of the crank, with the lash and lobe that were found."""
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    lash = rocker.lash.value
    closed = closed_linkage(rows, lash)
    crank = np.arange(0.0, 4 * pi - 1e-9, CRANK_STEP)
    timed, rise = _tappet_rise(setup, crank)
    with np.errstate(invalid="ignore"):
        motion = swung(closed, rise)
        turn = rocker_turn(closed, rise)[0]
    drop = motion.pad_drop
    lift = np.maximum(drop - lash[:, np.newaxis], 0.0)
    shaft_x, shaft_y = -rows["shaft.setback"], height_over_tip(rows)
    arm, lever = rows["rocker.pad_arm"], rows["rocker.socket_arm"]
    socket = closed.socket_angle[:, np.newaxis] - turn
    lean = closed.tappet_angle[:, np.newaxis]
    return MovingTrains(
        valves=setup.valves,
        crank_angle=crank,
        timed=timed,
        shaft_x=shaft_x,
        shaft_y=shaft_y,
        pad_x=shaft_x + arm * np.cos(closed.pad_angle),
        pad_y=shaft_y + arm * np.sin(closed.pad_angle),
        socket_x=closed.socket_x,
        socket_y=closed.socket_y,
        tappet_x=closed.tappet_x,
        tappet_y=closed.tappet_y,
        turn=turn,
        socket_path_x=shaft_x[:, np.newaxis] + lever[:, np.newaxis] * np.cos(socket),
        socket_path_y=shaft_y[:, np.newaxis] + lever[:, np.newaxis] * np.sin(socket),
        tappet_path_x=closed.tappet_x[:, np.newaxis] - rise * np.sin(lean),
        tappet_path_y=closed.tappet_y[:, np.newaxis] + rise * np.cos(lean),
        valve_lift=lift,
        gap=np.maximum(lash[:, np.newaxis] - drop, 0.0),
        contact_x=motion.contact_x,
        ratio=motion.ratio,
        spring_load=_loads(spring, lift),
    )


def _tappet_rise(setup: Setup, crank: FloatArray) -> tuple[tuple[bool, ...], FloatArray]:
    """Tappet rise at every valve over the crank's turns; whether each lobe's center is known."""
    path = lift_path_study(setup)
    center = path.crank_angle[:, path.crank_angle.shape[1] // 2]
    timed = ~np.isnan(center)
    middle = np.where(timed, center, 2 * pi)
    rise = np.full((len(setup.valves), len(crank)), np.nan)
    for index, own in enumerate(path.tappet_lift):
        cam = (crank - middle[index]) / 2
        rise[index] = np.interp((cam + pi) % (2 * pi) - pi, path.cam_angle, own)
    return tuple(bool(each) for each in timed), rise


def _loads(spring: SpringResult, lift: FloatArray) -> FloatArray:
    """Load of every valve's springs as they are installed [N]."""
    height = spring.installed_height.value
    loads = np.full(lift.shape, np.nan)
    for index in range(len(height)):
        if np.isnan(height[index]) or np.isnan(lift[index]).any():
            continue
        values = {key: float(column.value[index]) for key, column in spring.inputs.items()}
        loads[index] = spring.curves.of_valve(values, index, height[index] - lift[index])
    return loads
