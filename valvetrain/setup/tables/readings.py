"""The table of bench readings that `fit` works from: `readings.csv`."""

import math
import re
from pathlib import Path

from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.measured import Measured
from valvetrain.parts.reading import READINGS, BenchReading
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.columns import COLUMNS
from valvetrain.setup.tables.csv_file import Table, read_table
from valvetrain.setup.units import display_unit, shown, spread_to_si
from valvetrain.setup.values import measured

__all__ = ["DIMENSION_KEYS", "FEWEST", "read_readings"]

DIMENSION_KEYS = (
    "shaft.setback",
    "shaft.height",
    "rocker.pad_arm",
    "rocker.pad_radius",
    "rocker.socket_arm",
    "rocker.arm_angle",
    "pushrod.length",
    "tappet.setback",
    "tappet.angle",
)
"""Sheet keys that a reading may be of."""

FEWEST = 3
"""Readings below which nothing is inferred."""

_COLUMNS = ("valve", "reading", "value", "tappet_lift", "crank_angle", "turns", "from", "remarks")
_LIFTS = ("net_lift", "gross_lift")
_MARKS = ("near_edge", "far_edge", "closed_mark")
_PLACES = {
    "tappet_lift": Spec("tappet lift", "length", -0.005, 0.03, "indicator"),
    "crank_angle": Spec("crank angle from full lift", "angle", -4.0, 4.0, "degree_wheel"),
    "turns": Spec("turns of the adjuster", "ratio", -20.0, 20.0, "exact"),
}
_VALUES = {
    **dict.fromkeys(_LIFTS, Spec("valve lift", "length", -0.03, 0.05, "indicator")),
    **dict.fromkeys(_MARKS, Spec("mark on the tip", "length", -0.05, 0.05, "ink")),
    "closed_mark_width": Spec("width of the mark", "length", 0.0, 0.01, "loupe"),
    "turn": Spec("pad movement", "length", -0.02, 0.02, "indicator"),
    "exposure": Spec("thread showing", "length", 0.0, 0.05, "caliper"),
    "mean_ratio": Spec("mean ratio", "ratio", 0.5, 4.0, "nominal_ratio"),
}


def read_readings(path: Path, shown_as: str, setup: Setup) -> tuple[BenchReading, ...]:
    """Read the table of readings; every fault of it is reported at once.

    Raises:
        SheetError: unknown columns, readings or valves, missing places, and readings that cannot be meant so:
            negative lift, a mark off the tip or with its edges exchanged, columns exchanged, too few.
    """
    table = read_table(path, shown_as, required=("valve", "reading", "value"))
    faults = [
        Fault(f"{shown_as} header", f"column '{column}' is not known", nearest(column, _COLUMNS))
        for column in table.units
        if column not in _COLUMNS
    ]
    found: list[BenchReading] = []
    for line, cells in table.rows:
        one = _row(table, line, cells, setup, faults)
        if one is not None:
            found.append(one)
    if not faults:
        faults += _set_faults(found, shown_as, setup)
    if faults:
        raise SheetError(faults)
    return tuple(found)


def _row(
    table: Table, line: int, cells: dict[str, str], setup: Setup, faults: list[Fault]
) -> BenchReading | None:
    """Read one row; faults are added to the list."""
    before = len(faults)
    kind = re.sub(r"[\s-]+", "_", cells["reading"].strip().lower())
    dimension = ""
    if kind in DIMENSION_KEYS:
        kind, dimension = "dimension", kind
    elif kind not in READINGS:
        known = (*READINGS, *DIMENSION_KEYS)
        faults.append(
            Fault(
                table.where(line, "reading"), f"'{cells['reading']}' is not a reading", nearest(kind, known)
            )
        )
        return None
    valve = cells["valve"].strip().upper()
    shaft = ""
    if kind == "dimension" and valve not in setup.valves:
        names = {train.shaft.name.upper(): train.shaft.name for train in setup.trains if train.shaft.name}
        shaft = names.get(valve, "")
        valve = "" if shaft or valve in ("ALL", "-") else valve
    if valve not in setup.valves and not (kind == "dimension" and valve == ""):
        faults.append(
            Fault(
                table.where(line, "valve"),
                f"'{cells['valve']}' is not a valve of this engine",
                f"Its valves are {', '.join(setup.valves)}.",
            )
        )
    places = {}
    for column, spec in _PLACES.items():
        places[column] = _cell(table, line, column, cells.get(column, ""), spec, setup, faults)
    value = _cell(
        table,
        line,
        "value",
        cells["value"],
        COLUMNS[dimension][2] if dimension else _VALUES[kind],
        setup,
        faults,
    )
    if len(faults) > before:
        return None
    if value is None:
        faults.append(
            Fault(table.where(line, "value"), "is empty", "Write the reading, or take the row out.")
        )
        return None
    value = _from_axis(table, line, cells.get("from", ""), kind, value, valve, setup, faults)
    one = BenchReading(
        valve,
        kind,
        dimension,
        value,
        places["tappet_lift"],
        places["crank_angle"],
        places["turns"],
        _resolution(table, cells["value"], dimension, kind, setup),
        line,
        f"{table.file} line {line}",
        shaft,
    )
    faults += _row_faults(table, one, setup)
    return one


def _cell(
    table: Table, line: int, column: str, text: str, spec: Spec, setup: Setup, faults: list[Fault]
) -> Measured | None:
    """Read one cell."""
    if not text:
        return None
    where = table.where(line, column)
    try:
        return measured(
            text,
            spec,
            where,
            system=setup.units,
            instruments=dict(setup.instruments),
            header_unit=_header_unit(table, column, spec),
        )
    except ValueError as error:
        faults.append(Fault(where, str(error), "Correct the cell, or take the row out."))
        return None


def _header_unit(table: Table, column: str, spec: Spec) -> str | None:
    """The unit in the header; that of the values is meant for lengths only."""
    unit = table.units.get(column)
    return unit if column != "value" or spec.dimension == "length" else None


def _resolution(table: Table, text: str, dimension: str, kind: str, setup: Setup) -> float:
    """The last digit of a length as it was written [m]; 0 where it cannot be told."""
    spec = COLUMNS[dimension][2] if dimension else _VALUES[kind]
    if spec.dimension != "length":
        return 0.0
    match = re.match(r"\s*[+-]?\d*(?:[.,](\d+))?", text)
    rest = text[match.end() :] if match else ""
    unit = re.sub(r"(?:\+/-|±)\s*[\d.,]+", "", rest).strip()
    unit = unit or table.units.get("value") or display_unit("length", setup.units)
    digits = len(match[1]) if match and match[1] else 0
    try:
        return abs(spread_to_si(10.0**-digits, unit, "length"))
    except ValueError:
        return 0.0


def _from_axis(
    table: Table,
    line: int,
    origin: str,
    kind: str,
    value: Measured,
    valve: str,
    setup: Setup,
    faults: list[Fault],
) -> Measured:
    """A mark measured from the tip's rim on the shaft's side, turned into one from the stem axis."""
    word = origin.strip().lower()
    if kind not in _MARKS or word in ("", "axis"):
        return value
    where = table.where(line, "from")
    if word != "rim":
        faults.append(
            Fault(where, f"'{origin}' is not known", "Write axis (of the stem) or rim (on the shaft's side).")
        )
        return value
    diameter = setup.trains[setup.valves.index(valve)].valve.stem_diameter
    if diameter is None:
        faults.append(
            Fault(where, "the stem's diameter is not in the sheet", "Add valve.stem_diameter, or use axis.")
        )
        return value
    doubt = math.hypot(value.uncertainty, 0.5 * diameter.uncertainty)
    return Measured(value.value - 0.5 * diameter.value, doubt, value.source, value.stated)


def _row_faults(table: Table, one: BenchReading, setup: Setup) -> list[Fault]:
    """Faults of one reading alone."""
    faults = []

    def fault(column: str, what: str, mend: str) -> None:
        faults.append(Fault(table.where(one.line, column), what, mend))

    if one.kind in _LIFTS:
        if one.tappet_lift is None and one.crank_angle is None:
            fault("tappet_lift", "is empty", "Say at which tappet lift or crank angle it was read.")
        if one.tappet_lift is not None and one.crank_angle is not None:
            fault("crank_angle", "stands beside a tappet lift", "Give one of them.")
        if one.crank_angle is not None and _curveless(setup, one.valve):
            fault("crank_angle", "needs the lobe's lift curve", "Describe the lobe in the sheet.")
        if one.value.value < -4.0 * one.value.uncertainty:
            text = shown(one.value.value, "length", setup.units)
            fault("value", f"the valve lift is negative ({text})", "Zero the dial on the base circle.")
        if one.tappet_lift is not None and one.tappet_lift.value < -4.0 * one.tappet_lift.uncertainty:
            text = shown(one.tappet_lift.value, "length", setup.units)
            fault("tappet_lift", f"is negative ({text})", "Zero the dial on the base circle.")
    if one.kind == "turn":
        if one.turns is None:
            fault("turns", "is empty", "Say by how many turns the adjuster was screwed.")
        if setup.trains[setup.valves.index(one.valve)].rocker.thread_pitch is None:
            fault("turns", "needs the thread's pitch", "Add rocker.thread_pitch to the sheet.")
    if one.kind in _MARKS:
        diameter = setup.trains[setup.valves.index(one.valve)].valve.stem_diameter
        if diameter is not None:
            beyond = abs(one.value.value) - 0.5 * diameter.value
            if beyond > 4.0 * one.value.uncertainty:
                tip = shown(diameter.value, "length", setup.units)
                text = shown(one.value.value, "length", setup.units)
                fault(
                    "value",
                    f"the mark lies at {text} from the stem axis, off the tip ({tip} across)",
                    "Check the unit, and whether it was read from the axis or from the rim.",
                )
    return faults


def _set_faults(found: list[BenchReading], shown_as: str, setup: Setup) -> list[Fault]:
    """Faults that show when readings are put together."""
    if len(found) < FEWEST:
        return [
            Fault(
                shown_as,
                f"holds {len(found)} readings, which is too few: {FEWEST} is the least",
                "Read lifts at several points, and the edges of the ink marks.",
            )
        ]
    faults = []
    for valve in setup.valves:
        own = [each for each in found if each.valve == valve]
        lifts = [each for each in own if each.kind in _LIFTS and each.tappet_lift is not None]
        less = [each for each in lifts if each.tappet_lift and each.tappet_lift.value > each.value.value]
        if len(lifts) > 1 and 2 * len(less) > len(lifts) and _is_longer(setup, valve):
            faults.append(
                Fault(
                    f"{shown_as}, valve {valve}",
                    "it lifts less than the tappet at most readings",
                    "Are the columns tappet_lift and value exchanged?",
                )
            )
    bands = _bands(found)
    crossed = [(near, far) for near, far in bands if _crossed(near, far)]
    # One of many is a gross error of one edge, which the fit names; most are columns exchanged.
    if 2 * len(crossed) > len(bands):
        faults += [
            Fault(
                f"{shown_as} lines {near.line} and {far.line}",
                "the near edge of the mark lies beyond the far one",
                "Are they exchanged? Near is toward the shaft; plus is away from it.",
            )
            for near, far in crossed
        ]
    return faults


def _bands(found: list[BenchReading]) -> list[tuple[BenchReading, BenchReading]]:
    """Near and far edges read on the same tip."""
    edges = {kind: [each for each in found if each.kind == kind] for kind in ("near_edge", "far_edge")}
    return [
        (near, far) for near in edges["near_edge"] for far in edges["far_edge"] if near.valve == far.valve
    ]


def _crossed(near: BenchReading, far: BenchReading) -> bool:
    slack = 4.0 * math.hypot(near.value.uncertainty, far.value.uncertainty)
    return near.value.value - far.value.value > slack


def _curveless(setup: Setup, valve: str) -> bool:
    """Whether the sheet does not describe the valve's lobe."""
    return lobe_curve(setup.trains[setup.valves.index(valve)].lobe) is None


def _is_longer(setup: Setup, valve: str) -> bool:
    """Whether the rocker is sold to lift the valve more than the tappet."""
    nominal = setup.trains[setup.valves.index(valve)].rocker.nominal_ratio
    return nominal is None or nominal.value > 1.05
