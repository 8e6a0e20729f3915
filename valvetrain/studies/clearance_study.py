"""Does each valve clear the piston and the other valve through the overlap?"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.crank_slider import (
    clearance_volume,
    effective_compression_ratio,
    static_compression_ratio,
)
from valvetrain.mechanics.lift_curve import LiftCurve
from valvetrain.mechanics.piston_clearance import (
    gap_at_top_dead_center,
    least_clearance,
    least_from_readings,
    piston_to_valve,
)
from valvetrain.mechanics.rocker_linkage import pad_drop
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.events_study import EventsInputs, event_quantities, events_inputs
from valvetrain.studies.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.studies.quantity import Quantity, computed
from valvetrain.studies.valve_gaps import relief_clearance, valve_gaps

__all__ = ["ClearanceResult", "clearance_study", "describes_clearance"]

# Crank angles about the overlap's top dead center at which the clearance is worked out.
ANGLES = np.radians(np.arange(-75.0, 75.5, 1.0))

_FLOORS: tuple[Literal["parallel"], Literal["square"]] = ("parallel", "square")

_PISTON = (
    "gasket_thickness",
    "deck_clearance",
    "valve_recess",
    "relief_depth",
    "valve_angle",
    "relief_radius",
    "relief_offset_along",
    "relief_offset_across",
)
_DIMENSIONS = {
    "clearance": "length",
    "at_angle": "angle",
    "per_degree_advance": "length",
    "per_lash": "ratio",
    "relief_gap": "length",
}


@dataclass(frozen=True)
class ClearanceResult:
    """Clearances at every valve, cold and at the lash set, along the stem.

    Attributes:
        clearance: least to the piston; at_angle: crank angle there, after the overlap's top dead center.
        per_degree_advance: its change with each degree of the crank by which the cam is advanced.
        per_lash: its change with lash, as a ratio.
        measured, measured_angle: least clearance from dial readings, brought to the lash set; NaN without.
        judged: the measured clearance where there is one, else the computed one.
        relief_gap: valve head to the wall of the relief, seen along the stem.
        crank_angle, path: clearance through the overlap [m], shape [angles] and [valves, angles].
        lift, piston: the valve's lift and the piston's fall along the stem plus the gap, same shape.
        valve_gap: least gap between the intake and exhaust valve heads of each cylinder; gap_angle: where.
        static_ratio, effective_ratio: compression ratio of each cylinder, from its whole stroke, and from the
            intake's closing at lift-off of the lash set.
        cylinders: number of each cylinder.
        missing: sheet keys that the piston clearance of each valve still lacks.
        described: False where the sheet holds nothing of the piston at all.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    clearance: Quantity
    at_angle: Quantity
    per_degree_advance: Quantity
    per_lash: Quantity
    measured: Quantity
    measured_angle: Quantity
    judged: Quantity
    relief_gap: Quantity
    crank_angle: FloatArray
    path: FloatArray
    lift: FloatArray
    piston: FloatArray
    valve_gap: Quantity
    gap_angle: Quantity
    static_ratio: Quantity
    effective_ratio: Quantity
    cylinders: tuple[int, ...]
    missing: tuple[tuple[str, ...], ...]
    described: bool


def describes_clearance(setup: Setup) -> bool:
    """Whether the sheet holds anything of the piston."""
    return any(value is not None for train in setup.trains for value in vars(train.piston).values())


def clearance_study(setup: Setup, advance: float = 0.0, lash: float | None = None) -> ClearanceResult:
    """Study the clearances.

    Args:
        setup: the engine.
        advance: crank angle by which the cam is advanced from where it stands [rad]; negative: retarded.
        lash: [m] at every valve in place of the sheet's.
    """
    inputs = events_inputs(setup, lash)
    columns = _columns(setup, inputs, advance)
    floors = tuple(train.piston.relief_floor for train in setup.trains)
    stroke, rod = _engine(setup)
    quantities = computed(lambda rows: _quantities(rows, inputs, floors, stroke, rod), columns, _DIMENSIONS)
    rows = {key: column.value[np.newaxis] for key, column in columns.items()}
    path, lift = (each[0] for each in _path(rows, inputs, floors, stroke, rod))
    lash_now = lash_at_valve({key: each[0] for key, each in rows.items()}, inputs.at_pushrod)
    measured, angle = _from_readings(setup, lash_now, columns)
    clearance = quantities["clearance"]
    by_dial = ~np.isnan(measured.value)
    judged = Quantity(
        "length",
        np.where(by_dial, measured.value, clearance.value),
        np.where(by_dial, measured.uncertainty, clearance.uncertainty),
        {} if by_dial.any() else clearance.contributions,
    )
    gap, gap_angle = valve_gaps(setup, inputs.cylinders, ANGLES, lift)
    static, effective = _compression(setup, inputs, columns, stroke, rod)
    needed = ("gasket_thickness", "deck_clearance", "valve_recess", "relief_depth")
    return ClearanceResult(
        valves=setup.valves,
        roles=setup.roles,
        measured=measured,
        measured_angle=angle,
        judged=judged,
        crank_angle=ANGLES,
        path=path,
        lift=lift,
        piston=path + lift,
        valve_gap=gap,
        gap_angle=gap_angle,
        static_ratio=static,
        effective_ratio=effective,
        cylinders=tuple(number for number, _, _ in inputs.cylinders),
        missing=tuple(
            (
                *(f"piston.{key}" for key in needed if getattr(train.piston, key) is None),
                *(() if train.piston.relief_floor is not None else ("piston.relief_floor",)),
            )
            for train in setup.trains
        ),
        described=describes_clearance(setup),
        **quantities,
    )


def _columns(setup: Setup, inputs: EventsInputs, advance: float) -> dict[str, Column]:
    """Gather the columns; a stem without an angle stands along the cylinder."""
    columns = dict(inputs.columns)
    for key in _PISTON:
        columns[f"piston.{key}"] = setup.column("piston", key)
    angle = columns["piston.valve_angle"]
    columns["piston.valve_angle"] = Column(np.nan_to_num(angle.value), angle.uncertainty, angle.source)
    columns["valve.head_diameter"] = setup.column("valve", "head_diameter")
    count = len(setup.trains)
    columns["advance"] = Column(np.full(count, advance), np.zeros(count), ("",) * count)
    doubt = np.array([0.0 if curve is None else _flank_lift_doubt(curve) for curve in inputs.curves])
    columns["lobe lift"] = Column(np.zeros(count), doubt, ("",) * count)
    return columns


def _flank_lift_doubt(curve: LiftCurve) -> float:
    """Standard uncertainty of the lobe's lift on its flanks [m].

    A card's flank between two checking lifts is taken to be known to 1 % of the lobe lift (own estimate: the
    root mean square that `card_doubt` found, on the flank's slope).
    """
    return 0.01 * curve.max_lift if curve.source == "card" else curve.lift_uncertainty


def _engine(setup: Setup) -> tuple[float, float]:
    """Stroke and rod length [m]; NaN where not given."""
    engine = setup.engine
    return (
        np.nan if engine.stroke is None else engine.stroke.value,
        np.nan if engine.rod_length is None else engine.rod_length.value,
    )


def _path(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
) -> tuple[FloatArray, FloatArray]:
    """Clearance along the stem, and lift, at `ANGLES` with the cam advanced, both [k, n, angles]."""
    shape = rows["lobe.lift"].shape
    lift = np.full((*shape, ANGLES.size), np.nan)
    lash = lash_at_valve(rows, inputs.at_pushrod)
    closed = closed_linkage(rows, lash)
    sign = np.array([1.0 if role == "intake" else -1.0 for role in inputs.setup.roles])
    center = sign * rows["cam.centerline"] - rows["advance"]
    rise = np.full((*shape, ANGLES.size), np.nan)
    for curve in {id(each): each for each in inputs.curves if each is not None}.values():
        own = np.array([each is curve for each in inputs.curves])
        cam = 0.5 * (ANGLES - center[..., own, np.newaxis])
        rise[..., own, :] = curve.lift(cam)
    raised = np.where(rise > 1e-5, rise + rows["lobe lift"][..., np.newaxis], rise)
    rise = np.minimum(raised, rows["lobe.lift"][..., np.newaxis])
    drop = pad_drop(closed, rise)
    drop = np.where(np.isnan(drop), rows["rocker.nominal_ratio"][..., np.newaxis] * rise, drop)
    lift = np.maximum(drop - lash[..., np.newaxis], 0.0)
    clearance = np.full(lift.shape, np.nan)
    if not (np.isnan(stroke) or np.isnan(rod)):
        for floor in _FLOORS:
            own = np.array([each == floor for each in floors])
            if own.any():
                clearance[..., own, :] = _clearance_of(rows, own, floor, lift[..., own, :], stroke, rod)
    return clearance, lift


def _clearance_of(
    rows: Mapping[str, FloatArray],
    own: FloatArray,
    floor: Literal["parallel", "square"],
    lift: FloatArray,
    stroke: float,
    rod: float,
) -> FloatArray:
    """Clearance of the valves over one kind of floor."""
    part = {key: rows[f"piston.{key}"][..., own] for key in _PISTON[:5]}
    gap = gap_at_top_dead_center(
        gasket=part["gasket_thickness"],
        deck_clearance=part["deck_clearance"],
        valve_recess=part["valve_recess"],
        relief_depth=part["relief_depth"],
        valve_angle=part["valve_angle"],
        floor=floor,
    )
    return piston_to_valve(
        ANGLES,
        lift,
        gap,
        stroke=np.full(gap.shape, stroke),
        rod_length=np.full(gap.shape, rod),
        valve_angle=part["valve_angle"],
        floor=floor,
    )


def _quantities(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
) -> dict[str, FloatArray]:
    """Compute the clearances at every valve, each [k, n]; see `ClearanceResult`."""
    least = least_clearance(ANGLES, _path(rows, inputs, floors, stroke, rod)[0])
    step = np.radians(1.0)
    moved = [
        least_clearance(
            ANGLES, _path({**rows, "advance": rows["advance"] + way * step}, inputs, floors, stroke, rod)[0]
        ).clearance
        for way in (-1.0, 1.0)
    ]
    gap = 25e-6
    opened = least_clearance(
        ANGLES, _path({**rows, "lash.lash": rows["lash.lash"] + gap}, inputs, floors, stroke, rod)[0]
    ).clearance
    return {
        "clearance": least.clearance,
        "at_angle": least.crank_angle,
        "per_degree_advance": 0.5 * (moved[1] - moved[0]),
        "per_lash": (opened - least.clearance) / gap,
        "relief_gap": relief_clearance(
            rows["valve.head_diameter"],
            rows["piston.relief_radius"],
            rows["piston.relief_offset_along"],
            rows["piston.relief_offset_across"],
        ),
    }


def _from_readings(
    setup: Setup, lash: FloatArray, columns: Mapping[str, Column]
) -> tuple[Quantity, Quantity]:
    """Least clearance from dial readings at every valve that has them, at the lash set."""
    count = len(setup.trains)
    value, doubt, angle = np.full(count, np.nan), np.full(count, np.nan), np.full(count, np.nan)
    for index, train in enumerate(setup.trains):
        readings, with_lash = train.piston.readings, train.piston.readings_lash
        if readings is None or with_lash is None or np.isnan(lash[index]):
            continue
        least = least_from_readings(readings.crank_angles, readings.clearances, readings.reading_uncertainty)
        # More lash than at the reading lets the valve down by as much less.
        value[index] = least.clearance + lash[index] - with_lash.value
        doubt[index] = np.hypot(least.uncertainty, np.hypot(with_lash.uncertainty, 1e-5))
        angle[index] = least.crank_angle
    none = np.where(np.isnan(angle), np.nan, 0.0)
    return Quantity("length", value, doubt, {}), Quantity("angle", angle, none, {})


def _compression(
    setup: Setup, inputs: EventsInputs, columns: Mapping[str, Column], stroke: float, rod: float
) -> tuple[Quantity, Quantity]:
    """Static and effective compression ratio of every cylinder."""
    first = [into[0] for _, into, _ in inputs.cylinders]
    keys = ("compression_ratio", "chamber_volume", "crown_volume", "gasket_bore", "gasket_thickness",
            "deck_clearance")  # fmt: skip
    own = {f"piston.{key}": _picked(setup.column("piston", key), first) for key in keys}
    bore = np.nan if setup.engine.bore is None else setup.engine.bore.value
    rows = {key: column.value[np.newaxis] for key, column in columns.items()}
    with np.errstate(invalid="ignore"):
        closes = event_quantities(rows, inputs, 0.0, "valve")["closes"][0][first]
    count = len(first)
    # The closing's own doubt: half of a crank degree on each side of the wheel, and the lash.
    own["intake closes"] = Column(closes, np.full(count, np.radians(1.0)), ("events",) * count)

    def both(moved: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        volume = clearance_volume(
            moved["piston.chamber_volume"],
            gasket_bore=moved["piston.gasket_bore"],
            gasket_thickness=moved["piston.gasket_thickness"],
            bore=bore,
            deck_clearance=moved["piston.deck_clearance"],
            piston_dish=moved["piston.crown_volume"],
        )
        given = moved["piston.compression_ratio"]
        ratio = np.full(given.shape, np.nan)
        known = volume > 0
        if known.any() and not (np.isnan(bore) or np.isnan(stroke)):
            ratio[known] = static_compression_ratio(bore, stroke, volume[known])
        ratio = np.where(np.isnan(given), ratio, given)
        effective = np.full(ratio.shape, np.nan)
        shut = moved["intake closes"]
        good = (ratio > 1) & (np.abs(shut) <= pi)
        if good.any() and not (np.isnan(stroke) or np.isnan(rod)):
            effective[good] = effective_compression_ratio(ratio[good], shut[good], stroke, rod)
        return {"static": ratio, "effective": effective}

    found = computed(both, own, {"static": "ratio", "effective": "ratio"})
    return found["static"], found["effective"]


def _picked(column: Column, indices: list[int]) -> Column:
    """Return the column at some of its valves."""
    return Column(
        column.value[indices],
        column.uncertainty[indices],
        tuple(column.source[index] for index in indices),
    )
