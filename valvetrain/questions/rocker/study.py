"""Does the rocker meet the valve tip where it should, and which stand shim puts it right?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import (
    pad_drop,
    pad_drop_and_ratio,
    tappet_lift_at_pad_drop,
)
from valvetrain.mechanics.rocker.stand_shims import shimmed
from valvetrain.mechanics.rocker.sweep import (
    least_sweep_width,
    lift_fraction_at_square_arm,
    stand_shim_for_centered_sweep,
    stand_shim_for_square_arm,
    sweep,
)
from valvetrain.questions.rocker.core import rocker_core
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.questions.rocker.measured_pads import (
    MeasuredPads,
    measured_pads,
    shares_followed,
    with_measured_pads,
)
from valvetrain.questions.rocker.pad_effect import PadSide, pad_side_of
from valvetrain.questions.rocker.stand_plan import StandPlan, stand_plan
from valvetrain.questions.rocker.tip_heights import tip_heights
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Setup

__all__ = ["RockerResult", "rocker_study"]

# A rocker whose ratio is farther than this from what it is sold as is worth a look (our judgment, no source).
_ROUNDED = 0.04


@dataclass(frozen=True)
class RockerResult:
    """The rocker at every valve."""

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    lobe_lift: Quantity = output(
        "length", "lobe lift as used: as found at the valve, else as the lobe was made"
    )
    lash: Quantity = output("length", "lash as used, along the stem")
    gross_lift: Quantity = output("length", "pad drop at full lobe lift")
    net_lift: Quantity = output("length", "gross lift less lash")
    ratio_at_opening: Quantity = output("ratio", "pad drop over tappet rise with the lash just taken up")
    ratio_at_half_lift: Quantity = output("ratio", "the same at half net lift", heading="at half lift")
    ratio_at_full_lift: Quantity = output("ratio", "the same at full net lift", heading="at full lift")
    mean_ratio: Quantity = output("ratio", "gross lift over lobe lift")
    sweep_width: Quantity = output("length", "range of the contact across the tip")
    sweep_share: Quantity = output("fraction", "sweep width over gross lift")
    sweep_middle: Quantity = output(
        "length", "middle of the contact's range from the stem axis, positive away from the shaft"
    )
    contact_closed: Quantity = output(
        "length",
        "contact at opening from the stem axis, positive away from the shaft",
        heading="contact at opening",
    )
    contact_full: Quantity = output(
        "length", "contact at full lift, likewise", heading="contact at full lift"
    )
    chamfer_distance: Quantity = output(
        "length",
        "least distance from the contact to the tip's chamfer, along the sweep",
        heading="to chamfer",
    )
    least_sweep_width: Quantity = output(
        "length", "least sweep that this arm and lift allow", heading="least possible"
    )
    sweep_over_least: Quantity = output(
        "ratio", "sweep width over the least that this arm and lift allow", heading="over the least"
    )
    square_at_lift_fraction: Quantity = output(
        "fraction", "fraction of net lift at which the arm is square to the stem", heading="arm square at"
    )
    stand_shim_change_for_least_sweep: Quantity = output(
        "length",
        "stand shim to add for the least sweep; negative: to take out",
        heading="stand shim for least sweep",
    )
    stand_shim_change_for_centered_sweep: Quantity = output(
        "length", "stand shim to add for a sweep about the stem axis; negative: to take out"
    )
    stand_shim_for_least_sweep: Quantity = output(
        "length", "total thickness under the stand for the least sweep; unknown where the shim now fitted is"
    )
    stand_shim_for_centered_sweep: Quantity = output(
        "length", "total thickness under the stand for a centered sweep; unknown where the shim now fitted is"
    )
    stand_shim_change_for_square_at: Quantity = output(
        "length", "stand shim to add that has the arm square at the lift fraction wanted"
    )
    lift_lost_to_height: Quantity = output(
        "length",
        "gross lift that this rocker would gain at the height of its least sweep; unknown where the "
        "pushrod's side is",
    )
    lift_lost_share: Quantity = output("fraction", "that over gross lift")
    tip_height: Quantity = output(
        "length",
        "stem height less the middle of its role; unknown where fewer than four of a role were measured",
        heading="tip off its set",
    )
    square_at_wanted: float = output(
        "fraction", "lift fraction at which the arm is wanted square to the stem"
    )
    stand: StandPlan = output(
        None, "the shim chosen for each shaft, and what it leaves at every valve", key=""
    )
    side: PadSide = output(None, "what the plan was made from", key="")
    pads: MeasuredPads | None = output(
        None, "the valves with a measured pad; None where there is none", key=""
    )
    lift_from: tuple[str, ...] = output(
        None, 'where the gross lift comes from: "dial", "linkage" or "nominal ratio"'
    )
    nominal_ratio: FloatArray = output("ratio", "ratio that the rocker is sold as, shape [n]", key="")
    ratio_apart: tuple[int, ...] = output(
        None, "index of the valves whose mean ratio is surely farther from it than makers round", key=""
    )


def rocker_study(setup: Setup, square_at: float | None = None) -> RockerResult:
    """Study the rocker at every valve of a setup.

    Args:
        setup: the setup.
        square_at: lift fraction at which the arm is wanted square to the stem, 0 to 1; the stand shims are
            then chosen for it. Left out: half lift, and the shims are chosen for the least sweep.
    """
    fraction = 0.5 if square_at is None else square_at
    inputs = linkage_columns(setup)
    inputs |= {
        "station.gross_lift": setup.column("station", "gross_lift"),
        "shaft.stand_angle": setup.column("shaft", "stand_angle"),
        "shaft.stand_shim": setup.column("shaft", "stand_shim"),
        "valve.stem_diameter": setup.column("valve", "stem_diameter"),
        "valve.tip_chamfer": setup.column("valve", "tip_chamfer"),
    }
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    quantities = computed(
        lambda rows: rocker_quantities(rows, at_pushrod, fraction),
        inputs,
        {name: each for name, each in dimensions(RockerResult).items() if name != "tip_height"},
        core=None if at_pushrod.any() else rocker_core,
    )
    rows = {key: column.value for key, column in inputs.items()}
    dial = ~np.isnan(rows["station.gross_lift"])
    pads = measured_pads(setup, inputs, quantities["lash"])
    quantities = shares_followed(with_measured_pads(quantities, pads), pads)
    quantities["tip_height"] = tip_heights(setup)
    linkage = ~np.isnan(quantities["ratio_at_opening"].value)
    sold, mean = inputs["rocker.nominal_ratio"].value, quantities["mean_ratio"]
    nominal = ~np.isnan(sold)
    with np.errstate(invalid="ignore"):
        off = np.abs(mean.value - sold)
        apart = (dial | linkage) & (off > _ROUNDED * sold) & (off > 2 * np.nan_to_num(mean.uncertainty))
    lift_from = np.select([dial, linkage, nominal], ["dial", "linkage", "nominal ratio"], "")
    side = pad_side_of(
        rows,
        lash=quantities["lash"].value,
        net_lift=quantities["net_lift"].value,
        gross_lift=quantities["gross_lift"].value,
    )
    with np.errstate(invalid="ignore"):
        stand = stand_plan(
            setup, side, quantities["stand_shim_change_for_square_at"].value, square_at=square_at
        )
    return RockerResult(
        valves=setup.valves,
        roles=setup.roles,
        square_at_wanted=fraction,
        stand=stand,
        side=side,
        pads=pads,
        lift_from=tuple(map(str, lift_from)),
        nominal_ratio=sold,
        ratio_apart=tuple(map(int, np.flatnonzero(apart))),
        **quantities,
    )


def rocker_quantities(
    rows: Mapping[str, FloatArray], at_pushrod: FloatArray, square_at: float = 0.5
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; see `RockerResult`."""
    lash = lash_at_valve(rows, at_pushrod)
    lift = rows["lobe.lift"]
    closed = closed_linkage(rows, lash)
    by_linkage = pad_drop_and_ratio(closed, lift[..., np.newaxis])[0][..., 0]
    by_ratio = rows["rocker.nominal_ratio"] * lift
    by_dial = rows["station.gross_lift"]
    gross = np.where(np.isnan(by_dial), np.where(np.isnan(by_linkage), by_ratio, by_linkage), by_dial)
    net = np.maximum(gross - lash, 0.0)
    drops = lash[..., np.newaxis] + net[..., np.newaxis] * np.array([0.0, 0.5, 1.0])
    ratios = pad_drop_and_ratio(closed, tappet_lift_at_pad_drop(closed, drops))[1]
    height = height_over_tip(rows)
    pad = {
        "setback": rows["shaft.setback"],
        "pad_arm": rows["rocker.pad_arm"],
        "pad_radius": rows["rocker.pad_radius"],
        "net_lift": net,
    }
    swept = sweep(height=height, **pad)
    tip = 0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"]
    stand_angle = np.nan_to_num(rows["shaft.stand_angle"])
    least_change = stand_shim_for_square_arm(
        height=height, pad_radius=pad["pad_radius"], net_lift=net, stand_angle=stand_angle
    )
    # The arm's length matters to the sweep, so a shim is only advised where it is known.
    least_change = np.where(np.isnan(swept.width), np.nan, least_change)
    centered_change = stand_shim_for_centered_sweep(height=height, stand_angle=stand_angle, **pad)
    wanted_change = stand_shim_for_square_arm(
        height=height,
        pad_radius=pad["pad_radius"],
        net_lift=net,
        stand_angle=stand_angle,
        lift_fraction=square_at,
    )
    wanted_change = np.where(np.isnan(swept.width), np.nan, wanted_change)
    least = least_sweep_width(pad_arm=pad["pad_arm"], lift=net)
    at_best_height = pad_drop(shimmed(closed, least_change, stand_angle=stand_angle), lift[..., np.newaxis])
    fitted = rows["shaft.stand_shim"]
    return {
        "lobe_lift": lift,
        "lash": lash,
        "gross_lift": gross,
        "net_lift": net,
        "ratio_at_opening": ratios[..., 0],
        "ratio_at_half_lift": ratios[..., 1],
        "ratio_at_full_lift": ratios[..., 2],
        "mean_ratio": gross / lift,
        "sweep_width": swept.width,
        "sweep_share": swept.width / gross,
        "sweep_middle": swept.middle,
        "contact_closed": swept.at_opening,
        "contact_full": swept.at_full_lift,
        "chamfer_distance": tip - np.maximum(np.abs(swept.least), np.abs(swept.greatest)),
        "least_sweep_width": least,
        "sweep_over_least": swept.width / least,
        "square_at_lift_fraction": lift_fraction_at_square_arm(
            height=height, pad_radius=pad["pad_radius"], net_lift=net
        ),
        "stand_shim_change_for_least_sweep": least_change,
        "stand_shim_change_for_centered_sweep": centered_change,
        "stand_shim_for_least_sweep": fitted + least_change,
        "stand_shim_for_centered_sweep": fitted + centered_change,
        "stand_shim_change_for_square_at": wanted_change,
        "lift_lost_to_height": at_best_height[..., 0] - by_linkage,
        "lift_lost_share": (at_best_height[..., 0] - by_linkage) / gross,
    }
