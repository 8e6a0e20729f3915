"""Does each valve clear the piston and the other valve through the overlap?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.piston.clearance import least_from_readings
from valvetrain.questions.clearance.compression import compression_ratios
from valvetrain.questions.clearance.piston_path import (
    ANGLES,
    PISTON_KEYS,
    SHAPE,
    least_of_path,
    piston_path,
)
from valvetrain.questions.clearance.valve_gaps import relief_clearance, valve_gaps
from valvetrain.questions.events.study import EventsInputs, events_inputs
from valvetrain.questions.rocker.linkage_inputs import lash_at_valve
from valvetrain.setup.setup import Column, Setup

__all__ = ["ClearanceResult", "clearance_study", "describes_clearance"]


@dataclass(frozen=True)
class ClearanceResult:
    """Clearances at every valve, cold and at the lash set, along the stem.

    What is of two valves or of a cylinder has an entry a cylinder, in the order of `cylinders`.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    clearance: Quantity = output("length", "least to the piston, worked out", heading="worked out")
    at_angle: Quantity = output(
        "angle", "crank angle of the least, after the overlap's top dead center", heading="at crank deg"
    )
    per_degree_advance: FloatArray = output(
        "length", "change of the clearance with each crank degree by which the cam is advanced"
    )
    per_lash: FloatArray = output("ratio", "its change with the lash")
    per_stand_shim: FloatArray = output(
        "ratio", "its change with a shim under the stands, the lash set again"
    )
    measured: Quantity = output(
        "length", "least clearance from dial readings, brought to the lash set", heading="by dial"
    )
    measured_angle: Quantity = output("angle", "crank angle of the dial's least", heading="dial at")
    judged: Quantity = output(
        "length", "the dial's clearance where there is one and the cam is not moved, else the one worked out"
    )
    relief_gap: Quantity = output(
        "length", "valve head to the wall of the relief, seen along the stem", heading="to the wall"
    )
    least_lift: FloatArray = output("length", "the valve's lift where the clearance is least")
    crank_angle: FloatArray = output("angle", "angles of the paths, [angles]", key="")
    path: FloatArray = output("length", "clearance through the overlap, [valves, angles]", key="")
    lift: FloatArray = output("length", "the valve's lift, [valves, angles]", key="")
    piston: FloatArray = output(
        "length", "the piston's fall along the stem plus the gap, [valves, angles]", key=""
    )
    valve_gap: Quantity = output("length", "least gap between the heads of two valves", key="")
    gap_angle: Quantity = output("angle", "crank angle of that gap", key="")
    static_ratio: Quantity = output("ratio", "compression ratio from the whole stroke", key="")
    effective_ratio: Quantity = output(
        "ratio", "compression ratio from where the intake seats at its lash", key=""
    )
    cylinders: tuple[int, ...] = output(None, "number of each cylinder", key="")
    missing: tuple[tuple[str, ...], ...] = output(
        "words", "sheet keys that the piston clearance of a valve still lacks"
    )
    cam_position: str = output(
        None, 'where the cam stands: as the degree "wheel" found it, or as on its "card"', key=""
    )
    described: bool = output(None, "False where the sheet holds nothing of the piston at all", key="")
    advance: float = output("angle", "by which the cam was asked to be advanced", key="", default=0.0)


def describes_clearance(setup: Setup) -> bool:
    """Whether the sheet holds anything of the piston."""
    return any(value is not None for train in setup.trains for value in vars(train.piston).values())


def clearance_study(
    setup: Setup, advance: float = 0.0, lash: float | FloatArray | None = None
) -> ClearanceResult:
    """Study the clearances.

    Args:
        setup: the engine.
        advance: crank angle by which the cam is advanced from where it stands [rad]; negative: retarded.
        lash: [m], one or one a valve, in place of the sheet's.
    """
    if not describes_clearance(setup):
        return _nothing(setup)
    inputs = events_inputs(setup, lash)
    columns = _columns(setup, inputs, advance)
    floors = tuple(train.piston.relief_floor for train in setup.trains)
    stroke, rod = _engine(setup)
    quantities = computed(
        lambda rows: _quantities(rows, inputs, floors, stroke, rod),
        columns,
        dimensions(ClearanceResult, "clearance", "at_angle", "relief_gap"),
    )
    rows = {key: column.value[np.newaxis] for key, column in columns.items()}
    path, lift = (each[0] for each in piston_path(rows, inputs, floors, stroke, rod))
    lash_now = lash_at_valve({key: each[0] for key, each in rows.items()}, inputs.at_pushrod)
    changes = _sensitivities(rows, inputs, floors, stroke, rod)
    measured, angle = _from_readings(setup, lash_now, columns)
    clearance = quantities["clearance"]
    # A dial's readings hold for the cam as it stood; of a cam that is moved only what is worked out does.
    by_dial = ~np.isnan(measured.value) & (advance == 0)
    judged = Quantity(
        "length",
        np.where(by_dial, measured.value, clearance.value),
        np.where(by_dial, measured.uncertainty, clearance.uncertainty),
        {} if by_dial.any() else clearance.contributions,
        None if clearance.low is None else np.where(by_dial, np.nan, clearance.low),
        None if clearance.high is None else np.where(by_dial, np.nan, clearance.high),
    )
    gap, gap_angle = valve_gaps(setup, inputs.cylinders, ANGLES, lift)
    first = [into[0] for _, into, _ in inputs.cylinders]
    static, effective = compression_ratios(setup, first, advance, lash, stroke, rod)
    needed = ("gasket_thickness", "deck_clearance", "valve_recess", "relief_depth")
    return ClearanceResult(
        valves=setup.valves,
        roles=setup.roles,
        measured=measured,
        measured_angle=angle,
        judged=judged,
        least_lift=_lift_there(rows, inputs, floors, quantities["at_angle"].value),
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
        cam_position="wheel" if setup.wheel else "card",
        described=True,
        advance=advance,
        per_degree_advance=changes["per_degree_advance"],
        per_lash=changes["per_lash"],
        per_stand_shim=changes["per_stand_shim"],
        clearance=clearance,
        at_angle=quantities["at_angle"],
        relief_gap=quantities["relief_gap"],
    )


def _lift_there(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    angle: FloatArray,
) -> FloatArray:
    """Lift of every valve at its own crank angle [m]."""
    return piston_path(rows, inputs, floors, np.nan, np.nan, angle[np.newaxis, :, np.newaxis])[1][0, :, 0]


def _nothing(setup: Setup) -> ClearanceResult:
    """Return the result for a sheet that holds nothing of the piston: all of it unknown."""
    cylinders = tuple(dict.fromkeys(train.cylinder for train in setup.trains))

    def unknown(dimension: str, count: int) -> Quantity:
        return Quantity(dimension, np.full(count, np.nan), np.full(count, np.nan), {})

    count = len(setup.trains)
    paths = np.full((count, ANGLES.size), np.nan)
    return ClearanceResult(
        valves=setup.valves,
        roles=setup.roles,
        measured=unknown("length", count),
        measured_angle=unknown("angle", count),
        judged=unknown("length", count),
        least_lift=paths[:, 0],
        crank_angle=ANGLES,
        path=paths,
        lift=paths,
        piston=paths,
        valve_gap=unknown("length", len(cylinders)),
        gap_angle=unknown("angle", len(cylinders)),
        static_ratio=unknown("ratio", len(cylinders)),
        effective_ratio=unknown("ratio", len(cylinders)),
        cylinders=cylinders,
        missing=((),) * count,
        cam_position="wheel" if setup.wheel else "card",
        described=False,
        per_degree_advance=paths[:, 0],
        per_lash=paths[:, 0],
        per_stand_shim=paths[:, 0],
        clearance=unknown("length", count),
        at_angle=unknown("angle", count),
        relief_gap=unknown("length", count),
    )


def _columns(setup: Setup, inputs: EventsInputs, advance: float) -> dict[str, Column]:
    """Gather the columns; a stem without an angle stands along the cylinder."""
    columns = dict(inputs.columns)
    for key in PISTON_KEYS:
        columns[f"piston.{key}"] = setup.column("piston", key)
    angle = columns["piston.valve_angle"]
    columns["piston.valve_angle"] = Column(np.nan_to_num(angle.value), angle.uncertainty, angle.source)
    lean = setup.column("shaft", "stand_angle")
    columns["shaft.stand_angle"] = Column(np.nan_to_num(lean.value), lean.uncertainty, lean.source)
    columns["valve.head_diameter"] = setup.column("valve", "head_diameter")
    count = len(setup.trains)
    columns["advance"] = Column(np.full(count, advance), np.zeros(count), ("",) * count)
    # In standard uncertainties of the lift where the valve stands, see `lobe_doubt.lift_doubt`.
    doubt = np.array([0.0 if curve is None else 1.0 for curve in inputs.curves])
    columns[SHAPE] = Column(np.zeros(count), doubt, ("",) * count)
    return columns


def _engine(setup: Setup) -> tuple[float, float]:
    """Stroke and rod length [m]; NaN where not given."""
    engine = setup.engine
    return (
        np.nan if engine.stroke is None else engine.stroke.value,
        np.nan if engine.rod_length is None else engine.rod_length.value,
    )


def _quantities(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
) -> dict[str, FloatArray]:
    """Compute the clearances at every valve, each [k, n]; see `ClearanceResult`."""
    least = least_of_path(rows, inputs, floors, stroke, rod)
    return {
        "clearance": least.clearance,
        "at_angle": least.crank_angle,
        "relief_gap": relief_clearance(
            rows["valve.head_diameter"],
            rows["piston.relief_radius"],
            rows["piston.relief_offset_along"],
            rows["piston.relief_offset_across"],
        ),
    }


def _sensitivities(
    rows: Mapping[str, FloatArray],
    inputs: EventsInputs,
    floors: tuple[str | None, ...],
    stroke: float,
    rod: float,
) -> dict[str, FloatArray]:
    """Change of the least clearance with the cam's advance, the lash and a stand shim, each [n]."""

    def least(**moved: FloatArray) -> FloatArray:
        named = {name.replace("_at_", "."): value for name, value in moved.items()}
        return np.asarray(least_of_path({**rows, **named}, inputs, floors, stroke, rod).clearance[0])

    rows = dict(rows)
    degree, gap, shim = np.radians(1.0), 25e-6, 250e-6
    here = least()
    # A shim lifts the shaft along its stands; the setback moves by the stands' lean.
    lean = rows["shaft.stand_angle"]
    raised = least(
        shaft_at_height=rows["shaft.height"] + shim * np.cos(lean),
        shaft_at_setback=rows["shaft.setback"] - shim * np.sin(lean),
    )
    moved = [least(advance=rows["advance"] + way * degree) for way in (-1.0, 1.0)]
    return {
        "per_degree_advance": 0.5 * (moved[1] - moved[0]),
        "per_lash": (least(lash_at_lash=rows["lash.lash"] + gap) - here) / gap,
        "per_stand_shim": (raised - here) / shim,
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
