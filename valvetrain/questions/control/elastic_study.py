"""At which speeds does the elastic train part, and the valve bounce, and how sure is that?

The weakest valve of each role (the lowest rigid limit) is run through a sweep of speeds for its motion and
loads; where each loss of control begins is found by runs of their own (`elastic_onsets`), which the speeds
asked for do not move. A limit of this model is no licence to run at it.
"""

from collections.abc import Callable

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.elastic_measures import ElasticMeasures, elastic_measures
from valvetrain.mechanics.dynamics.elastic_train import ElasticSweep, elastic_sweep, reduced_train
from valvetrain.questions.control.elastic_lane import Lane, Unswept, elastic_lane, together
from valvetrain.questions.control.elastic_onsets import elastic_onsets
from valvetrain.questions.control.elastic_result import (
    ElasticLimit,
    ElasticResult,
    ElasticRole,
    Judgments,
    Motion,
)
from valvetrain.questions.control.inputs import with_default
from valvetrain.questions.control.study import ControlResult
from valvetrain.setup.setup import Setup

__all__ = ["elastic_study"]

EVERY = 2  # angles of a lane left out in the sweep
FROM = 0.6  # of the lowest rigid limit: where onsets are looked for first


def elastic_study(
    setup: Setup,
    control: ControlResult,
    *,
    speeds: int = 60,
    top: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> ElasticResult:
    """Run the sweep, and find the onsets.

    Args:
        setup: the setup.
        control: result of the rigid study.
        speeds: how many speeds the sweep has; that nearest to the redline is the redline itself.
        top: highest crankshaft speed [rad/s]; left out: a quarter above the redline and a tenth above the
            rigid limits.
        progress: called with the part done, 0 to 1.
    """
    report = progress or (lambda _: None)
    order = list(dict.fromkeys(setup.roles))
    each = [elastic_lane(setup, control, role) for role in order]
    lanes = [lane for lane in each if isinstance(lane, Lane)]
    grid, search = _speeds(control, speeds, top)
    judged = Judgments(
        **{key: float(with_default(setup, f"control.{key}").value[0]) for key in Judgments.__annotations__}
    )
    found = {lane.role: _without(lane) for lane in each if isinstance(lane, Unswept)}
    if lanes:
        drops, slopes = (
            np.stack([getattr(lane, name)[::EVERY] for lane in lanes]) for name in ("drop", "slope")
        )
        sweep = elastic_sweep(
            reduced_train(**together([lane.inputs for lane in lanes])),
            drops,
            slopes,
            grid / 2.0,
            progress=lambda done: report(0.3 * done),
        )
        measures = elastic_measures(sweep, judged.ramp_share, judged.least_gap)
        onsets = elastic_onsets(lanes, judged, search, grid[-1], lambda done: report(0.3 + 0.7 * done))
        for number, lane in enumerate(lanes):
            found[lane.role] = _finished(lane, number, sweep, measures, onsets[number], grid)
    report(1.0)
    return ElasticResult(control.redline, grid, tuple(found[role] for role in order), judged)


def _speeds(control: ControlResult, speeds: int, top: float | None) -> tuple[FloatArray, float]:
    """Crankshaft speeds of the sweep, the redline among them, and where onsets are looked for first."""
    limits = [
        float(control.limit_speed.value[at])
        for at in (control.weakest(role) for role in dict.fromkeys(control.roles))
        if at is not None
    ]
    finite = [each for each in limits if np.isfinite(each)]
    line = control.redline if np.isfinite(control.redline) else min(finite, default=400.0)
    last = top if top is not None else max([1.25 * line, *(1.1 * each for each in finite)])
    grid = np.linspace(min(0.4 * line, 0.5 * last), last, speeds)
    if grid[0] < control.redline < grid[-1]:
        grid[1 + np.argmin(np.abs(grid[1:-1] - control.redline))] = control.redline
    return grid, FROM * min([*finite, last])


def _without(lane: Unswept) -> ElasticRole:
    return ElasticRole(
        lane.role, lane.valve, lane.reason, lane.stiffness, {}, None, "", None, np.empty(0), None
    )


def _finished(
    lane: Lane,
    number: int,
    sweep: ElasticSweep,
    measures: ElasticMeasures,
    onsets: dict[str, ElasticLimit],
    grid: FloatArray,
) -> ElasticRole:
    """Put one train's answer together."""
    limits = dict(onsets)
    parting = limits.pop("parting")
    lowest = min(limits, key=lambda name: limits[name].surely)
    # Past the first loss of control, so that it shows.
    past = np.flatnonzero(grid > 1.03 * limits[lowest].speed)
    near = int(past[0]) if past.size else len(grid) - 1
    return ElasticRole(
        role=lane.role,
        valve=lane.valve,
        reason="",
        stiffness=lane.stiffness,
        limits=limits,
        parting=parting,
        lowest=lowest,
        measures=ElasticMeasures(**{name: value[number] for name, value in vars(measures).items()}),
        steady=np.asarray(sweep.unsteadiness[number] < 1e-4),
        motion=Motion(
            float(grid[near]), sweep.angle, sweep.rigid_lift[number], sweep.valve_lift[number, near]
        ),
    )
