"""What a change at the valve tip does: ground tip, lash cap, longer valve, seat work; shaft and tappet stay.

Derived from `rocker_linkage`; every input of any broadcastable shape [...].
"""

from valvetrain.mechanics.arrays import ArrayLike
from valvetrain.mechanics.guards import floats
from valvetrain.mechanics.rocker.linkage import (
    ClosedPosition,
    closed_position,
    pushrod_planar_length_for,
)

__all__ = ["tip_raised"]


def tip_raised(closed: ClosedPosition, rise: ArrayLike) -> ClosedPosition:
    """The rocker after the closed tip was raised by `rise` [m] (negative: ground or sunk back), lash reset.

    The shaft, the tappet's line and the lower ball stay where they were; the distance between the balls
    changes and is made up at the adjuster. NaN where the arm no longer reaches the tip.
    """
    (up,) = floats(rise)
    height = closed.height - up
    rod = pushrod_planar_length_for(
        height=height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        socket_arm=closed.socket_arm,
        arm_angle=closed.arm_angle,
        lash=closed.lash,
        tappet_setback=closed.tappet_setback,
        tappet_angle=closed.tappet_angle,
        tappet_position=closed.tappet_position,
    )
    return closed_position(
        setback=closed.setback,
        height=height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        socket_arm=closed.socket_arm,
        arm_angle=closed.arm_angle,
        lash=closed.lash,
        pushrod_planar_length=rod,
        tappet_setback=closed.tappet_setback,
        tappet_angle=closed.tappet_angle,
    )
