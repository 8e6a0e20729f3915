"""At which speeds does the elastic train part, and the valve bounce, and how sure is that?

The weakest valve of each role (the lowest rigid limit) is run through a sweep of speeds. Then every input
that is not sure is moved to its harmful side by its standard uncertainty, all of them in one sweep over fewer
speeds, and how far each onset then lies from the middle of all is its uncertainty. A loss of control begins
where it is seen at two speeds of the sweep in a row. A limit of this model is no licence to run at it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.elastic_measures import ElasticMeasures, elastic_measures, onset_speed
from valvetrain.mechanics.elastic_train import ElasticSweep, elastic_sweep, reduced_train
from valvetrain.setup.setup import Setup
from valvetrain.studies.control_curves import lobe_shapes, train_curves
from valvetrain.studies.control_inputs import control_columns, with_default
from valvetrain.studies.control_study import ControlResult
from valvetrain.studies.elastic_result import (
    ElasticLimit,
    ElasticResult,
    ElasticRole,
    Judgments,
    Motion,
)
from valvetrain.studies.train_stiffness import TrainStiffness, train_stiffness

__all__ = ["elastic_study"]

ANGLES, FEWER_ANGLES, FEWER_SPEEDS = 1440, 720, 24

# input -> the direction in which it brings a limit down
_HARM = {
    "damping_ratio": -1.0,
    "tip_stiffness": -1.0,
    "lobe_stiffness": -1.0,
    "seat_stiffness": -1.0,
    "seat_load": -1.0,
    "spring_rate": -1.0,
    "valve_mass": 1.0,
    "spring_mass": 1.0,
    "rocker_inertia": 1.0,
    "follower_mass": 1.0,
}


def elastic_study(
    setup: Setup,
    control: ControlResult,
    *,
    speeds: int = 60,
    top: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> ElasticResult:
    """Run the sweep.

    Args:
        setup: the setup.
        control: result of the rigid study.
        speeds: how many speeds.
        top: highest crankshaft speed [rad/s]; left out: a quarter above the redline and a tenth above the
            rigid limits.
        progress: called with the part done, 0 to 1.
    """
    grid = np.linspace(*_range(control, top), speeds)
    lanes: list[_Lane] = []
    found: list[ElasticRole] = []
    for role in dict.fromkeys(setup.roles):
        lane = _lane(setup, control, role)
        if isinstance(lane, ElasticRole):
            found.append(lane)
        else:
            lanes.append(lane)
    judged = Judgments(
        **{key: float(with_default(setup, f"control.{key}").value[0]) for key in Judgments.__annotations__}
    )
    report = progress or (lambda _: None)
    if lanes:
        drops = np.stack([lane.drop for lane in lanes])
        slopes = np.stack([lane.slope for lane in lanes])
        base = _together([lane.inputs for lane in lanes])
        sweep = elastic_sweep(
            reduced_train(**base), drops, slopes, grid / 2.0, progress=lambda done: report(0.5 * done)
        )
        measures = elastic_measures(sweep, judged.ramp_share, judged.least_gap)
        onsets = _onsets(sweep, measures, grid, judged)
        doubts = _doubts(lanes, onsets, grid, judged, lambda done: report(0.5 + 0.5 * done))
        for number, lane in enumerate(lanes):
            found.append(
                _finished(lane, number, sweep, measures, onsets, doubts[number], grid, control.redline)
            )
    order = list(dict.fromkeys(setup.roles))
    found.sort(key=lambda each: order.index(each.role))
    report(1.0)
    return ElasticResult(control.redline, grid, tuple(found), judged)


@dataclass(frozen=True)
class _Lane:
    """What one train is run with: inputs of `reduced_train`, their uncertainties, its pad drop and slope."""

    role: str
    valve: str
    stiffness: TrainStiffness
    inputs: dict[str, float]
    spread: dict[str, float]
    drop: FloatArray
    slope: FloatArray
    acceleration_doubt: float


def _range(control: ControlResult, top: float | None) -> tuple[float, float]:
    """First and last crankshaft speed of the sweep."""
    limits = [
        float(control.limit_speed.value[at])
        for at in (control.weakest(role) for role in dict.fromkeys(control.roles))
        if at is not None
    ]
    finite = [each for each in limits if np.isfinite(each)]
    line = control.redline if np.isfinite(control.redline) else min(finite, default=400.0)
    last = top if top is not None else max([1.25 * line, *(1.1 * each for each in finite)])
    return min(0.4 * line, 0.5 * last), last


def _lane(setup: Setup, control: ControlResult, role: str) -> "_Lane | ElasticRole":
    """Collect what the weakest valve of a role is run with, or say why it cannot be."""
    at = control.weakest(role)
    if at is None:
        return _without(role, "", "The rigid limit is not known: see its own advice.", None)
    angle = (np.arange(ANGLES) * 2.0 / ANGLES - 1.0) * np.pi
    shapes = lobe_shapes(setup, angle)
    columns = control_columns(setup, shapes, control.springs)
    rows = {key: column.value for key, column in columns.items()}
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    with np.errstate(invalid="ignore"):
        curves = train_curves(shapes, rows, at_pushrod)
    arm = rows["rocker.pad_arm"][at]
    sine = np.sin(curves.pad_angle[at])
    drop = arm * (sine.max() - sine)
    if not drop.max() > 0:  # a rocker known by its ratio only, which then is the same all the way
        drop = curves.ratio[at] * curves.tappet_lift[at]
    slope = curves.ratio[at] * curves.tappet_velocity[at]
    ratio = float(drop.max() / rows["lobe.lift"][at])
    stiff = train_stiffness(setup, at, ratio, rows["seat load"][at], rows["spring rate"][at])
    if stiff.reason:
        return _without(role, setup.valves[at], stiff.reason, stiff)
    u = {key: float(np.nan_to_num(column.uncertainty[at])) for key, column in columns.items()}
    damping = with_default(setup, "control.damping_ratio")
    lobe, seat = (with_default(setup, f"control.{key}_stiffness") for key in ("lobe", "seat"))
    open_lift = curves.valve_lift[at].max()
    inputs = {
        "tappet_mass": rows["masses.tappet_mass"][at],
        "pushrod_mass": rows["masses.pushrod_mass"][at],
        "rocker_inertia": rows["masses.rocker_inertia"][at],
        "pad_arm": arm,
        "valve_mass": sum(rows[key][at] for key in _VALVE_SIDE),
        "spring_mass": rows["masses.spring_mass"][at],
        "ratio": ratio,
        "lobe_stiffness": stiff.lobe,
        "pushrod_stiffness": stiff.pushrod,
        "tip_stiffness": stiff.tip,
        "seat_stiffness": stiff.seat,
        "spring_rate": rows["spring rate"][at],
        "seat_load": rows["seat load"][at],
        "lash": float(drop.max() - open_lift),
        "damping_ratio": float(damping.value[at]),
    }
    spread = {
        "damping_ratio": float(damping.uncertainty[at]),
        "tip_stiffness": stiff.tip_share * stiff.tip,
        "lobe_stiffness": float(lobe.uncertainty[at]),
        "seat_stiffness": float(seat.uncertainty[at]),
        "seat_load": u["seat load"],
        "spring_rate": u["spring rate"],
        "valve_mass": float(np.sqrt(sum(u[key] ** 2 for key in _VALVE_SIDE))),
        "spring_mass": u["masses.spring_mass"],
        "rocker_inertia": u["masses.rocker_inertia"],
        "follower_mass": float(np.hypot(u["masses.tappet_mass"], u["masses.pushrod_mass"])),
    }
    return _Lane(role, setup.valves[at], stiff, inputs, spread, drop, slope, float(shapes.doubt[at]))


_VALVE_SIDE = ("valve.mass", "masses.retainer_mass", "masses.keeper_mass")


def _without(role: str, valve: str, reason: str, stiff: TrainStiffness | None) -> ElasticRole:
    nothing = (np.nan, np.nan)
    return ElasticRole(role, valve, reason, stiff, {}, nothing, nothing, "", None, np.empty(0), None)


def _together(inputs: list[dict[str, float]]) -> dict[str, FloatArray]:
    return {key: np.array([each[key] for each in inputs]) for key in inputs[0]}


def _onsets(
    sweep: ElasticSweep, measures: ElasticMeasures, grid: FloatArray, judged: Judgments
) -> dict[str, FloatArray]:
    """Speed at which each loss of control begins, [trains]; NaN where it does not."""
    rigid = sweep.rigid_lift[:, np.newaxis]
    raised = rigid > judged.ramp_share * rigid.max(axis=-1, keepdims=True)
    gaps = {"lobe": sweep.lobe_gap, "pushrod": sweep.pushrod_gap, "tip": sweep.tip_gap}
    found = {
        name: onset_speed(grid, _lasting(np.max(np.where(raised, gap, 0.0), axis=-1)), judged.least_gap)
        for name, gap in gaps.items()
    }
    found["bounce"] = onset_speed(grid, _lasting(measures.bounce_height), judged.least_bounce)
    return found


def _lasting(measure: FloatArray) -> FloatArray:
    """The lesser of a speed's measure and the next speed's: a single grazing speed is no loss of control."""
    known = np.nan_to_num(measure)
    lasting: FloatArray = np.minimum(known, np.concatenate([known[..., 1:], known[..., -1:]], axis=-1))
    return lasting


def _doubts(
    lanes: list[_Lane],
    onsets: dict[str, FloatArray],
    grid: FloatArray,
    judged: Judgments,
    progress: Callable[[float], None],
) -> list[dict[str, dict[str, float]]]:
    """Change of every onset by each input moved to its harmful side: [trains] of onset -> input -> change."""
    moved, owner = [], []
    for number, lane in enumerate(lanes):
        moved.append(lane.inputs)
        owner.append((number, ""))
        for name, way in _HARM.items():
            if lane.spread[name] > 0:
                moved.append(_moved(lane, name, way))
                owner.append((number, name))
    first = [float(np.nanmin([each[n] for each in onsets.values()] + [grid[-1]])) for n in range(len(lanes))]
    few = np.linspace(max(grid[0], 0.7 * min(first)), grid[-1], FEWER_SPEEDS)
    every = ANGLES // FEWER_ANGLES
    drops = np.stack([lanes[number].drop[::every] for number, _ in owner])
    slopes = np.stack([lanes[number].slope[::every] for number, _ in owner])
    sweep = elastic_sweep(reduced_train(**_together(moved)), drops, slopes, few / 2.0, progress=progress)
    measures = elastic_measures(sweep, judged.ramp_share, judged.least_gap)
    found = _onsets(sweep, measures, few, judged)
    doubts: list[dict[str, dict[str, float]]] = [{} for _ in lanes]
    step = float(few[1] - few[0]) / np.sqrt(12.0)
    for limit, speeds in found.items():
        reached = np.where(np.isnan(speeds), grid[-1], speeds)
        for number, lane in enumerate(lanes):
            rows = [row for row, (whose, _) in enumerate(owner) if whose == number]
            # Grazing contacts make one run jump; the middle of all runs is not moved by it.
            middle = float(np.median(reached[rows]))
            parts = {owner[row][1]: abs(float(reached[row]) - middle) for row in rows if owner[row][1]}
            base = onsets[limit][number]
            base = grid[-1] if np.isnan(base) else float(base)
            parts["grazing contacts"] = abs(base - middle)
            # A train's speeds go as one over the root of its lobe's accelerations.
            parts["the lobe's shape"] = 0.5 * lane.acceleration_doubt * base
            parts["step of the sweep"] = step
            doubts[number][limit] = parts
    return doubts


def _moved(lane: _Lane, name: str, way: float) -> dict[str, float]:
    """Inputs with one moved to its harmful side; never to zero."""
    inputs = dict(lane.inputs)
    if name == "follower_mass":
        inputs["tappet_mass"] += lane.spread[name]
        return inputs
    inputs[name] = max(inputs[name] + way * lane.spread[name], 0.1 * inputs[name])
    return inputs


def _finished(
    lane: _Lane,
    number: int,
    sweep: ElasticSweep,
    measures: ElasticMeasures,
    onsets: dict[str, FloatArray],
    doubts: dict[str, dict[str, float]],
    grid: FloatArray,
    redline: float,
) -> ElasticRole:
    """Put one train's answer together."""
    limits = {}
    for name, speeds in onsets.items():
        found = float(speeds[number])
        total = float(np.sqrt(sum(part**2 for part in doubts[name].values())))
        limits[name] = ElasticLimit(grid[-1] if np.isnan(found) else found, total, not np.isnan(found))
    parting = min((limits[name] for name in ("lobe", "pushrod", "tip")), key=lambda each: each.speed)
    lowest = min(limits, key=lambda name: limits[name].speed)
    near = int(np.argmin(np.abs(grid - limits[lowest].speed)))
    # Past the first loss of control, so that it shows.
    near = min(near + 2, len(grid) - 1)
    return ElasticRole(
        role=lane.role,
        valve=lane.valve,
        reason="",
        stiffness=lane.stiffness,
        limits=limits,
        parting_margin=(parting.speed / redline - 1.0, parting.uncertainty / redline),
        bounce_margin=(limits["bounce"].speed / redline - 1.0, limits["bounce"].uncertainty / redline),
        doubt_from=max(doubts[lowest], key=lambda name: doubts[lowest][name]),
        measures=ElasticMeasures(**{name: value[number] for name, value in vars(measures).items()}),
        steady=np.asarray(sweep.unsteadiness[number] < 1e-4),
        motion=Motion(
            float(grid[near]), sweep.angle, sweep.rigid_lift[number], sweep.valve_lift[number, near]
        ),
    )
