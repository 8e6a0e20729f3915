"""Valve and piston through the overlap: lift, and clearance along the stem, at crank angles."""

from collections.abc import Mapping
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.piston.clearance import LeastClearance, gap_at_top_dead_center, piston_to_valve
from valvetrain.mechanics.rocker.linkage import pad_drop
from valvetrain.questions.events.lobe_doubt import lift_doubt
from valvetrain.questions.events.study import EventsInputs
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve

__all__ = ["ANGLES", "PISTON_KEYS", "SHAPE", "least_of_path", "piston_path"]

# Row of the doubt that the lobe's curve leaves of the lift, in its standard uncertainties.
SHAPE = "the lobe's shape"

# Crank angles about the overlap's top dead center at which the clearance is worked out.
ANGLES = np.radians(np.arange(-75.0, 75.5, 1.0))

# Where the least is looked for first, top dead center among them; then about the lowest of these, and again.
COARSE = np.radians(np.arange(-76.0, 76.5, 2.0))
_CLOSER = np.linspace(-1.0, 1.0, 21)
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
    """Clearance along the stem, and lift, at crank angles with the cam advanced, both [k, n, angles].

    The angles are the same everywhere, shape [angles], or of their own, [k, n, angles].
    """
    shape = rows["lobe.lift"].shape
    angles = np.broadcast_to(angles, (*shape, angles.shape[-1]))
    lash = lash_at_valve(rows, inputs.at_pushrod)
    closed = closed_linkage(rows, lash)
    sign = np.array([1.0 if role == "intake" else -1.0 for role in inputs.setup.roles])
    center = sign * rows["cam.centerline"] - rows["advance"]
    rise, doubt = np.full(angles.shape, np.nan), np.zeros(angles.shape)
    for curve in {id(each): each for each in inputs.curves if each is not None}.values():
        own = np.array([each is curve for each in inputs.curves])
        cam = 0.5 * (angles[..., own, :] - center[..., own, np.newaxis])
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
                clearance[..., own, :] = _over_floor(
                    rows, own, floor, lift[..., own, :], stroke, rod, angles[..., own, :]
                )
    return clearance, lift


def least_of_path(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
) -> LeastClearance:
    """The least of the path and its crank angle, each [k, n].

    The path has a kink where the valve leaves or meets its seat: no curve through a few samples finds a least
    there, so that it is looked for closer and closer, to 0.02 degrees.
    """
    at: FloatArray = COARSE
    for width in (float(COARSE[1] - COARSE[0]), 0.1 * float(COARSE[1] - COARSE[0])):
        lowest = np.argmin(_known(piston_path(rows, inputs, floors, stroke, rod, at)[0]), axis=-1)
        places = np.broadcast_to(at, (*lowest.shape, at.shape[-1]))
        middle = np.take_along_axis(places, lowest[..., np.newaxis], axis=-1)
        at = middle + width * _CLOSER
    clearance = piston_path(rows, inputs, floors, stroke, rod, at)[0]
    lowest = np.argmin(_known(clearance), axis=-1)[..., np.newaxis]
    least, angle = (np.take_along_axis(each, lowest, axis=-1)[..., 0] for each in (clearance, at))
    known = ~np.isnan(clearance).any(axis=-1)
    ends = np.abs(angle) >= COARSE[-1]
    return LeastClearance(np.where(known, least, np.nan), np.where(known, angle, np.nan), known & ends)


def _known(values: FloatArray) -> FloatArray:
    return np.asarray(np.where(np.isnan(values), np.inf, values))


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
