"""Does each rocker sit over its stem along the shaft, and which shims move it there?"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.pad_side import contact_at_pad_drop
from valvetrain.mechanics.single_rocker import single_rocker_shims
from valvetrain.mechanics.tip_footprint import centering_limit, contact_on_tip, footprint_over_lift
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.linkage_inputs import height_over_tip, linkage_columns
from valvetrain.studies.quantity import Quantity, computed
from valvetrain.studies.rocker_study import RockerResult

__all__ = ["CenteringResult", "centering_study"]

# Contact positions over the lift at which the pad is held against the tip.
_SAMPLES = 33

# Least end clearance that a plan leaves, so that the rocker swings: 0.002 in (our judgment, no source).
LEAST_PLAY = 5.08e-5

_DIMENSIONS = {
    "offset_before": "length",
    "end_clearance_before": "length",
    "contact_share": "fraction",
    "offset_limit": "length",
}


@dataclass(frozen=True)
class CenteringResult:
    """Every rocker along the shaft, as it sits and with the shims chosen.

    Attributes:
        offset_before, end_clearance_before: as measured; offset positive toward the rear.
        contact_share: least share, over the lift, of the contact line that a centered pad would have on the
            tip.
        offset_limit: largest offset either way that keeps the wanted share on the tip.
        offset_after, end_clearance: with the change.
        front_shims, rear_shims: what stands in front of and behind the rocker afterward, where what is
            fitted now is known; else what is put in.
        front_added, front_removed, rear_added, rear_removed: the change.
        moved: True where a change is proposed.
        reason: why no change from the stock helps, in a sentence; empty where one does or none is needed.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    offset_before: Quantity
    end_clearance_before: Quantity
    contact_share: Quantity
    offset_limit: Quantity
    offset_after: Quantity
    end_clearance: Quantity
    contact_share_after: Quantity
    front_shims: tuple[tuple[float, ...], ...]
    rear_shims: tuple[tuple[float, ...], ...]
    front_added: tuple[tuple[float, ...], ...]
    front_removed: tuple[tuple[float, ...], ...]
    rear_added: tuple[tuple[float, ...], ...]
    rear_removed: tuple[tuple[float, ...], ...]
    moved: tuple[bool, ...]
    reason: tuple[str, ...]


def centering_study(setup: Setup, rocker: RockerResult) -> CenteringResult:
    """Study the rockers along the shaft, with the lifts of the rocker study."""
    lift = rocker.net_lift
    count = len(setup.valves)
    inputs = linkage_columns(setup) | {
        "net lift": Column(lift.value, np.nan_to_num(lift.uncertainty), ("the rocker study",) * count),
        "station.offset": setup.column("station", "offset"),
        "station.end_clearance": setup.column("station", "end_clearance"),
        "rocker.pad_width": setup.column("rocker", "pad_width"),
        "valve.stem_diameter": setup.column("valve", "stem_diameter"),
        "valve.tip_chamfer": setup.column("valve", "tip_chamfer"),
    }
    share = setup.limits["contact_share"].low
    now = computed(lambda rows: centering_quantities(rows, share), inputs, _DIMENSIONS)
    plans = [_plan(setup, index, now) for index in range(count)]
    moved_by = np.array([plan["moved_by"] for plan in plans])
    play_after = np.array([plan["play"] for plan in plans])
    after = computed(lambda rows: centering_quantities(rows, share, moved_by), inputs, _DIMENSIONS)
    play = now["end_clearance_before"]
    return CenteringResult(
        valves=setup.valves,
        roles=setup.roles,
        offset_before=now["offset_before"],
        end_clearance_before=now["end_clearance_before"],
        contact_share=now["contact_share"],
        offset_limit=now["offset_limit"],
        offset_after=after["offset_before"],
        end_clearance=Quantity("length", play_after, play.uncertainty, play.contributions),
        contact_share_after=after["contact_share"],
        front_shims=tuple(plan["front_shims"] for plan in plans),
        rear_shims=tuple(plan["rear_shims"] for plan in plans),
        front_added=tuple(plan["front_added"] for plan in plans),
        front_removed=tuple(plan["front_removed"] for plan in plans),
        rear_added=tuple(plan["rear_added"] for plan in plans),
        rear_removed=tuple(plan["rear_removed"] for plan in plans),
        moved=tuple(plan["moved"] for plan in plans),
        reason=tuple(plan["reason"] for plan in plans),
    )


def centering_quantities(
    rows: Mapping[str, FloatArray], share: float, moved_by: FloatArray | float = 0.0
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; the rockers are first moved rearward."""
    offset = rows["station.offset"] + moved_by
    contact = contact_at_pad_drop(
        setback=rows["shaft.setback"],
        height=height_over_tip(rows),
        pad_arm=rows["rocker.pad_arm"],
        pad_radius=rows["rocker.pad_radius"],
        lash=np.zeros(offset.shape),
        pad_drop=rows["net lift"][..., np.newaxis] * np.linspace(0.0, 1.0, _SAMPLES),
    )
    # Where the sweep is not known the pad is held over the stem's axis: the offset alone then decides.
    contact = np.where(np.isnan(contact), 0.0, contact)
    width = rows["rocker.pad_width"]
    radius = 0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"]
    footprint = footprint_over_lift(contact_on_tip(contact, offset, width, radius))
    limit = centering_limit(contact, width, radius, least_share=share)
    return {
        "offset_before": offset,
        "end_clearance_before": rows["station.end_clearance"],
        "contact_share": footprint.least_share / limit.centered_share,
        "offset_limit": limit.limit,
    }


def _plan(setup: Setup, index: int, now: Mapping[str, Quantity]) -> dict[str, Any]:
    """Choose the shims of one rocker; one that is right is left alone."""
    none: tuple[float, ...] = ()
    offset = float(now["offset_before"].value[index])
    play = float(now["end_clearance_before"].value[index])
    fitted = [
        tuple(each.value for each in shims) if shims else None
        for shims in (setup.trains[index].station.front_shims, setup.trains[index].station.rear_shims)
    ]
    plan: dict[str, Any] = {
        "front_shims": fitted[0] or none,
        "rear_shims": fitted[1] or none,
        "front_added": none,
        "front_removed": none,
        "rear_added": none,
        "rear_removed": none,
        "moved_by": 0.0,
        "play": play,
        "moved": False,
        "reason": "",
    }
    tolerance, limit = float(now["offset_limit"].value[index]), setup.limits["end_clearance"]
    if np.isnan(offset) or np.isnan(play) or np.isnan(tolerance):
        return plan
    if abs(offset) <= tolerance and limit.low <= play <= limit.high:
        return plan
    stock = [each.value for each in setup.stock.rocker_shims]
    if not stock and not any(fitted):
        return plan | {"reason": "no rocker shims in the stock list"}
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
        return plan | {"reason": chosen.reason}
    changes = ("front_added", "front_removed", "rear_added", "rear_removed")
    return plan | {
        **{name: getattr(chosen, name) for name in changes},
        "front_shims": _changed(fitted[0] or none, chosen.front_added, chosen.front_removed),
        "rear_shims": _changed(fitted[1] or none, chosen.rear_added, chosen.rear_removed),
        "moved_by": chosen.offset_after - offset,
        "play": chosen.end_clearance_after,
        "moved": chosen.changes > 0,
    }


def _changed(
    fitted: tuple[float, ...], added: tuple[float, ...], removed: tuple[float, ...]
) -> tuple[float, ...]:
    """Return what is fitted after a change, thickest first."""
    left = list(fitted)
    for shim in removed:
        near = min(left, key=lambda each: abs(each - shim), default=None)
        if near is not None:
            left.remove(near)
    return tuple(sorted([*left, *added], reverse=True))
