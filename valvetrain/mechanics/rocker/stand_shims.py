"""What a stand shim does to the whole linkage: the shaft moves along its stand, the adjuster follows.

The lower ball stays on the tappet where it was, the lash is reset, so the distance between the balls changes
(turns of the adjuster, or another pushrod) and with the arm's new angle also the gross lift for the same
tappet lift. Derived from `rocker_linkage`; every input of any broadcastable shape [...], for instance
valves x shims.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats
from valvetrain.mechanics.rocker.linkage import (
    ClosedPosition,
    closed_position,
    pad_drop_and_ratio,
    pushrod_planar_length_for,
)
from valvetrain.mechanics.rocker.sweep import Sweep, stand_shim_for_square_arm, sweep

__all__ = ["ShimEffect", "settled_stand_shim", "shim_effect", "shimmed"]


@dataclass(frozen=True)
class ShimEffect:
    """One shim (or removal) on each linkage; arrays of the broadcast shape [...].

    Attributes:
        gross_lift: pad drop at full tappet lift with the shim [m].
        gross_lift_gain: what the shim adds to it [m]; negative: lost.
        net_lift: gross lift less lash, not below zero [m].
        planar_length_change: of the distance between the pushrod's balls, to be made up at the adjuster
            [m]; positive: longer.
        sweep: the pattern with the shim.
    """

    gross_lift: FloatArray
    gross_lift_gain: FloatArray
    net_lift: FloatArray
    planar_length_change: FloatArray
    sweep: Sweep


def shimmed(closed: ClosedPosition, shim: ArrayLike, *, stand_angle: ArrayLike = 0.0) -> ClosedPosition:
    """The rocker after its stand is raised by `shim` [m] (negative: lowered), the lash reset.

    `stand_angle` [rad]: the stand's axis from the stem's, positive where the top leans toward the valve: the
    shaft moves by shim (sin, cos) in the valve frame. NaN where the arm no longer reaches the tip.
    """
    raised, lean = floats(shim, stand_angle)
    both = lean + closed.tappet_angle
    height = closed.height + raised * np.cos(lean)
    tappet_setback = closed.tappet_setback + raised * np.sin(both)
    rod = pushrod_planar_length_for(
        height=height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        socket_arm=closed.socket_arm,
        arm_angle=closed.arm_angle,
        lash=closed.lash,
        tappet_setback=tappet_setback,
        tappet_angle=closed.tappet_angle,
        tappet_position=closed.tappet_position - raised * np.cos(both),
    )
    return closed_position(
        setback=closed.setback - raised * np.sin(lean),
        height=height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        socket_arm=closed.socket_arm,
        arm_angle=closed.arm_angle,
        lash=closed.lash,
        pushrod_planar_length=rod,
        tappet_setback=tappet_setback,
        tappet_angle=closed.tappet_angle,
    )


def shim_effect(
    closed: ClosedPosition, shim: ArrayLike, *, tappet_lift: ArrayLike, stand_angle: ArrayLike = 0.0
) -> ShimEffect:
    """Lift, adjuster and sweep with each shim. `tappet_lift` [m] is the full lobe lift, shape [...]."""
    full = np.asarray(tappet_lift, float)[..., np.newaxis]
    after = shimmed(closed, shim, stand_angle=stand_angle)
    gross = pad_drop_and_ratio(after, full)[0][..., 0]
    net = np.maximum(gross - after.lash, 0.0)
    return ShimEffect(
        gross_lift=gross,
        gross_lift_gain=gross - pad_drop_and_ratio(closed, full)[0][..., 0],
        net_lift=net,
        planar_length_change=after.pushrod_planar_length - closed.pushrod_planar_length,
        sweep=sweep(
            setback=after.setback,
            height=after.height,
            pad_arm=after.pad_arm,
            pad_radius=after.pad_radius,
            net_lift=net,
        ),
    )


def settled_stand_shim(
    closed: ClosedPosition,
    *,
    tappet_lift: ArrayLike,
    stand_angle: ArrayLike = 0.0,
    lift_fraction: ArrayLike = 0.5,
) -> FloatArray:
    """Change of stand shim [m] with the arm square to the stem at `lift_fraction` of the net lift it gives.

    Follows the small change of the net lift with the shim, which `stand_shim_for_square_arm` leaves out.
    One half is the height of least sweep and the reference for "lift lost to wrong height":
    `shim_effect(...).gross_lift_gain` at this shim.
    """
    shim = np.zeros(closed.height.shape)
    # Net lift changes by a few hundredths of the shim, so each pass gains more than a digit.
    for _ in range(12):
        effect = shim_effect(closed, shim, tappet_lift=tappet_lift, stand_angle=stand_angle)
        shim = stand_shim_for_square_arm(
            height=closed.height,
            pad_radius=closed.pad_radius,
            net_lift=effect.net_lift,
            stand_angle=stand_angle,
            lift_fraction=lift_fraction,
        )
    return shim
