"""Does each rocker sit over its stem along the shaft, and which shims move it there?"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.contact.tip_footprint import (
    TipFootprint,
    centering_limit,
    contact_on_tip,
    footprint_area,
    footprint_over_lift,
)
from valvetrain.mechanics.rocker.pad_side import contact_at_pad_drop
from valvetrain.mechanics.row.shaft import bays, placed
from valvetrain.mechanics.row.tolerance_stack import row_tolerance
from valvetrain.questions.center.growth import ShaftGrowth, shaft_growth
from valvetrain.questions.center.plan import ShaftPlan, shaft_plan
from valvetrain.questions.center.single_plan import LEAST_PLAY, RockerPlan, single_plan
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.wear.contact_places import ContactPlaces, contact_places
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["LEAST_PLAY", "CenteringResult", "centering_study"]

# Contact positions over the lift at which the pad is held against the tip.
_SAMPLES = 33

_NOW = (
    "offset_before",
    "end_clearance_before",
    "contact_share",
    "offset_limit",
    "edge_distance",
    "load_eccentricity",
    "turning_arm",
)


@dataclass(frozen=True)
class CenteringResult:
    """Every rocker along the shaft, as it sits and with the shims chosen."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    offset_before: Quantity = output(
        "length",
        "rocker pad center from stem axis along the shaft as measured, positive toward the rear",
        heading="offset",
    )
    end_clearance_before: Quantity = output(
        "length",
        "as measured; beside a spring on the shaft, where it was not, that of the row",
        heading="end clearance",
    )
    contact_share: Quantity = output(
        "fraction",
        "least share, over the lift, of the contact line of a centered pad that is on the tip",
        heading="contact kept on tip %",
    )
    offset_limit: Quantity = output(
        "length",
        "largest offset either way that keeps the wanted share on the tip, or the user's own",
        heading="allowed +-",
    )
    edge_distance: Quantity = output(
        "length",
        "from the farther end of the contact line to the edge of the flat; negative: over it",
        heading="line to edge of flat, least",
    )
    load_eccentricity: Quantity = output(
        "length",
        "greatest distance of the middle of the bearing line from the stem's axis",
        heading="load off axis, most",
    )
    turning_arm: Quantity = output(
        "length",
        "mean of that along the shaft, on which sliding friction turns the valve",
        heading="arm that turns the valve",
    )
    area_on_tip: Quantity = output(
        "fraction", "share of the swept area that is on the tip", heading="swept area on tip %"
    )
    offset_after: Quantity = output("length", "offset with the change", heading="offset after plan")
    end_clearance: Quantity = output("length", "end clearance with the change", heading="end clearance after")
    contact_share_after: Quantity = output("fraction", "contact share with the change")
    front_shims: tuple[tuple[float, ...], ...] = output(
        "length",
        "what stands in front of the rocker afterward, where what is fitted is known; else what is put in",
    )
    rear_shims: tuple[tuple[float, ...], ...] = output("length", "the same behind it")
    front_added: tuple[tuple[float, ...], ...] = output("length", "put in in front")
    front_removed: tuple[tuple[float, ...], ...] = output("length", "taken out in front")
    rear_added: tuple[tuple[float, ...], ...] = output("length", "put in behind")
    rear_removed: tuple[tuple[float, ...], ...] = output("length", "taken out behind")
    moved: tuple[bool, ...] = output(None, "True where a change is proposed")
    reason: tuple[str, ...] = output(
        None, "why no change from the stock helps, in a sentence; empty where one does or none is needed"
    )
    places: ContactPlaces = output(None, "where in the lift these are found, as it sits", key="")
    places_after: ContactPlaces = output(None, "the same with the change", key="")
    shafts: ShaftPlan | None = output(
        None, "the plan of the whole shafts; None where the sheet describes none", key="", default=None
    )
    growth: ShaftGrowth | None = output(
        None, "cold to hot; None where the sheet does not tell of it", key="", default=None
    )


def centering_study(setup: Setup, rocker: RockerResult) -> CenteringResult:
    """Study the rockers along the shaft, with the lifts of the rocker study."""
    lift = rocker.net_lift
    count = len(setup.valves)
    skew = setup.column("rocker", "skew")
    inputs = linkage_columns(setup) | {
        "net lift": Column(lift.value, np.nan_to_num(lift.uncertainty), ("the rocker study",) * count),
        "station.offset": setup.column("station", "offset"),
        "station.end_clearance": _end_clearance(setup),
        "rocker.pad_width": setup.column("rocker", "pad_width"),
        "rocker.skew": replace(skew, value=np.nan_to_num(skew.value)),
        "valve.stem_diameter": setup.column("valve", "stem_diameter"),
        "valve.tip_chamfer": setup.column("valve", "tip_chamfer"),
    }
    share = setup.limits["contact_share"].low
    now = computed(
        lambda rows: centering_quantities(rows, share),
        inputs,
        dimensions(CenteringResult, *_NOW),
        core=_footprint_quantities,
    )
    limit = _own_limit(setup, now["offset_limit"])
    play = now["end_clearance_before"]
    shafts = shaft_plan(setup, now["offset_before"], limit, play) if setup.shaft_rows else None
    plans: tuple[RockerPlan, ...]
    if shafts is not None:
        plans = shafts.rockers
    else:
        told = zip(now["offset_before"].value, play.value, limit.value, strict=True)
        plans = tuple(
            single_plan(setup, index, *(float(each) for each in three)) for index, three in enumerate(told)
        )
    moved_by = np.array([plan.moved_by for plan in plans])
    after = now
    if np.any(moved_by):
        after = computed(
            lambda rows: centering_quantities(rows, share, moved_by),
            inputs,
            dimensions(CenteringResult, *_NOW),
            core=lambda rows: _footprint_quantities(rows, moved_by),
        )
    bound = now["offset_limit"].value
    return CenteringResult(
        valves=setup.valves,
        roles=setup.roles,
        offset_before=now["offset_before"],
        end_clearance_before=play,
        contact_share=now["contact_share"],
        offset_limit=limit,
        edge_distance=now["edge_distance"],
        load_eccentricity=now["load_eccentricity"],
        turning_arm=now["turning_arm"],
        area_on_tip=_area_on_tip(inputs),
        offset_after=_surer(after["offset_before"], [plan.offset_spread for plan in plans]),
        end_clearance=_surer(
            replace(play, value=np.array([plan.end_clearance for plan in plans])),
            [plan.clearance_spread for plan in plans],
        ),
        contact_share_after=after["contact_share"],
        front_shims=tuple(plan.front_shims for plan in plans),
        rear_shims=tuple(plan.rear_shims for plan in plans),
        front_added=tuple(plan.front_added for plan in plans),
        front_removed=tuple(plan.front_removed for plan in plans),
        rear_added=tuple(plan.rear_added for plan in plans),
        rear_removed=tuple(plan.rear_removed for plan in plans),
        moved=tuple(plan.moved for plan in plans),
        reason=tuple(plan.reason for plan in plans),
        places=_places(inputs, now["offset_before"].value, bound, share),
        places_after=_places(inputs, after["offset_before"].value, bound, share),
        shafts=shafts,
        growth=shaft_growth(setup, shafts, play) if shafts is not None else None,
    )


def centering_quantities(
    rows: Mapping[str, FloatArray], share: float, moved_by: FloatArray | float = 0.0
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; the rockers are first moved rearward."""
    contact = _contact(rows)
    width, radius = rows["rocker.pad_width"], _tip_radius(rows)
    footprint = _footprint(rows, contact, moved_by)
    limit = centering_limit(contact, width, radius, rows["rocker.skew"], least_share=share)
    return {
        "offset_before": rows["station.offset"] + moved_by,
        "end_clearance_before": rows["station.end_clearance"],
        "contact_share": footprint.least_share / limit.centered_share,
        "offset_limit": limit.limit,
    } | _of_footprint(footprint)


def _footprint_quantities(
    rows: Mapping[str, FloatArray], moved_by: FloatArray | float = 0.0
) -> dict[str, FloatArray]:
    """Those of `centering_quantities` that need no limit of the offset, each [k, n]."""
    return _of_footprint(_footprint(rows, _contact(rows), moved_by))


def _footprint(
    rows: Mapping[str, FloatArray], contact: FloatArray, moved_by: FloatArray | float
) -> TipFootprint:
    offset = rows["station.offset"] + moved_by
    touch = contact_on_tip(contact, offset, rows["rocker.pad_width"], _tip_radius(rows), rows["rocker.skew"])
    return footprint_over_lift(touch)


def _of_footprint(footprint: TipFootprint) -> dict[str, FloatArray]:
    return {
        "edge_distance": footprint.least_edge_distance,
        "load_eccentricity": footprint.greatest_eccentricity,
        "turning_arm": footprint.turning_arm,
    }


def _tip_radius(rows: Mapping[str, FloatArray]) -> FloatArray:
    return np.asarray(0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"])


def _contact(rows: Mapping[str, FloatArray]) -> FloatArray:
    """Where the pad bears across the tip over the lift; over the stem's axis where the sweep is not known."""
    contact = contact_at_pad_drop(
        setback=rows["shaft.setback"],
        height=height_over_tip(rows),
        pad_arm=rows["rocker.pad_arm"],
        pad_radius=rows["rocker.pad_radius"],
        lash=np.zeros(rows["station.offset"].shape),
        pad_drop=rows["net lift"][..., np.newaxis] * np.linspace(0.0, 1.0, _SAMPLES),
    )
    return np.where(np.isnan(contact), 0.0, contact)


def _places(
    inputs: Mapping[str, Column], offset: FloatArray, limit: FloatArray, share: float
) -> ContactPlaces:
    """Where in the lift the least and the greatest are found."""
    rows = {key: column.value for key, column in inputs.items()}
    radius = _tip_radius(rows)
    with np.errstate(invalid="ignore"):
        contact = _contact(rows)
    return contact_places(
        contact, offset, rows["rocker.pad_width"], radius, rows["rocker.skew"], limit, share
    )


def _area_on_tip(inputs: Mapping[str, Column]) -> Quantity:
    """Share of the area swept in plan that is on the tip; NaN where it is not known or nothing is swept."""
    rows = {key: column.value for key, column in inputs.items()}
    width, offset, skew = rows["rocker.pad_width"], rows["station.offset"], rows["rocker.skew"]
    radius = _tip_radius(rows)
    with np.errstate(invalid="ignore"):
        contact = _contact(rows)
    share = np.full(offset.shape, np.nan)
    known = np.isfinite(width + offset + radius) & (np.ptp(contact, axis=-1) > 1e-9)
    if np.any(known):
        area = footprint_area(contact[known], offset[known], width[known], radius[known], skew[known])
        share[known] = area.on_tip / area.swept
    return Quantity("fraction", share, np.full(offset.shape, np.nan), {})


def _end_clearance(setup: Setup) -> Column:
    """End clearance as measured; beside a spring on the shaft, where it was not measured, that of the row."""
    column = setup.column("station", "end_clearance")
    value, doubt, source = column.value.copy(), column.uncertainty.copy(), list(column.source)
    for row in setup.shaft_rows:
        sprung = {r.valve for bay in bays(row.parts) if bay.springs for r in bay.rockers}
        if not sprung:
            continue
        told = row_tolerance(row.parts, row.spread)
        found = zip(placed(row.parts).rockers, told.clearance_rss, strict=True)
        for rocker, spread in found:
            index = setup.valves.index(rocker.valve)
            if rocker.valve in sprung and np.isnan(value[index]):
                value[index], doubt[index] = rocker.end_clearance, spread
                source[index] = "setup.toml [[row]]"
    return Column(value, doubt, tuple(source))


def _own_limit(setup: Setup, derived: Quantity) -> Quantity:
    """Return the user's own limit of the offset where the sheet gives one, otherwise that of the contact."""
    own = setup.limits["offset"]
    largest = min(-own.low, own.high)
    if not np.isfinite(largest):
        return derived
    count = derived.value.size
    return Quantity("length", np.full(count, max(largest, 0.0)), np.zeros(count), {})


def _surer(quantity: Quantity, more: list[float]) -> Quantity:
    """Add a standard uncertainty that has nothing to do with the rest."""
    if not any(more):
        return quantity
    both = np.sqrt(quantity.uncertainty**2 + np.array(more) ** 2)
    scale = both / np.where(quantity.uncertainty > 0.0, quantity.uncertainty, 1.0)
    return replace(
        quantity,
        uncertainty=both,
        low=None if quantity.low is None else quantity.value + scale * (quantity.low - quantity.value),
        high=None if quantity.high is None else quantity.value + scale * (quantity.high - quantity.value),
        contributions={**quantity.contributions, "thickness of what is changed": np.array(more)},
    )
