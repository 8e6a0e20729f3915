"""Where a lobe's events fall on the crank: conventions of opens, closes, centerline and overlap.

A four-stroke cam turns once while the crank turns twice: crank = 2 x cam. Top dead center (TDC) here is the
one between exhaust and intake. The **intake centerline** is the crank angle of the lobe center after that
TDC, the **exhaust centerline** that of its lobe center before it; both are positive numbers near 110 degrees.
All angles are radians; which of cam or crank is in the name or the docstring.

opens: exhaust before bottom dead center (BDC), intake before TDC; closes: exhaust after TDC, intake after
BDC; negative on the other side.
"""

from dataclasses import dataclass
from math import pi
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = [
    "PlacedEvents",
    "Role",
    "cam_from_crank",
    "centerline_from_placed",
    "crank_from_cam",
    "crank_position",
    "duration_from_placed",
    "lobe_separation",
    "overlap",
    "placed_events",
]

Role = Literal["intake", "exhaust"]


@dataclass(frozen=True)
class PlacedEvents:
    """Events on the crank [crank rad], arrays of one shape; NaN where an event does not exist.

    Attributes:
        opens: intake before TDC, exhaust before BDC.
        closes: intake after BDC, exhaust after TDC.
        duration: from opening to closing.
        centerline: midpoint of the two, after TDC for the intake, before TDC for the exhaust.
    """

    opens: FloatArray
    closes: FloatArray
    duration: FloatArray
    centerline: FloatArray


def crank_from_cam(angle: ArrayLike) -> FloatArray:
    """Crank angle of a cam angle, both [rad]: twice it."""
    return 2.0 * np.asarray(angle, float)


def cam_from_crank(angle: ArrayLike) -> FloatArray:
    """Cam angle of a crank angle, both [rad]: half of it."""
    return 0.5 * np.asarray(angle, float)


def crank_position(cam_angle: ArrayLike, lobe_centerline: ArrayLike, role: Role) -> FloatArray:
    """Crank angle after TDC [crank rad] of an angle about the lobe center [cam rad].

    lobe_centerline: [crank rad], after TDC for "intake", before TDC for "exhaust". Broadcast; NaN gives NaN.
    ValueError for another role.
    """
    return _sign(role) * np.asarray(lobe_centerline, float) + crank_from_cam(cam_angle)


def placed_events(
    opening: ArrayLike, closing: ArrayLike, lobe_centerline: ArrayLike, role: Role
) -> PlacedEvents:
    """Place a lobe's events on the crank.

    Args:
        opening, closing: about the lobe center [cam rad], as from `valve_events`.
        lobe_centerline: crank angle of the lobe center [crank rad], after TDC (intake) or before (exhaust).
        role: "intake" or "exhaust".

    Returns:
        `PlacedEvents`, broadcast; NaN gives NaN.

    Raises:
        ValueError: another role.
    """
    start = crank_position(opening, lobe_centerline, role)
    end = crank_position(closing, lobe_centerline, role)
    duration = end - start
    middle = 0.5 * (start + end)
    if role == "intake":
        return PlacedEvents(-start, end - pi, duration, middle)
    return PlacedEvents(-pi - start, end, duration, -middle)


def duration_from_placed(opens: ArrayLike, closes: ArrayLike) -> FloatArray:
    """Crank duration from a card's opens and closes, all [crank rad]: opens + pi + closes, either role."""
    duration: FloatArray = np.asarray(opens, float) + pi + np.asarray(closes, float)
    return duration


def centerline_from_placed(opens: ArrayLike, closes: ArrayLike, role: Role) -> FloatArray:
    """Midpoint of a card's events [crank rad]: after TDC for the intake, before TDC for the exhaust.

    Compare it between cards only at the same checking lift. ValueError for another role.
    """
    half = duration_from_placed(opens, closes) / 2
    _sign(role)
    middle: FloatArray = half - np.asarray(opens if role == "intake" else closes, float)
    return middle


def overlap(intake_opens: ArrayLike, exhaust_closes: ArrayLike) -> FloatArray:
    """Crank angle during which both valves are open at the checking lift [crank rad]; negative: a pause.

    intake_opens before TDC, exhaust_closes after TDC [crank rad].
    """
    both: FloatArray = np.asarray(intake_opens, float) + np.asarray(exhaust_closes, float)
    return both


def lobe_separation(intake_centerline: ArrayLike, exhaust_centerline: ArrayLike) -> FloatArray:
    """Angle between the two lobe centers **on the cam** [cam rad] from centerlines [crank rad]: their mean.

    Half of the crank angle between the centers, which is the sum of the two centerlines.
    """
    between: FloatArray = np.asarray(intake_centerline, float) + np.asarray(exhaust_centerline, float)
    return cam_from_crank(between)


def _sign(role: str) -> float:
    if role not in ("intake", "exhaust"):
        raise ValueError(f"the role is {role!r}; it must be 'intake' or 'exhaust'")
    return 1.0 if role == "intake" else -1.0
