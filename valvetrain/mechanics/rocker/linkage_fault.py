"""Which link cannot reach: one sentence for a rocker that does not go together or locks on its way."""

import math
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop_and_ratio, swung

__all__ = ["LinkageFault", "linkage_fault"]

# Nearer to straight down than this the arm ends its way there [rad].
_STRAIGHT = 1e-4


@dataclass(frozen=True)
class LinkageFault:
    """Why a linkage cannot be.

    Attributes:
        link: "pad arm", "pushrod" or "rocker": the part to look at first.
        sentence: what is wrong, for a reader, without numbers.
        length: the length that goes with it [m]: how much is missing, or the tappet lift at which it locks.
        meaning: what `length` is, in words.
    """

    link: str
    sentence: str
    length: float
    meaning: str


def linkage_fault(
    *,
    setback: float,
    height: float,
    pad_arm: float,
    pad_radius: float,
    socket_arm: float,
    arm_angle: float,
    lash: float,
    pushrod_planar_length: float,
    tappet_setback: float,
    tappet_angle: float,
    tappet_lift: float = 0.0,
) -> LinkageFault | None:
    """First fault of one linkage (scalars, module `rocker_linkage`'s frames), or None.

    `tappet_lift` [m] is the full lobe lift to be reached. Unknown (NaN) inputs give None: not a fault.

    Raises:
        ValueError: as `closed_position`.
    """
    closed = closed_position(
        setback=setback,
        height=height,
        pad_arm=pad_arm,
        pad_radius=pad_radius,
        socket_arm=socket_arm,
        arm_angle=arm_angle,
        lash=lash,
        pushrod_planar_length=pushrod_planar_length,
        tappet_setback=tappet_setback,
        tappet_angle=tappet_angle,
    )
    rise = pad_radius + lash - height
    if abs(rise) > pad_arm:
        shaft = "low below" if rise > 0 else "high above"
        return LinkageFault(
            "pad arm",
            f"The pad arm cannot reach the closed valve tip: the shaft sits too {shaft} it for this arm.",
            abs(rise) - pad_arm,
            "height by which the shaft is out of the pad arm's reach",
        )
    turned = float(closed.socket_angle) - tappet_angle
    across = tappet_setback + socket_arm * math.cos(turned)
    if abs(across) > pushrod_planar_length:
        return LinkageFault(
            "pushrod",
            "The pushrod is too short: from the rocker's ball it cannot reach the line of the tappet.",
            abs(across) - pushrod_planar_length,
            "length missing from the pushrod",
        )
    position = float(closed.tappet_position)
    if position * math.cos(turned) + tappet_setback * math.sin(turned) <= 0:
        return LinkageFault(
            "rocker",
            "A rising tappet would close the valve: check the arm angle, the tappet's setback and its angle.",
            0.0,
            "tappet lift at which it goes wrong",
        )
    unknown = math.isnan(position) or math.isnan(tappet_lift)
    if unknown or not np.isnan(pad_drop_and_ratio(closed, [0.0, tappet_lift])[0]).any():
        return None
    # Possible up to some lift and not beyond it: close in on it.
    possible, locked = 0.0, tappet_lift
    for _ in range(60):
        halfway = 0.5 * (possible + locked)
        if np.isnan(pad_drop_and_ratio(closed, [halfway])[0][0]):
            locked = halfway
        else:
            possible = halfway
    # Just before, the pad arm hangs straight down where that is what ends it, and not where the links lock.
    if abs(float(swung(closed, [possible]).pad_angle[0]) + 0.5 * math.pi) < _STRAIGHT:
        return LinkageFault(
            "rocker",
            "The pad arm hangs straight down before full lift and would push the valve shut again: the arm "
            "is too short for this lift, or the shaft too low.",
            float(possible),
            "tappet lift at which it hangs straight down",
        )
    return LinkageFault(
        "rocker",
        "The linkage locks before full lift: the rocker cannot follow the tappet any further.",
        float(possible),
        "tappet lift at which it locks",
    )
