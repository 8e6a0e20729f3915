"""At which speed does each loss of control of an elastic train begin, and how sure is that?

Contacts that graze make a single run jump. So every train is run sixteen times, all its unsure inputs moved
up or down together by their standard uncertainties (see `two_level`): the mean of the runs is the onset, the
effects and what they leave are its uncertainty. All runs go over one grid of speeds that is the same for
every engine, whatever speeds are asked for: neither those nor small changes of the inputs move an onset.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.elastic_measures import elastic_measures, lasting, onset_speed
from valvetrain.mechanics.dynamics.elastic_train import ElasticSweep, elastic_sweep, reduced_train
from valvetrain.mechanics.uncertainty.two_level import two_level_effects, two_level_runs
from valvetrain.questions.control.elastic_lane import Lane, together
from valvetrain.questions.control.elastic_result import ElasticLimit, Judgments

__all__ = ["RATIO", "elastic_onsets", "speed_grid"]

RATIO = 1.03
"""From one speed of the grid to the next."""

EVERY, CYCLES = 2, 2  # angles and cycles are spared: an onset is a matter of a few per cent

# Below its first speed the grid is carried on, down to this share of it.
SHARE, LEAST = 0.7, 0.2

PARTING = ("lobe", "pushrod", "tip")

_INPUTS = (
    "damping_ratio",
    "tip_stiffness",
    "lobe_stiffness",
    "seat_stiffness",
    "seat_load",
    "spring_rate",
    "valve_mass",
    "spring_mass",
    "rocker_inertia",
    "follower_mass",
    "lash",
)
GRAZING, SHAPE, STEP = "contacts that graze", "the lobe's shape", "step of the grid"


def speed_grid(lowest: float, highest: float) -> FloatArray:
    """Powers of `RATIO`, in rpm, from at or below the lowest to at or below the highest; all in [rad/s]."""
    rpm = np.pi / 30.0
    first, last = (np.log(each / rpm) / np.log(RATIO) + 1e-9 for each in (lowest, highest))
    grid: FloatArray = RATIO ** np.arange(np.floor(first), np.floor(last) + 1.0) * rpm
    return grid


def elastic_onsets(
    lanes: Sequence[Lane],
    judged: Judgments,
    lowest: float,
    highest: float,
    progress: Callable[[float], None],
) -> list[dict[str, ElasticLimit]]:
    """Find every lane's onsets.

    Args:
        lanes: trains.
        judged: what counts as what.
        lowest: where the search begins [rad/s]; it goes on below where something is found there already.
        highest: where it ends.
        progress: called with the part done.

    Returns:
        for each lane key of `LIMITS` -> onset, and "parting" -> the first onset of the three contacts.
    """
    signs = two_level_runs(len(_INPUTS))
    runs = [_Run(lane, _moved(lane, row)) for lane in lanes for row in signs]
    grid = speed_grid(lowest, highest)
    over = _measured(runs, grid, judged, progress)
    least = LEAST * grid[0]
    while True:
        found = {name: onset_speed(grid, lasting(each, 1.0), 1.0) for name, each in over.items()}
        early = np.flatnonzero(np.any([speeds <= grid[0] for speeds in found.values()], axis=0))
        if grid[0] < least or not early.size:
            break
        below = speed_grid(SHARE * grid[0], grid[0] / np.sqrt(RATIO))
        more = _measured([runs[at] for at in early], below, judged, lambda _: None)
        for name, each in over.items():
            lower = np.zeros((len(runs), below.size))
            lower[early] = more[name]
            over[name] = np.concatenate([lower, each], axis=-1)
        grid = np.concatenate([below, grid])
    found = {name: speeds.reshape(len(lanes), len(signs)) for name, speeds in found.items()}
    parting = np.min([np.nan_to_num(found[name], nan=np.inf) for name in PARTING], axis=0)
    found["parting"] = np.where(np.isfinite(parting), parting, np.nan)
    return [
        {name: _onset(speeds[number], signs, grid, lane) for name, speeds in found.items()}
        for number, lane in enumerate(lanes)
    ]


@dataclass(frozen=True)
class _Run:
    """A train and the inputs that one run has."""

    lane: Lane
    inputs: dict[str, float]


def _moved(lane: Lane, signs: FloatArray) -> dict[str, float]:
    """Inputs moved up or down by their standard uncertainties; never to zero."""
    inputs = dict(lane.inputs)
    for name, sign in zip(_INPUTS, signs, strict=True):
        key = "tappet_mass" if name == "follower_mass" else name
        inputs[key] = max(inputs[key] + sign * lane.spread[name], 0.1 * inputs[key])
    return inputs


def _measured(
    runs: Sequence[_Run], grid: FloatArray, judged: Judgments, progress: Callable[[float], None]
) -> dict[str, FloatArray]:
    """Each measure as a share of what counts, [runs, speeds]."""
    sweep = elastic_sweep(
        reduced_train(**together([run.inputs for run in runs])),
        np.stack([run.lane.drop[::EVERY] for run in runs]),
        np.stack([run.lane.slope[::EVERY] for run in runs]),
        grid / 2.0,
        cycles=CYCLES,
        progress=progress,
    )
    bounce = np.nan_to_num(elastic_measures(sweep, judged.ramp_share, judged.least_gap).bounce_height)
    gap, jump = max(judged.least_gap, 1e-9), max(judged.least_bounce, 1e-9)
    over = {name: each / gap for name, each in _gaps(sweep, judged.ramp_share).items()}
    over["bounce"] = bounce / jump
    return over


def _gaps(sweep: ElasticSweep, ramp_share: float) -> dict[str, FloatArray]:
    """Greatest gap of each contact past the ramps [m], [trains, speeds]."""
    rigid = sweep.rigid_lift[:, np.newaxis]
    raised = rigid > ramp_share * rigid.max(axis=-1, keepdims=True)
    gaps = (sweep.lobe_gap, sweep.pushrod_gap, sweep.tip_gap)
    return {
        name: np.max(np.where(raised, gap, 0.0), axis=-1) for name, gap in zip(PARTING, gaps, strict=True)
    }


def _onset(speeds: FloatArray, signs: FloatArray, grid: FloatArray, lane: Lane) -> ElasticLimit:
    """An onset from those of all runs, or the bound that they leave."""
    # A train's speeds go as one over the root of its lobe's accelerations; bounds are for k = 2.
    shape = 0.5 * lane.acceleration_doubt
    nowhere = np.isnan(speeds)
    if nowhere.any():
        least = grid[-1] if nowhere.all() else np.nanmin(speeds)
        return ElasticLimit(float(least) * max(1.0 - 2.0 * shape, 0.0), np.nan, "above")
    if np.any(speeds <= grid[0]):
        return ElasticLimit(float(speeds.max()) * (1.0 + 2.0 * shape), np.nan, "below")
    found = two_level_effects(signs, speeds)
    mean = float(found.mean)
    parts = {
        name: abs(float(effect)) for name, effect in zip(_INPUTS, found.effects, strict=True) if effect != 0
    }
    parts[GRAZING] = float(found.scatter)
    parts[SHAPE] = shape * mean
    parts[STEP] = (RATIO - 1.0) * mean / float(np.sqrt(12.0))
    total = float(np.sqrt(sum(part**2 for part in parts.values())))
    stiffer = found.effects[_INPUTS.index("tip_stiffness")]
    surely = bool(stiffer > 2.0 * found.scatter / np.sqrt(len(signs)))
    return ElasticLimit(mean, total, "", max(parts, key=lambda name: parts[name]), surely)
