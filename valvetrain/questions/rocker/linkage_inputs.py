"""The rocker's linkage made from the sheet's columns: closed position, and the lash along the stem."""

from collections.abc import Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import (
    ClosedPosition,
    closed_position,
    pad_drop_and_ratio,
    planar_length,
)
from valvetrain.setup.linkage_columns import height_over_tip

__all__ = ["closed_linkage", "lash_at_valve"]

Rows = Mapping[str, FloatArray]


def closed_linkage(rows: Rows, lash: FloatArray, pad_angle: FloatArray | None = None) -> ClosedPosition:
    """Return the linkage on the base circle; NaN where a dimension is not known.

    `pad_angle` [rad] is where the pad arms stand, for pads that are not circular.
    """
    return closed_position(
        setback=rows["shaft.setback"],
        height=height_over_tip(rows),
        pad_arm=rows["rocker.pad_arm"],
        pad_radius=rows["rocker.pad_radius"],
        socket_arm=rows["rocker.socket_arm"],
        arm_angle=rows["rocker.arm_angle"],
        lash=lash,
        pushrod_planar_length=planar_length(length=rows["pushrod.length"], splay=rows["pushrod.splay"]),
        tappet_setback=rows["tappet.setback"],
        tappet_angle=rows["tappet.angle"],
        pad_angle=pad_angle,
    )


def lash_at_valve(rows: Rows, at_pushrod: FloatArray) -> FloatArray:
    """Lash along the stem [m]: as measured, or through the ratio at opening where it is at the pushrod.

    `at_pushrod` is True for valves whose lash is measured at the pushrod, shape [n].
    """
    lash = rows["lash.lash"]
    if not np.any(at_pushrod):
        return lash
    closed = closed_linkage(rows, lash)
    ratio = pad_drop_and_ratio(closed, np.zeros((1,)))[1][..., 0]
    ratio = np.where(np.isnan(ratio), rows["rocker.nominal_ratio"], ratio)
    return np.where(at_pushrod, lash * ratio, lash)
