"""Loads and motion of every train over cam angle and speed, for the study of the rubbing pairs."""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.dynamics.train_loads import (
    TrainCurves,
    TrainFriction,
    TrainLoads,
    TrainMasses,
    TrainShape,
    rocker_motion,
    train_loads,
)
from valvetrain.questions.control.curves import LobeShapes, lobe_shapes, train_curves
from valvetrain.questions.control.train_masses import train_mass_columns
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Setup

__all__ = ["ANGLES", "ContactMotion", "contact_motion"]

ANGLES = 720

# Usual friction of pad, shaft and lobe where the sheet gives none: common practice, no source.
_FRICTION = 0.10


@dataclass(frozen=True)
class ContactMotion:
    """Motion [valves, angles] and loads [valves, speeds, angles].

    Attributes:
        angle: cam angle from the lobe center [rad], [angles], evenly spaced over the whole turn.
        cam_speed: [rad/s], [speeds].
        static: True for speeds at which only the spring counts (cranking, idle), [speeds].
        shapes: the lobes.
        curves: motion of the train.
        lobe: lobe on tappet [N]; NaN where it is not known or the train would part.
        tip, side: of the pad on the tip, along the stem and along +x [N].
        shaft_x, shaft_y: of the rocker on its shaft [N].
        turn: rocker's rotation per cam radian [1], [valves, angles].
        rows: the sheet's values, key -> [valves].
        masses_missing: valves whose masses are not known, so that only static loads are.
    """

    angle: FloatArray
    cam_speed: FloatArray
    static: BoolArray
    shapes: LobeShapes
    curves: TrainCurves
    lobe: FloatArray
    tip: FloatArray
    side: FloatArray
    shaft_x: FloatArray
    shaft_y: FloatArray
    turn: FloatArray
    rows: dict[str, FloatArray]
    masses_missing: tuple[str, ...]


def contact_motion(
    setup: Setup, rocker: RockerResult, spring: SpringResult, cam_speed: FloatArray, static: BoolArray
) -> ContactMotion:
    """Move every train and load it at each speed; a static speed counts the spring alone."""
    angle: FloatArray = -pi + 2 * pi / ANGLES * np.arange(ANGLES, dtype=float)
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    rows["station.gross_lift"] = setup.column("station", "gross_lift").value
    rows["lobe.acceleration"] = np.ones(len(setup.valves))
    shapes = lobe_shapes(setup, angle)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    curves = train_curves(shapes, rows, at_pushrod, pushrod_lean=True)
    force = spring.seat_load.value[:, np.newaxis] + spring.rate.value[:, np.newaxis] * curves.valve_lift
    masses, missing = _masses(setup)
    loads = _loads(setup, rows, curves, masses, force, np.where(static, 0.0, cam_speed))
    lobe = loads.lobe
    # Without the linkage's arms virtual work still gives the slow load: ratio times spring.
    slow = np.where(curves.valve_lift > 0, curves.ratio * force, 0.0)[:, np.newaxis, :]
    lobe = np.where(np.isnan(lobe) & static[:, np.newaxis], slow, lobe)
    unknown = np.array([valve in missing for valve in setup.valves])
    blank = np.where(unknown[:, np.newaxis] & ~static, np.nan, 1.0)[..., np.newaxis]
    parted = np.where(lobe < 0, np.nan, 1.0)
    return ContactMotion(
        angle=angle,
        cam_speed=cam_speed,
        static=static,
        shapes=shapes,
        curves=curves,
        lobe=lobe * blank * parted,
        tip=np.maximum(loads.tip, 0.0) * blank,
        side=loads.side * blank,
        shaft_x=loads.shaft[..., 0] * blank,
        shaft_y=loads.shaft[..., 1] * blank,
        turn=rocker_motion(curves, rows["rocker.pad_arm"])[0],
        rows=rows,
        masses_missing=missing,
    )


def _masses(setup: Setup) -> tuple[TrainMasses, tuple[str, ...]]:
    """Return the moving masses, a feather where they are not known, and whose are not."""
    found = train_mass_columns(setup)
    value = {key: column.value for key, column in found.columns.items()}
    share = setup.column("control", "spring_share").value
    share = np.where(np.isnan(share), 1 / 3, share)
    valve_side = (
        value["valve.mass"]
        + value["masses.retainer_mass"]
        + value["masses.keeper_mass"]
        + share * value["masses.spring_mass"]
    )
    parts = [
        valve_side,
        value["masses.rocker_inertia"],
        value["masses.pushrod_mass"],
        value["masses.tappet_mass"],
    ]
    unknown = np.atleast_1d(np.isnan(np.stack(parts)).any(axis=0)).tolist()
    missing = tuple(valve for valve, each in zip(setup.valves, unknown, strict=True) if each)
    return TrainMasses(*(np.where(np.isnan(each), 1e-9, each) for each in parts)), missing


def _loads(
    setup: Setup,
    rows: dict[str, FloatArray],
    curves: TrainCurves,
    masses: TrainMasses,
    force: FloatArray,
    cam_speed: FloatArray,
) -> TrainLoads:
    """Load the trains."""
    tip_friction = setup.column("control", "tip_friction").value
    roller = np.array([train.rocker.tip == "roller" for train in setup.trains])
    usual = np.where(roller, 0.0, _FRICTION)
    shape = TrainShape(
        pad_arm=rows["rocker.pad_arm"],
        pad_radius=rows["rocker.pad_radius"],
        setback=rows["shaft.setback"],
        tappet_angle=np.nan_to_num(rows["tappet.angle"]),
        splay_angle=np.arcsin(np.nan_to_num(rows["pushrod.splay"] / rows["pushrod.length"])),
        base_radius=np.nan_to_num(setup.column("lobe", "base_radius").value),
    )
    # The bushing's and the lobe's friction act along the motion and hardly press on the lobe: left out.
    friction = TrainFriction(tip=np.where(np.isnan(tip_friction), usual, tip_friction))
    return train_loads(curves, shape, masses, force, cam_speed, friction)
