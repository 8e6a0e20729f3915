"""From the sheet's measurements and the table of readings to what the fit takes in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.readings import Readings
from valvetrain.mechanics.rocker.linkage import planar_length
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.reading import BenchReading
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["TOLD", "Gathered", "gathered", "known_dimensions", "told"]

TOLD = "what the other role's rockers tell of the shaft"
"""What a value from another fit is called in a budget."""

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


def known_dimensions(setup: Setup, group: Sequence[int]) -> dict[str, tuple[float, float]]:
    """Sheet key -> (value, standard uncertainty) of each dimension that is in the sheet.

    Values that an earlier fit inferred are no measurements and are left out.
    """
    inferred = set(setup.correlation.keys) if setup.correlation else set()
    found: dict[str, tuple[float, float]] = {}
    for key in (*_PARAMETERS, "rocker.nominal_ratio"):
        column = setup.column(*key.split("."))
        own = [index for index in group if np.isfinite(column.value[index])]
        if own and key not in inferred:
            found[key] = (float(column.value[own[0]]), float(column.uncertainty[own[0]]))
    if "pushrod.length" in found:
        splay = float(np.nan_to_num(setup.column("pushrod", "splay").value[group[0]]))
        length, doubt = found["pushrod.length"]
        found["pushrod.length"] = (float(planar_length(length=length, splay=splay)), doubt)
    return found


def gathered(setup: Setup, group: Sequence[int], bench: Sequence[BenchReading]) -> Gathered:
    """Collect what the sheet and the table say of one group of valves.

    Args:
        setup: the setup.
        group: indices of the valves fitted together.
        bench: all rows of the table; those of other valves are passed over.
    """
    names = [setup.valves[index] for index in group]
    lift = lobe_lift(setup).value
    rows: list[tuple[str, int, float, float, float, str, float, float, BenchReading | None, str]] = []
    nan = float("nan")

    def add(
        kind: str,
        valve: int,
        value: float,
        doubt: float,
        label: str,
        *,
        at: float = nan,
        parameter: str = "",
        crank: float = nan,
        resolution: float = nan,
        row: BenchReading | None = None,
    ) -> None:
        rows.append(
            (kind, valve, at, value, max(doubt, _LEAST_DOUBT), parameter, crank, resolution, row, label)
        )

    for key, (value, doubt) in known_dimensions(setup, group).items():
        if key == "rocker.nominal_ratio":
            add("mean_ratio", 0, value, doubt, key, at=float(lift[group[0]]))
        else:
            add("dimension", 0, value, doubt, key, parameter=_PARAMETERS[key])
    exposures = _exposures(setup, group, bench)
    for place, one in enumerate(exposures):
        if np.isfinite(one[0]):
            add("exposure", place, one[0], one[1], "thread showing", row=one[2])
    for row in bench:
        if row.kind == "exposure" or (row.valve and row.valve not in names):
            continue
        place = names.index(row.valve) if row.valve else 0
        value, doubt = row.value.value, row.value.uncertainty
        if row.kind == "dimension":
            add(
                "dimension", place, value, doubt, row.dimension, parameter=_PARAMETERS[row.dimension], row=row
            )
            continue
        if row.kind == "closed_mark_width":
            add("dimension", place, 0.5 * value, 0.5 * doubt, _label(row), parameter="ink_margin", row=row)
            continue
        at, crank = nan, nan
        if row.kind in ("net_lift", "gross_lift"):
            if row.tappet_lift is not None:
                at = row.tappet_lift.value
                doubt = float(np.hypot(doubt, _ratio(setup, group[place]) * row.tappet_lift.uncertainty))
            elif row.crank_angle is not None:
                crank = row.crank_angle.value
                curve = lobe_curve(setup.trains[group[place]].lobe)
                assert curve is not None
                slope = _ratio(setup, group[place]) * float(curve.velocity(0.5 * crank))
                doubt = float(np.hypot(doubt, 0.5 * slope * row.crank_angle.uncertainty))
        elif row.kind == "turn":
            pitch = setup.trains[group[place]].rocker.thread_pitch
            assert pitch is not None
            assert row.turns is not None
            at = row.turns.value * pitch.value
        elif row.kind != "closed_mark":
            at = float(lift[group[place]])
        add(
            _KIND.get(row.kind, row.kind),
            place,
            value,
            doubt,
            _label(row),
            at=at,
            crank=crank,
            resolution=row.resolution or nan,
            row=row,
        )
    angle, lifts, lobes = _curves(setup, group)
    valve = np.array([one[1] for one in rows], dtype=np.intp)
    readings = Readings(
        kind=tuple(one[0] for one in rows),
        valve=valve,
        at=np.array([one[2] for one in rows]),
        value=np.array([one[3] for one in rows]),
        uncertainty=np.array([one[4] for one in rows]),
        parameter=tuple(one[5] for one in rows),
        crank_angle=np.array([one[6] for one in rows]),
        resolution=np.array([one[7] for one in rows]),
        curve_angle=angle,
        curve_lift=lifts,
        lobe=None if lobes is None else lobes[valve],
        rim=0.5 * setup.column("valve", "stem_diameter").value[list(group)][valve],
    )
    return Gathered(readings, tuple(one[8] for one in rows), tuple(one[9] for one in rows))


def told(one: Gathered, message: Mapping[str, tuple[float, float]]) -> Gathered:
    """The same input with what another fit tells: parameter -> (value, standard uncertainty)."""
    more = len(message)
    readings = one.readings
    assert readings.crank_angle is not None
    assert readings.resolution is not None
    unknown = np.full(more, np.nan)
    longer = replace(
        readings,
        kind=(*readings.kind, *("dimension",) * more),
        parameter=(*readings.parameter, *message),
        valve=np.concatenate([readings.valve, np.zeros(more, np.intp)]),
        at=np.concatenate([readings.at, unknown]),
        value=np.concatenate([readings.value, [value for value, _ in message.values()]]),
        uncertainty=np.concatenate([readings.uncertainty, [doubt for _, doubt in message.values()]]),
        crank_angle=np.concatenate([readings.crank_angle, unknown]),
        resolution=np.concatenate([readings.resolution, unknown]),
        lobe=None if readings.lobe is None else np.concatenate([readings.lobe, np.zeros(more, np.intp)]),
        rim=None if readings.rim is None else np.concatenate([readings.rim, unknown]),
    )
    return Gathered(longer, (*one.bench, *(None,) * more), (*one.label, *(TOLD,) * more))


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
    setup: Setup, group: Sequence[int], bench: Sequence[BenchReading]
) -> list[tuple[float, float, BenchReading | None]]:
    """Thread showing at each valve against the valves' mean [m], its doubt, and its row.

    Socket arm and arm angle are those of the mean exposure, so only differences matter. Where nothing was
    read and the pushrods' length is known, all adjusters are taken to show about the same.
    """
    column = setup.column("adjuster", "exposure")
    found: dict[int, tuple[float, float, BenchReading | None]] = {}
    for place, index in enumerate(group):
        if np.isfinite(column.value[index]):
            found[place] = (float(column.value[index]), float(column.uncertainty[index]), None)
    for row in bench:
        if row.kind == "exposure" and row.valve in [setup.valves[index] for index in group]:
            place = [setup.valves[index] for index in group].index(row.valve)
            found[place] = (row.value.value, row.value.uncertainty, row)
    nothing = (float("nan"), 0.0, None)
    if found:
        mean = float(np.mean([one[0] for one in found.values()]))
        return [
            (found[place][0] - mean, float(np.hypot(found[place][1], _THREAD)), found[place][2])
            if place in found
            else nothing
            for place in range(len(group))
        ]
    known = np.isfinite(setup.column("pushrod", "length").value[group[0]])
    return [(0.0, _ALIKE, None) if known else nothing for _ in group]


def _curves(
    setup: Setup, group: Sequence[int]
) -> tuple[FloatArray | None, FloatArray | None, np.ndarray | None]:
    """Lift curves of the group's lobes: crank angle, lifts [lobes, angles], and the lobe of each valve."""
    lobes = [setup.trains[index].lobe for index in group]
    curves = [lobe_curve(lobe) for lobe in lobes]
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
