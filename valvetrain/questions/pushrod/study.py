"""Which pushrod length, does the adjuster sit in its range, is the pushrod strong and clear of the head?"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.pushrod.adjuster import adjusted, planar_length_at
from valvetrain.mechanics.pushrod.columns import axial_stiffness, column_load, slenderness_ratio, tube_section
from valvetrain.mechanics.rocker.linkage import (
    ClosedPosition,
    pad_drop,
    pushrod_planar_length_for,
    swung,
)
from valvetrain.mechanics.shapes.interference import pushrod_in_hole
from valvetrain.questions.pushrod.plan import PushrodPlan, pushrod_plan
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["PushrodResult", "pushrod_study"]

# Positions through the lobe's lift at which angles and the hole's clearance are taken.
_SAMPLES = 9

_KEYS = (
    "adjuster.exposure",
    "adjuster.exposure_wanted",
    "adjuster.thread_length",
    "adjuster.boss_thickness",
    "adjuster.locknut_height",
    "adjuster.axis_lean",
    "rocker.thread_pitch",
    "pushrod.outside_diameter",
    "pushrod.wall",
    "pushrod.yield_strength",
    "pushrod.elastic_modulus",
    "pushrod.peak_load",
    "pushrod.checking_length",
    "pushrod.checking_turns",
    "pushrod.checking_pitch",
    "head.hole_diameter",
    "head.hole_setback",
    "head.hole_top",
    "head.hole_bottom",
    "head.hole_angle",
    "head.hole_offset",
)


@dataclass(frozen=True)
class PushrodResult:
    """The pushrod and its adjuster at every valve."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    length: Quantity = output(
        "length", "between ball centers, with the adjuster as set: measured, or by the checking pushrod"
    )
    adjuster_exposure: Quantity = output(
        "length", "thread showing under the rocker", heading="thread showing"
    )
    exposure_wanted: Quantity = output(
        "length",
        "thread wanted there; the middle of the range where the sheet does not say",
        heading="wanted",
    )
    exposure_greatest: Quantity = output("length", "beyond it the screw has no thread left under its locknut")
    length_for_wanted_exposure: Quantity = output(
        "length", "pushrod that shows the thread wanted, at the lash set", heading="length for wanted"
    )
    reserve_out: Quantity = output("length", "thread left outward", heading="left out")
    reserve_in: Quantity = output("length", "thread left inward", heading="left in")
    reserve: Quantity = output("length", "the lesser of both")
    lash_turns: Quantity = output(
        "ratio", "turns of the adjuster that open the lash from nothing", heading="lash in turns"
    )
    ratio_adjuster_in: Quantity = output(
        "ratio", "mean ratio with the screw all the way in", heading="ratio, screw in"
    )
    ratio_adjuster_out: Quantity = output(
        "ratio", "mean ratio with the screw all the way out", heading="ratio, screw out"
    )
    peak_load: Quantity = output("force", "along the pushrod, the sheet's own or the spring's at full lift")
    column_load: Quantity = output(
        "force", "load at which it fails as a straight column, ends pinned", heading="buckles at"
    )
    column_factor: Quantity = output("ratio", "that over the peak load", heading="over peak load")
    stiffness: Quantity = output("stiffness", "of the tube")
    deflection: Quantity = output("length", "under the peak load")
    lift_lost_to_deflection: Quantity = output("length", "that at the valve", heading="at the valve")
    tappet_angle_greatest: Quantity = output(
        "angle", "greatest angle of pushrod to tappet bore", heading="to tappet bore"
    )
    socket_angle_greatest: Quantity = output(
        "angle", "greatest angle of pushrod from square to the socket arm", heading="to rocker cup"
    )
    hole_clearance: Quantity = output(
        "length", "least clearance to the head's hole, through the lift", heading="in the hole"
    )
    tappet_angle_at: FloatArray = output(
        "fraction", "share of lobe lift at which that angle is found, one of nine; NaN where unknown", key=""
    )
    socket_angle_at: FloatArray = output("fraction", "the same of the rocker's cup", key="")
    hole_at: FloatArray = output("fraction", "the same of the hole", key="")
    plan: PushrodPlan = output(None, "lengths for the whole set", key="")
    convention: tuple[str, ...] = output(
        None, "convention of lengths bought, per valve; empty where the sheet does not say"
    )


def pushrod_study(setup: Setup, rocker: RockerResult, spring: SpringResult) -> PushrodResult:
    """Study pushrods and adjusters, with the lifts of the rocker study and the loads of the spring study."""
    inputs = linkage_columns(setup) | {key: setup.column(*key.split(".")) for key in _KEYS}
    for key in ("adjuster.axis_lean", "head.hole_angle"):
        inputs[key] = replace(inputs[key], value=np.nan_to_num(inputs[key].value))
    count = len(setup.valves)
    for name, quantity in (
        ("lash", rocker.lash),
        ("ratio at opening", rocker.ratio_at_opening),
        ("ratio at full lift", rocker.ratio_at_full_lift),
        ("open load", spring.open_load),
    ):
        inputs[name] = Column(quantity.value, np.nan_to_num(quantity.uncertainty), ("studied",) * count)
    found = computed(pushrod_quantities, inputs, dimensions(PushrodResult))
    rows = {key: column.value for key, column in inputs.items()}
    closed = closed_linkage(_with_length(rows, found["length"].value), rows["lash"])
    plan = pushrod_plan(
        setup,
        closed,
        splay=rows["pushrod.splay"],
        axis_lean=rows["adjuster.axis_lean"],
        exposure=rows["adjuster.exposure"],
        wanted=found["exposure_wanted"].value,
        greatest=found["exposure_greatest"].value,
        now=found["length"].value,
        fitted=np.isnan(_checking(rows)) & np.isfinite(rows["pushrod.length"]),
    )
    convention = tuple(train.pushrod.convention or "" for train in setup.trains)
    swing = swung(closed, _rises(rows["lobe.lift"]), splay=rows["pushrod.splay"])
    return PushrodResult(
        valves=setup.valves,
        roles=setup.roles,
        tappet_angle_at=_share_of_least(-swing.tappet_angle),
        socket_angle_at=_share_of_least(-swing.socket_angle),
        hole_at=_share_of_least(_hole_clearance(rows, closed, swing.pad_angle)),
        plan=plan,
        convention=convention,
        **found,
    )


def _rises(lift: FloatArray) -> FloatArray:
    """Tappet rises at which angles and the hole's clearance are taken [m], the last axis."""
    return np.asarray(lift[..., np.newaxis] * np.linspace(0.0, 1.0, _SAMPLES))


def _share_of_least(values: FloatArray) -> FloatArray:
    """Share of lobe lift at which values through the lift are least; NaN where one is not known."""
    known = np.asarray(np.isfinite(values).all(axis=-1))
    place = np.where(known[..., np.newaxis], values, 0.0).argmin(axis=-1) / (_SAMPLES - 1)
    return np.where(known, place, np.nan)


def _with_length(rows: Mapping[str, FloatArray], length: FloatArray) -> dict[str, FloatArray]:
    return {**rows, "pushrod.length": length}


def _checking(rows: Mapping[str, FloatArray]) -> FloatArray:
    """Length of the checking pushrod as turned out [m]; NaN without one."""
    return np.asarray(
        rows["pushrod.checking_length"] + rows["pushrod.checking_turns"] * rows["pushrod.checking_pitch"]
    )


def _checked_length(rows: Mapping[str, FloatArray]) -> FloatArray:
    """Length at the lash set [m], from a checking pushrod that just takes the lash up; NaN without one."""
    checked = _checking(rows)
    if np.isnan(checked).all():
        return checked
    no_lash = closed_linkage(_with_length(rows, checked), np.zeros(checked.shape))
    planar = pushrod_planar_length_for(
        height=no_lash.height,
        pad_arm=no_lash.pad_arm,
        pad_radius=no_lash.pad_radius,
        socket_arm=no_lash.socket_arm,
        arm_angle=no_lash.arm_angle,
        lash=rows["lash"],
        tappet_setback=no_lash.tappet_setback,
        tappet_angle=no_lash.tappet_angle,
        tappet_position=no_lash.tappet_position,
    )
    return np.hypot(planar, rows["pushrod.splay"])


def pushrod_quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; see `PushrodResult`."""
    checked = _checked_length(rows)
    length = np.where(np.isnan(checked), rows["pushrod.length"], checked)
    closed = closed_linkage(_with_length(rows, length), rows["lash"])
    lean, exposure = rows["adjuster.axis_lean"], rows["adjuster.exposure"]
    greatest = (
        rows["adjuster.thread_length"] - rows["adjuster.boss_thickness"] - rows["adjuster.locknut_height"]
    )
    wanted = rows["adjuster.exposure_wanted"]
    wanted = np.where(np.isnan(wanted), 0.5 * greatest, wanted)
    for_wanted = planar_length_at(closed, wanted - exposure, lean)
    lift = rows["lobe.lift"]

    def mean_ratio(change: FloatArray) -> FloatArray:
        return np.asarray(pad_drop(adjusted(closed, change, lean), lift[..., np.newaxis])[..., 0] / lift)

    swing = swung(closed, _rises(lift), splay=rows["pushrod.splay"])
    ratio = rows["ratio at full lift"]
    by_spring = rows["open load"] * ratio / np.cos(swing.tappet_angle[..., -1])
    peak = np.where(np.isnan(rows["pushrod.peak_load"]), by_spring, rows["pushrod.peak_load"])
    # A wall drawn thicker than the radius is that of a solid rod; the sheet's own is refused when read.
    outside = rows["pushrod.outside_diameter"]
    tube = tube_section(outside, np.minimum(rows["pushrod.wall"], 0.5 * outside))
    modulus = rows["pushrod.elastic_modulus"]
    fails = column_load(
        tube.area,
        slenderness_ratio(length, tube.radius_of_gyration),
        modulus,
        rows["pushrod.yield_strength"],
    )
    stiffness = axial_stiffness(tube.area, length, modulus)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = fails / np.where(peak > 0, peak, np.nan)
        turns = rows["lash"] / (rows["rocker.thread_pitch"] * rows["ratio at opening"])
    return {
        "length": length,
        "adjuster_exposure": exposure,
        "exposure_wanted": wanted,
        "exposure_greatest": greatest,
        "length_for_wanted_exposure": np.hypot(for_wanted, rows["pushrod.splay"]),
        "reserve_out": greatest - exposure,
        "reserve_in": exposure,
        "reserve": np.minimum(greatest - exposure, exposure),
        "lash_turns": turns,
        "ratio_adjuster_in": mean_ratio(-exposure),
        "ratio_adjuster_out": mean_ratio(greatest - exposure),
        "peak_load": peak,
        "column_load": fails,
        "column_factor": factor,
        "stiffness": stiffness,
        "deflection": peak / stiffness,
        "lift_lost_to_deflection": peak / stiffness * ratio,
        "tappet_angle_greatest": swing.tappet_angle.max(axis=-1),
        "socket_angle_greatest": swing.socket_angle.max(axis=-1),
        "hole_clearance": _hole_clearance(rows, closed, swing.pad_angle).min(axis=-1),
    }


def _hole_clearance(
    rows: Mapping[str, FloatArray], closed: ClosedPosition, pad_angle: FloatArray
) -> FloatArray:
    """Clearance of the pushrod in the head's hole through the lift [m], splay in three dimensions."""
    if np.isnan(rows["head.hole_diameter"]).all():
        return np.full(pad_angle.shape, np.nan)
    rise = _rises(rows["lobe.lift"])
    tilt = closed.tappet_angle[..., np.newaxis]
    low_x = closed.tappet_x[..., np.newaxis] - rise * np.sin(tilt)
    low_y = closed.tappet_y[..., np.newaxis] + rise * np.cos(tilt)
    angle = pad_angle + closed.arm_angle[..., np.newaxis]
    high_x = closed.socket_arm[..., np.newaxis] * np.cos(angle) - closed.setback[..., np.newaxis]
    high_y = closed.socket_arm[..., np.newaxis] * np.sin(angle) + closed.height[..., np.newaxis]
    splay = rows["pushrod.splay"][..., np.newaxis] + 0.0 * high_x
    lower = np.stack([low_x, low_y, 0.0 * low_x], axis=-1)
    upper = np.stack([high_x, high_y, splay], axis=-1)
    top_y, bottom_y = closed.height - rows["head.hole_top"], closed.height - rows["head.hole_bottom"]
    top_x = -rows["head.hole_setback"] - closed.setback
    bottom_x = top_x + (top_y - bottom_y) * np.tan(rows["head.hole_angle"])
    # A hole whose place along the shaft is not given was drilled for the pushrod as it stands closed.
    span = high_y[..., 0] - low_y[..., 0]
    given = rows["head.hole_offset"]

    def along_shaft(y: FloatArray) -> FloatArray:
        straight = rows["pushrod.splay"] * (y - low_y[..., 0]) / span
        return np.where(np.isnan(given), straight, given)

    top = np.stack(np.broadcast_arrays(top_x, top_y, along_shaft(top_y)), axis=-1)
    bottom = np.stack(np.broadcast_arrays(bottom_x, bottom_y, along_shaft(bottom_y)), axis=-1)
    known = np.isfinite(top).all(axis=-1) & np.isfinite(bottom).all(axis=-1)
    far = np.stack([top_x * 0.0, top_y * 0.0 - 1.0, top_x * 0.0], axis=-1)
    # Unknown holes still need two ends that are apart.
    bottom = np.where(known[..., np.newaxis], bottom, np.nan_to_num(far) + np.array([0.0, -1.0, 0.0]))
    top = np.where(known[..., np.newaxis], top, 0.0)
    clearance = pushrod_in_hole(
        lower,
        upper,
        bottom,
        top,
        0.5 * rows["head.hole_diameter"],
        0.5 * rows["pushrod.outside_diameter"],
    )
    return np.where(known[..., np.newaxis], clearance, np.nan)
