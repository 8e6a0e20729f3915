"""The few quantities of the rocker study that most depends on, by the shortest way: for millions of draws.

The same numbers as `rocker_study.rocker_quantities` gives (a test holds them together), for a lash measured
at the valve and circular pads.
"""

from collections.abc import Mapping

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.kernel import PushrodSide, arm_swing
from valvetrain.mechanics.rocker.sweep import stand_shim_for_centered_sweep, sweep
from valvetrain.setup.linkage_columns import height_over_tip

__all__ = ["rocker_core"]


def rocker_core(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Lift, mean ratio, sweep and its place on the tip from sheet keys, each [k, n]."""
    lash, lift, height = rows["lash.lash"], rows["lobe.lift"], height_over_tip(rows)
    gross = _pad_drop(rows, lash, lift, height)
    gross = np.where(np.isnan(gross), rows["rocker.nominal_ratio"] * lift, gross)
    dial = rows["station.gross_lift"]
    if not np.isnan(dial).all():
        gross = np.where(np.isnan(dial), gross, dial)
    net = np.maximum(gross - lash, 0.0)
    pad = {
        "setback": rows["shaft.setback"],
        "height": height,
        "pad_arm": rows["rocker.pad_arm"],
        "pad_radius": rows["rocker.pad_radius"],
        "net_lift": net,
    }
    swept = sweep(**pad)
    centered = stand_shim_for_centered_sweep(**pad, stand_angle=np.nan_to_num(rows["shaft.stand_angle"]))
    tip = 0.5 * rows["valve.stem_diameter"] - rows["valve.tip_chamfer"]
    return {
        "gross_lift": gross,
        "net_lift": net,
        "mean_ratio": gross / lift,
        "sweep_width": swept.width,
        "sweep_share": swept.width / gross,
        "sweep_middle": swept.middle,
        "chamfer_distance": tip - np.maximum(np.abs(swept.least), np.abs(swept.greatest)),
        "stand_shim_change_for_centered_sweep": centered,
        "stand_shim_for_centered_sweep": rows["shaft.stand_shim"] + centered,
    }


def _pad_drop(
    rows: Mapping[str, FloatArray], lash: FloatArray, lift: FloatArray, height: FloatArray
) -> FloatArray:
    """Pad drop at full lobe lift; NaN where the linkage is not known or cannot be so."""
    arm, lever, line = rows["rocker.pad_arm"], rows["rocker.socket_arm"], rows["tappet.setback"]
    rod = rows["pushrod.length"]
    if np.any(rows["pushrod.splay"]):
        rod = np.sqrt(rod * rod - rows["pushrod.splay"] ** 2)
    turn = rows["tappet.angle"] - rows["rocker.arm_angle"]
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = (rows["rocker.pad_radius"] + lash - height) / arm
        seat = np.arcsin(sine) - turn  # of the socket arm, seen from the tappet's line
        across = line + lever * np.cos(seat)
        position = lever * np.sin(seat) - np.sqrt(rod * rod - across * across)
        swing = arm_swing(PushrodSide(lever, rod, line, -position, turn, arm), lift)
        possible = (swing.cosine > 0.0) & (swing.above > 0.0)
        return np.where(possible, arm * (sine - swing.sine), np.nan)
