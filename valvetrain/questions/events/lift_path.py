"""How does each valve rise and fall over the crank's turns, at zero lash and at the lash that is set?"""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import pad_drop
from valvetrain.mechanics.rocker.pad_side import valve_lift
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.events.cam_position import centerlines
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Setup

__all__ = ["LiftPathResult", "lift_path_study"]


@dataclass(frozen=True)
class LiftPathResult:
    """Valve lift over two crank turns about each lobe's center; arrays [valves, angles], NaN where not known.

    Attributes:
        cam_angle: from the lobe center [cam rad], shape [angles].
        crank_angle: after the top dead center of the overlap [crank rad]; NaN without a centerline.
        tappet_lift: rise off the base circle [m], cut off at the lobe lift found at that valve.
        lift_at_zero_lash: pad drop [m], what the valve would lift without lash.
        lift_at_set_lash: pad drop less lash, not below zero [m].
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    cam_angle: FloatArray
    crank_angle: FloatArray
    tappet_lift: FloatArray
    lift_at_zero_lash: FloatArray
    lift_at_set_lash: FloatArray


def lift_path_study(setup: Setup, samples: int = 1441) -> LiftPathResult:
    """Sample every valve's lift at `samples` cam angles, the lobe center in the middle of an odd number.

    The linkage gives the lift where it was measured, or else the rocker's nominal ratio.
    """
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    lash = lash_at_valve(rows, np.array([train.lash.at == "pushrod" for train in setup.trains]))
    cam_angle = np.linspace(-pi, pi, samples)
    rise = np.full((len(setup.trains), samples), np.nan)
    for index, train in enumerate(setup.trains):
        curve = lobe_curve(train.lobe)
        if curve is not None:
            rise[index] = curve.lift(cam_angle)
    # A lobe lower than it should be is worn at its nose: its flanks stay, its lift is cut off.
    rise = np.minimum(rise, rows["lobe.lift"][:, np.newaxis])
    with np.errstate(invalid="ignore"):
        drop = pad_drop(closed_linkage(rows, lash), rise)
    drop = np.where(np.isnan(drop), rows["rocker.nominal_ratio"][:, np.newaxis] * rise, drop)
    return LiftPathResult(
        valves=setup.valves,
        roles=setup.roles,
        cam_angle=cam_angle,
        crank_angle=_centers(setup)[:, np.newaxis] + 2 * cam_angle,
        tappet_lift=rise,
        lift_at_zero_lash=drop,
        lift_at_set_lash=valve_lift(pad_drop=drop, lash=lash),
    )


def _centers(setup: Setup) -> FloatArray:
    """Crank angle of every lobe's center after the top dead center of the overlap."""
    curves = [lobe_curve(train.lobe) for train in setup.trains]
    sign = np.array([1.0 if role == "intake" else -1.0 for role in setup.roles])
    return np.asarray(sign * centerlines(setup, curves).value)
