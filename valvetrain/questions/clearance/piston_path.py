"""Valve and piston through the overlap: lift, and clearance along the stem, at crank angles."""

from collections.abc import Mapping
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.piston.clearance import gap_at_top_dead_center, piston_to_valve
from valvetrain.mechanics.rocker.linkage import pad_drop
from valvetrain.questions.events.lobe_doubt import lift_doubt
from valvetrain.questions.events.study import EventsInputs
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve

__all__ = ["ANGLES", "COARSE", "PISTON_KEYS", "SHAPE", "piston_path"]

# Row of the doubt that the lobe's curve leaves of the lift, in its standard uncertainties.
SHAPE = "the lobe's shape"

# Crank angles about the overlap's top dead center at which the clearance is worked out.
ANGLES = np.radians(np.arange(-75.0, 75.5, 1.0))

# Half as many, for the uncertainty of the least clearance: a parabola through them finds it as well.
COARSE = ANGLES[::2]
_FLOORS: tuple[Literal["parallel"], Literal["square"]] = ("parallel", "square")

PISTON_KEYS = (
    "gasket_thickness",
    "deck_clearance",
    "valve_recess",
    "relief_depth",
    "valve_angle",
    "relief_radius",
    "relief_offset_along",
    "relief_offset_across",
)


def piston_path(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
    angles: FloatArray = ANGLES,
) -> tuple[FloatArray, FloatArray]:
    """Clearance along the stem, and lift, at crank angles with the cam advanced, both [k, n, angles]."""
    shape = rows["lobe.lift"].shape
    lift = np.full((*shape, angles.size), np.nan)
    lash = lash_at_valve(rows, inputs.at_pushrod)
    closed = closed_linkage(rows, lash)
    sign = np.array([1.0 if role == "intake" else -1.0 for role in inputs.setup.roles])
    center = sign * rows["cam.centerline"] - rows["advance"]
    rise, doubt = np.full((*shape, angles.size), np.nan), np.zeros((*shape, angles.size))
    for curve in {id(each): each for each in inputs.curves if each is not None}.values():
        own = np.array([each is curve for each in inputs.curves])
        cam = 0.5 * (angles - center[..., own, np.newaxis])
        rise[..., own, :] = curve.lift(cam)
        lobe = inputs.setup.trains[int(np.flatnonzero(own)[0])].lobe
        doubt[..., own, :] = lift_doubt(lobe, curve, cam)
    raised = np.where(rise > 1e-5, np.maximum(rise + rows[SHAPE][..., np.newaxis] * doubt, 0.0), rise)
    rise = np.minimum(raised, rows["lobe.lift"][..., np.newaxis])
    drop = pad_drop(closed, rise)
    drop = np.where(np.isnan(drop), rows["rocker.nominal_ratio"][..., np.newaxis] * rise, drop)
    lift = np.maximum(drop - lash[..., np.newaxis], 0.0)
    clearance = np.full(lift.shape, np.nan)
    if not (np.isnan(stroke) or np.isnan(rod)):
        for floor in _FLOORS:
            own = np.array([each == floor for each in floors])
            if own.any():
                clearance[..., own, :] = _over_floor(rows, own, floor, lift[..., own, :], stroke, rod, angles)
    return clearance, lift


def _over_floor(
    rows: Mapping[str, FloatArray],
    own: FloatArray,
    floor: Literal["parallel", "square"],
    lift: FloatArray,
    stroke: float,
    rod: float,
    angles: FloatArray,
) -> FloatArray:
    """Clearance of the valves over one kind of floor."""
    part = {key: rows[f"piston.{key}"][..., own] for key in PISTON_KEYS[:5]}
    gap = gap_at_top_dead_center(
        gasket=part["gasket_thickness"],
        deck_clearance=part["deck_clearance"],
        valve_recess=part["valve_recess"],
        relief_depth=part["relief_depth"],
        valve_angle=part["valve_angle"],
        floor=floor,
    )
    return piston_to_valve(
        angles,
        lift,
        gap,
        stroke=np.full(gap.shape, stroke),
        rod_length=np.full(gap.shape, rod),
        valve_angle=part["valve_angle"],
        floor=floor,
    )
