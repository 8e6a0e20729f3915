"""The shims beside one rocker, where the sheet does not describe the shaft as a row."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.row.single_rocker import single_rocker_shims
from valvetrain.setup.setup import Setup

__all__ = ["LEAST_PLAY", "RockerPlan", "drawer", "single_plan"]

# Least end clearance that a plan leaves, so that the rocker swings: 0.002 in (our judgment, no source).
LEAST_PLAY = 5.08e-5

Shims = tuple[float, ...]


@dataclass(frozen=True)
class RockerPlan:
    """What a plan does at one rocker, lengths in [m].

    Attributes:
        front_shims, rear_shims: what stands in front of and behind it afterward.
        front_added, front_removed, rear_added, rear_removed: the change.
        moved_by: change of its offset.
        end_clearance: afterward.
        moved: True where something changes for it.
        reason: why nothing helps, in a sentence; empty where something does or nothing is needed.
        offset_spread, clearance_spread: standard uncertainty that the changed parts add.
    """

    front_shims: Shims = ()
    rear_shims: Shims = ()
    front_added: Shims = ()
    front_removed: Shims = ()
    rear_added: Shims = ()
    rear_removed: Shims = ()
    moved_by: float = 0.0
    end_clearance: float = np.nan
    moved: bool = False
    reason: str = ""
    offset_spread: float = 0.0
    clearance_spread: float = 0.0


def drawer(setup: Setup) -> Mapping[float, int | None]:
    """Return the rocker shims in the drawer: thickness [m] to count, None for any number."""
    return {shim.thickness.value: shim.count for shim in setup.stock.rocker_shims or ()}


def single_plan(setup: Setup, index: int, offset: float, play: float, tolerance: float) -> RockerPlan:
    """Choose the shims of one rocker; one that is right is left alone.

    Args:
        setup: the engine.
        index: of the valve.
        offset, play: as measured [m], NaN where unknown.
        tolerance: largest offset allowed either way [m].
    """
    station, limit = setup.trains[index].station, setup.limits["end_clearance"]
    fitted = [
        tuple(each.value for each in shims if each.value > 0) if shims else None
        for shims in (station.front_shims, station.rear_shims)
    ]
    front, rear = (shims or () for shims in fitted)
    as_it_is = RockerPlan(front_shims=front, rear_shims=rear, end_clearance=play)
    if np.isnan(offset) or np.isnan(play) or np.isnan(tolerance):
        return as_it_is
    if abs(offset) <= tolerance and limit.low <= play <= limit.high:
        return as_it_is
    stock = drawer(setup)
    if not any(count is None or count > 0 for count in stock.values()) and not any(fitted):
        empty = "the drawer of rocker shims is empty" if setup.stock.rocker_shims is not None else ""
        reason = empty or "no rocker shims in the stock list"
        return RockerPlan(end_clearance=play, reason=f"{setup.valves[index]}: {reason}.")
    chosen = single_rocker_shims(
        offset,
        play,
        stock,
        max(limit.low, LEAST_PLAY),
        limit.high,
        offset_tolerance=tolerance,
        fitted_front=fitted[0],
        fitted_rear=fitted[1],
    )
    if not chosen.reachable:
        return RockerPlan(front_shims=front, rear_shims=rear, end_clearance=play, reason=chosen.reason)
    known = {shim.thickness.value: shim.thickness.uncertainty for shim in setup.stock.rocker_shims or ()}
    handled = (*chosen.front_added, *chosen.front_removed, *chosen.rear_added, *chosen.rear_removed)
    spread = float(np.sqrt(sum(known.get(each, 0.0) ** 2 for each in handled)))
    return RockerPlan(
        front_shims=_changed(front, chosen.front_added, chosen.front_removed),
        rear_shims=_changed(rear, chosen.rear_added, chosen.rear_removed),
        front_added=chosen.front_added,
        front_removed=chosen.front_removed,
        rear_added=chosen.rear_added,
        rear_removed=chosen.rear_removed,
        moved_by=chosen.offset_after - offset,
        end_clearance=chosen.end_clearance_after,
        moved=chosen.changes > 0,
        offset_spread=0.5 * spread,
        clearance_spread=spread,
    )


def _changed(fitted: Shims, added: Shims, removed: Shims) -> Shims:
    """Return what is fitted after a change, thickest first."""
    left = list(fitted)
    for shim in removed:
        near = min(left, key=lambda each: abs(each - shim), default=None)
        if near is not None:
            left.remove(near)
    return tuple(sorted([*left, *added], reverse=True))
