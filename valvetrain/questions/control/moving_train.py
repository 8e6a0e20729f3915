"""Where every part of each valve's train stands over two turns of the crank, for a drawing that moves."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import ClosedPosition, rocker_turn, swung
from valvetrain.mechanics.rocker.pad_on_tip import closed_angle_on_tip, contact_over_tip
from valvetrain.parts.adjuster import Outline
from valvetrain.questions.events.lift_path import lift_path_study
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Setup

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
        faces: per valve the measured outline of its pad as it stands on the base circle, [points, 2]; None
            where the pad is circular. Its pad_x and pad_y are halfway between the outline's ends.
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
    faces: tuple[FloatArray | None, ...]


@dataclass(frozen=True)
class _Motion:
    """Every train over the crank's turns; see `MovingTrains`."""

    closed: ClosedPosition
    turn: FloatArray
    drop: FloatArray
    contact_x: FloatArray
    ratio: FloatArray
    faces: tuple[FloatArray | None, ...]


def moving_train_study(setup: Setup, rocker: RockerResult, spring: SpringResult) -> MovingTrains:
    """Move every train through two turns of the crank, with the lash and lobe that were found."""
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    lash = rocker.lash.value
    crank = np.arange(0.0, 4 * pi - 1e-9, CRANK_STEP)
    timed, rise = _tappet_rise(setup, crank)
    motion = _followed(setup, rows, lash, rise)
    closed, turn, drop = motion.closed, motion.turn, motion.drop
    lift = np.maximum(drop - lash[:, np.newaxis], 0.0)
    shaft_x, shaft_y = -rows["shaft.setback"], height_over_tip(rows)
    arm, lever = rows["rocker.pad_arm"], rows["rocker.socket_arm"]
    socket = closed.socket_angle[:, np.newaxis] - turn
    lean = closed.tappet_angle[:, np.newaxis]
    pad_x = shaft_x + arm * np.cos(closed.pad_angle)
    pad_y = shaft_y + arm * np.sin(closed.pad_angle)
    for index, face in enumerate(motion.faces):
        if face is not None:
            pad_x[index], pad_y[index] = 0.5 * (face[0] + face[-1])
    return MovingTrains(
        valves=setup.valves,
        crank_angle=crank,
        timed=timed,
        shaft_x=shaft_x,
        shaft_y=shaft_y,
        pad_x=pad_x,
        pad_y=pad_y,
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
        faces=motion.faces,
    )


def _followed(setup: Setup, rows: Mapping[str, FloatArray], lash: FloatArray, rise: FloatArray) -> _Motion:
    """Follow every rocker: a circular pad in closed form, a measured one by its outline over the tip."""
    outlines = [train.rocker.pad_outline for train in setup.trains]
    measured = np.array([outline is not None for outline in outlines])
    # A measured pad needs no radius; what is written of one is not its contact's.
    own = {**rows, "rocker.pad_radius": np.where(measured, 0.0, rows["rocker.pad_radius"])}
    closed = closed_linkage(own, lash)
    across = setup.column("valve", "stem_diameter").value
    tip = 0.5 * across - setup.column("valve", "tip_chamfer").value
    known = np.isfinite(tip + closed.height + closed.setback + lash)
    angle = np.where(measured, np.nan, closed.pad_angle)
    for index in np.flatnonzero(measured & known):
        angle[index] = closed_angle_on_tip(
            _points(outlines[index]),
            setback=closed.setback[index],
            height=closed.height[index],
            lash=lash[index],
            tip_radius=tip[index],
        )
    if measured.any():
        closed = closed_linkage(own, lash, pad_angle=angle)
    with np.errstate(invalid="ignore"):
        swing = swung(closed, rise)
        turn, rate = rocker_turn(closed, rise)
    drop, contact, ratio = (np.array(each) for each in (swing.pad_drop, swing.contact_x, swing.ratio))
    for index in np.flatnonzero(measured):
        drop[index], contact[index], ratio[index] = np.nan, np.nan, np.nan
        if np.isfinite(angle[index]):
            over = contact_over_tip(
                _points(outlines[index]),
                angle[index] - turn[index],
                setback=closed.setback[index],
                tip_radius=tip[index],
            )
            drop[index] = lash[index] - closed.height[index] - over.y
            contact[index], ratio[index] = over.x, over.fall * rate[index]
    faces = tuple(
        None if outline is None else _stood(_points(outline), closed, index)
        for index, outline in enumerate(outlines)
    )
    return _Motion(closed, turn, drop, contact, ratio, faces)


def _points(outline: Outline | None) -> FloatArray:
    assert outline is not None
    return np.array(outline.points)


def _stood(points: FloatArray, closed: ClosedPosition, index: int) -> FloatArray:
    """Turn an outline, seen from the shaft's axis along the pad arm, to where it stands when closed."""
    cosine, sine = np.cos(closed.pad_angle[index]), np.sin(closed.pad_angle[index])
    turned = points @ np.array([[cosine, sine], [-sine, cosine]])
    return np.asarray(turned + np.array([-closed.setback[index], closed.height[index]]))


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
