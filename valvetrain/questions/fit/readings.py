"""From the sheet's measurements and the table of readings to what the fit takes in."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.layout import OWN
from valvetrain.mechanics.fit.readings import Readings
from valvetrain.mechanics.rocker.linkage import planar_length
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.priors import PARAMETER_KEYS, Known, scatter_of
from valvetrain.questions.fit.shared import Shared
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["Gathered", "gathered", "measured_dimensions"]

_PARAMETERS = {key: name for name, key in PARAMETER_KEYS.items()} | {"pushrod.length": "pushrod_length"}
_LEAST_DOUBT = 1e-6  # m, rad: what is called exact is not
_THREAD = 0.25e-3  # m: thread showing is read against a cast face (our judgment)
_ALIKE = 0.5e-3  # m: adjusters of one engine show about the same thread (our judgment)
_KIND = {"turn": "turns"}


@dataclass(frozen=True)
class Gathered:
    """The input of a fit.

    Attributes:
        readings: as the fit takes them.
        bench: which row of the table each is, None for one that is not from there.
        label: what each is called in a budget.
    """

    readings: Readings
    bench: tuple[BenchReading | None, ...]
    label: tuple[str, ...]


def measured_dimensions(setup: Setup, shared: Shared, bench: Sequence[BenchReading] = ()) -> dict[str, Known]:
    """Sheet key -> what was measured of each dimension at every valve: in the sheet, or else at the bench.

    Values that an earlier fit inferred are no measurements and are left out.
    """
    inferred = set(setup.correlation.keys) if setup.correlation else set()
    found: dict[str, Known] = {}
    for key in (*_PARAMETERS, "rocker.nominal_ratio"):
        column = setup.column(*key.split("."))
        value, doubt = column.value.copy(), np.where(np.isnan(column.value), np.nan, column.uncertainty)
        if key in inferred:
            value, doubt = np.full_like(value, np.nan), np.full_like(value, np.nan)
        if key == "pushrod.length":
            splay = np.nan_to_num(setup.column("pushrod", "splay").value)
            value = np.asarray(planar_length(length=value, splay=splay))
        for row in bench:
            if row.kind == "dimension" and row.dimension == key:
                own = _those(setup, shared, row) & np.isnan(value)
                value, doubt = (
                    np.where(own, row.value.value, value),
                    np.where(own, row.value.uncertainty, doubt),
                )
        if np.any(np.isfinite(value)):
            found[key] = Known(value, doubt)
    return found


def _those(setup: Setup, shared: Shared, row: BenchReading) -> BoolArray:
    """The valves for which a dimension read at the bench holds, shape [n]."""
    if row.valve:
        which = shared.of[_PARAMETERS[row.dimension]]
        return np.asarray(which == which[setup.valves.index(row.valve)])
    names = np.array([train.shaft.name or "" for train in setup.trains])
    return np.asarray(names == row.shaft) if row.shaft else np.ones(names.size, bool)


class _Rows:
    """The readings as they are found, one after the other."""

    def __init__(self) -> None:
        self.kind: list[str] = []
        self.parameter: list[str] = []
        self.numbers: list[tuple[int, float, float, float, float, float]] = []
        self.at_valve: list[bool] = []
        self.alike: list[str] = []
        self.bench: list[BenchReading | None] = []
        self.label: list[str] = []

    def add(
        self,
        kind: str,
        valve: int,
        value: float,
        doubt: float,
        label: str,
        *,
        at: float = math.nan,
        parameter: str = "",
        at_valve: bool = False,
        crank: float = math.nan,
        row: BenchReading | None = None,
    ) -> None:
        """Add one; what is called exact is not."""
        self.kind.append(kind)
        self.parameter.append(parameter)
        resolution = row.resolution or math.nan if row is not None else math.nan
        self.numbers.append((valve, at, value, max(doubt, _LEAST_DOUBT), crank, resolution))
        self.at_valve.append(at_valve)
        by = {"near_edge": "ink", "far_edge": "ink", "closed_mark": "ink"}.get(kind, "")
        by = "indicator" if kind in ("net_lift", "gross_lift") else by
        self.alike.append(by if row is not None and not row.value.stated else "")
        self.bench.append(row)
        self.label.append(label)


def gathered(setup: Setup, shared: Shared, bench: Sequence[BenchReading]) -> Gathered:
    """Collect what the sheet and the table say of all valves."""
    lift = lobe_lift(setup).value
    rows = _Rows()
    spread = scatter_of(shared)
    reference = setup.column("shaft", "reference_stem_height").uncertainty

    def doubt_of_all(parameter: str, valve: int, doubt: float) -> float:
        """A shared value read on one part: that part's own share is in the reading."""
        parts = [name for name, base in OWN.items() if base == parameter]
        if parameter == "height":  # above a reference tip whose own height was read too
            doubt = math.hypot(doubt, float(reference[valve]))
        own = [
            float(spread[name][shared.of[name][valve]]) if spread[name].ndim else float(spread[name])
            for name in parts
        ]
        return math.hypot(doubt, *own)

    for key, known in measured_dimensions(setup, shared).items():
        parameter = _PARAMETERS.get(key, "pad_arm")  # a nominal ratio is one a casting
        for number in range(int(shared.of[parameter].max()) + 1):
            mine = (shared.of[parameter] == number) & np.isfinite(known.value)
            own = [int(index) for index in np.flatnonzero(mine)]
            pairs = {(float(known.value[index]), float(known.uncertainty[index])) for index in own}
            if not own:
                continue
            if key == "rocker.nominal_ratio":
                value, doubt = float(known.value[own[0]]), float(known.uncertainty[own[0]])
                rows.add("mean_ratio", own[0], value, doubt, key, at=float(lift[own[0]]))
            elif len(pairs) == 1:
                ((value, doubt),) = pairs
                doubt = doubt_of_all(parameter, own[0], doubt)
                rows.add("dimension", own[0], value, doubt, key, parameter=parameter)
            else:
                for index in own:
                    value, doubt = float(known.value[index]), float(known.uncertainty[index])
                    rows.add("dimension", index, value, doubt, key, parameter=parameter, at_valve=True)
    for place, one in enumerate(_exposures(setup, shared, bench)):
        if np.isfinite(one[0]):
            rows.add("exposure", place, one[0], one[1], "thread showing", row=one[2])
    for row in bench:
        if row.kind == "dimension":
            parameter = _PARAMETERS[row.dimension]
            value, doubt = row.value.value, row.value.uncertainty
            if row.valve:
                place = setup.valves.index(row.valve)
                rows.add(
                    "dimension",
                    place,
                    value,
                    doubt,
                    row.dimension,
                    parameter=parameter,
                    at_valve=True,
                    row=row,
                )
                continue
            those = _those(setup, shared, row)
            for number in np.unique(shared.of[parameter][those]):
                place = int(np.flatnonzero(those & (shared.of[parameter] == number))[0])
                doubt = doubt_of_all(parameter, place, row.value.uncertainty)
                rows.add("dimension", place, value, doubt, row.dimension, parameter=parameter, row=row)
        elif row.kind != "exposure":
            _add_reading(setup, rows, row, lift)
    angle, lifts, lobes = _curves(setup)
    numbers = np.array(rows.numbers)
    valve = numbers[:, 0].astype(np.intp)
    readings = Readings(
        kind=tuple(rows.kind),
        valve=valve,
        at=numbers[:, 1],
        value=numbers[:, 2],
        uncertainty=numbers[:, 3],
        parameter=tuple(rows.parameter),
        crank_angle=numbers[:, 4],
        resolution=numbers[:, 5],
        curve_angle=angle,
        curve_lift=lifts,
        lobe=None if lobes is None else lobes[valve],
        rim=0.5 * setup.column("valve", "stem_diameter").value[valve],
        at_valve=np.array(rows.at_valve),
        alike=tuple(rows.alike),
    )
    return Gathered(readings, tuple(rows.bench), tuple(rows.label))


def _add_reading(setup: Setup, rows: _Rows, row: BenchReading, lift: FloatArray) -> None:
    """Add a lift, a mark, a turn or a ratio read at one valve."""
    place = setup.valves.index(row.valve)
    value, doubt = row.value.value, row.value.uncertainty
    at, crank = math.nan, math.nan
    if row.kind == "closed_mark_width":
        rows.add("dimension", place, 0.5 * value, 0.5 * doubt, _label(row), parameter="ink_margin", row=row)
        return
    if row.kind in ("net_lift", "gross_lift"):
        if row.tappet_lift is not None:
            at = row.tappet_lift.value
            doubt = float(np.hypot(doubt, _ratio(setup, place) * row.tappet_lift.uncertainty))
        elif row.crank_angle is not None:
            crank = row.crank_angle.value
            curve = lobe_curve(setup.trains[place].lobe)
            assert curve is not None
            slope = _ratio(setup, place) * float(curve.velocity(0.5 * crank))
            doubt = float(np.hypot(doubt, 0.5 * slope * row.crank_angle.uncertainty))
    elif row.kind == "turn":
        pitch = setup.trains[place].rocker.thread_pitch
        assert pitch is not None
        assert row.turns is not None
        at = row.turns.value * pitch.value
    elif row.kind != "closed_mark":
        at = float(lift[place])
    rows.add(_KIND.get(row.kind, row.kind), place, value, doubt, _label(row), at=at, crank=crank, row=row)


def _label(row: BenchReading) -> str:
    words = {
        "near_edge": "ink edges",
        "far_edge": "ink edges",
        "net_lift": "dial readings",
        "gross_lift": "dial readings",
        "closed_mark": "closed marks",
        "closed_mark_width": "width of closed marks",
        "turn": "adjuster turns",
        "mean_ratio": "mean ratio",
    }
    return words[row.kind]


def _ratio(setup: Setup, index: int) -> float:
    nominal = setup.trains[index].rocker.nominal_ratio
    return nominal.value if nominal is not None else 1.5


def _exposures(
    setup: Setup, shared: Shared, bench: Sequence[BenchReading]
) -> list[tuple[float, float, BenchReading | None]]:
    """Thread showing at each valve against its bank's mean [m], its doubt, and its row.

    Socket arm and arm angle are those of the mean exposure, so only differences matter. Where nothing was
    read and the pushrods' length is known, all adjusters are taken to show about the same.
    """
    column = setup.column("adjuster", "exposure")
    rod = setup.column("pushrod", "length").value
    found: dict[int, tuple[float, float, BenchReading | None]] = {}
    for place in np.flatnonzero(np.isfinite(column.value)):
        found[int(place)] = (float(column.value[place]), float(column.uncertainty[place]), None)
    for row in bench:
        if row.kind == "exposure":
            found[setup.valves.index(row.valve)] = (row.value.value, row.value.uncertainty, row)
    every: list[tuple[float, float, BenchReading | None]] = [(math.nan, 0.0, None)] * len(setup.valves)
    bank = shared.of["tappet_position"]
    for number in np.unique(bank):
        own = [int(index) for index in np.flatnonzero(bank == number)]
        read = [index for index in own if index in found]
        mean = float(np.mean([found[index][0] for index in read])) if read else math.nan
        for index in own:
            if index in found:
                value, doubt, row_ = found[index]
                every[index] = (value - mean, float(np.hypot(doubt, _THREAD)), row_)
            elif not read and np.isfinite(rod[index]):
                every[index] = (0.0, _ALIKE, None)
    return every


def _curves(setup: Setup) -> tuple[FloatArray | None, FloatArray | None, NDArray[np.intp] | None]:
    """Lift curves of the lobes: crank angle, lifts [lobes, angles], and the lobe of each valve."""
    curves = [lobe_curve(train.lobe) for train in setup.trains]
    if any(curve is None for curve in curves):
        return None, None, None
    distinct: list[int] = []
    which = []
    for curve in curves:
        if id(curve) not in distinct:
            distinct.append(id(curve))
        which.append(distinct.index(id(curve)))
    angle = np.linspace(-np.pi, np.pi, 2881)
    table = []
    for wanted in distinct:
        curve = next(one for one in curves if id(one) == wanted)
        assert curve is not None
        table.append(np.asarray(curve.lift(angle)))
    return 2.0 * angle, np.stack(table), np.array(which)
