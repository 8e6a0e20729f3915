"""What a raised shaft or a changed tip does at a valve: sweep, lift, adjuster."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import output
from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.rocker.linkage import ClosedPosition, pad_drop
from valvetrain.mechanics.rocker.stand_shims import shimmed
from valvetrain.mechanics.rocker.sweep import least_sweep_width, lift_fraction_at_square_arm, sweep
from valvetrain.mechanics.rocker.tip_change import tip_raised
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.setup.linkage_columns import height_over_tip

__all__ = ["Effect", "PadSide", "effect", "pad_side_of"]


@dataclass(frozen=True)
class PadSide:
    """What is needed of every valve, shape [n]; NaN where unknown.

    Attributes:
        rows: sheet key -> values.
        closed: the linkage on its base circle.
        lash, net_lift, gross_lift: of the rocker study [m].
        tip_radius: half of the tip's flat [m].
        stand_angle: lean of the stand from the stem [rad].
    """

    rows: Mapping[str, FloatArray]
    closed: ClosedPosition
    lash: FloatArray
    net_lift: FloatArray
    gross_lift: FloatArray
    tip_radius: FloatArray
    stand_angle: FloatArray


@dataclass(frozen=True)
class Effect:
    """One change at every valve, broadcast shape."""

    sweep_width: FloatArray = output("length", "sweep across the tip afterward")
    sweep_share: FloatArray = output("fraction", "that over gross lift")
    sweep_middle: FloatArray = output("length", "middle of the contact afterward, from the stem axis")
    chamfer_distance: FloatArray = output(
        "length", "least distance from the contact to the chamfer afterward"
    )
    over_least: FloatArray = output("ratio", "sweep over the least that arm and lift allow", key="")
    square_at: FloatArray = output(
        "fraction", "lift fraction at which the arm is then square to the stem", key=""
    )
    middle_moved: FloatArray = output(
        "length",
        "how far the middle of the pattern moves, positive away from the shaft",
        key="pattern_moved",
    )
    lift_gain: FloatArray = output("length", "gross lift gained; NaN where the pushrod's side is not known")
    adjuster: FloatArray = output(
        "length",
        "growth of the distance between the pushrod's balls, made up at the adjuster (positive: more thread "
        "shows) or by a longer pushrod; NaN where the pushrod's side is not known",
        key="adjuster_out",
    )


def pad_side_of(
    rows: Mapping[str, FloatArray], *, lash: FloatArray, net_lift: FloatArray, gross_lift: FloatArray
) -> PadSide:
    """Gather the values of every valve from sheet keys and the rocker study."""
    return PadSide(
        rows=rows,
        closed=closed_linkage(rows, lash),
        lash=lash,
        net_lift=net_lift,
        gross_lift=gross_lift,
        tip_radius=0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"],
        stand_angle=np.nan_to_num(rows["shaft.stand_angle"]),
    )


def effect(side: PadSide, *, stand_shim: ArrayLike = 0.0, tip_rise: ArrayLike = 0.0) -> Effect:
    """Work out a stand shim [m] and a raised tip [m] together, broadcast with shape [n]."""
    shim, rise = np.asarray(stand_shim, float), np.asarray(tip_rise, float)
    before = height_over_tip(side.rows)
    height = before + shim * np.cos(side.stand_angle) - rise
    setback = side.rows["shaft.setback"] - shim * np.sin(side.stand_angle)
    arm, radius = side.rows["rocker.pad_arm"], side.rows["rocker.pad_radius"]
    lift = side.rows["lobe.lift"][..., np.newaxis]
    with np.errstate(invalid="ignore"):
        after = tip_raised(shimmed(side.closed, shim, stand_angle=side.stand_angle), rise)
        gain = pad_drop(after, lift)[..., 0] - pad_drop(side.closed, lift)[..., 0]
    # Where the pushrod's side is unknown the lift is taken as it was: the sweep hardly depends on it.
    known_gain = np.where(np.isnan(gain), 0.0, gain)
    gross = side.gross_lift + known_gain
    net = np.maximum(gross - side.lash, 0.0)
    now = sweep(
        setback=side.rows["shaft.setback"],
        height=before,
        pad_arm=arm,
        pad_radius=radius,
        net_lift=side.net_lift,
    )
    swept = sweep(setback=setback, height=height, pad_arm=arm, pad_radius=radius, net_lift=net)
    edge = np.maximum(np.abs(swept.least), np.abs(swept.greatest))
    return Effect(
        sweep_width=swept.width,
        sweep_share=swept.width / gross,
        sweep_middle=swept.middle,
        chamfer_distance=side.tip_radius - edge,
        over_least=swept.width / least_sweep_width(pad_arm=arm, lift=net),
        square_at=lift_fraction_at_square_arm(height=height, pad_radius=radius, net_lift=net),
        middle_moved=swept.middle - now.middle,
        lift_gain=gain,
        adjuster=after.pushrod_planar_length - side.closed.pushrod_planar_length,
    )
