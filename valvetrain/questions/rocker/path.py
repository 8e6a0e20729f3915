"""The rocker through the lift: contact, ratio and distance to the chamfer at every instant."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import pad_drop_and_ratio, tappet_lift_at_pad_drop
from valvetrain.mechanics.rocker.pad_side import contact_at_pad_drop
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.linkage_columns import height_over_tip

__all__ = ["RockerPath", "rocker_path"]

_SAMPLES = 41


@dataclass(frozen=True)
class RockerPath:
    """Every valve through its own lift, arrays [valves, samples]; NaN where unknown.

    Attributes:
        lift_share: share of net lift, 0 with the lash just taken up, 1 at full lift; shape [samples].
        valve_lift: [m].
        contact: from the stem axis [m], positive away from the shaft.
        chamfer_distance: from the contact to the tip's chamfer [m].
        ratio: d(pad drop)/d(tappet rise).
        tappet_lift: [m].
    """

    valves: tuple[str, ...]
    lift_share: FloatArray
    valve_lift: FloatArray
    contact: FloatArray
    chamfer_distance: FloatArray
    ratio: FloatArray
    tappet_lift: FloatArray


def rocker_path(result: RockerResult) -> RockerPath:
    """Follow every rocker through its lift, as the rocker study found it."""
    side = result.side
    share = np.linspace(0.0, 1.0, _SAMPLES)
    lift = side.net_lift[:, np.newaxis] * share
    drop = side.lash[:, np.newaxis] + lift
    contact = contact_at_pad_drop(
        setback=side.rows["shaft.setback"],
        height=height_over_tip(side.rows),
        pad_arm=side.rows["rocker.pad_arm"],
        pad_radius=side.rows["rocker.pad_radius"],
        lash=side.lash,
        pad_drop=drop,
    )
    with np.errstate(invalid="ignore"):
        tappet = tappet_lift_at_pad_drop(side.closed, drop)
        ratio = pad_drop_and_ratio(side.closed, tappet)[1]
    if result.pads is not None:
        contact = np.where(np.isnan(result.pads.contact), contact, result.pads.contact)
        ratio = np.where(np.isnan(result.pads.ratio), ratio, result.pads.ratio)
    return RockerPath(
        valves=result.valves,
        lift_share=share,
        valve_lift=lift,
        contact=contact,
        chamfer_distance=side.tip_radius[:, np.newaxis] - np.abs(contact),
        ratio=ratio,
        tappet_lift=tappet,
    )
