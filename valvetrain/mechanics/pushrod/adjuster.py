"""The adjuster screw: it moves the upper ball in the rocker, so it changes socket arm and arm angle.

Frames of `rocker_linkage`. The screw stands square to the socket arm, or leans from that by `axis_lean`
(positive: its ball's end leans away from the shaft). A change of exposure is positive where more thread
shows under the rocker: the ball then stands nearer the tappet, and a shorter pushrod sets the same lash.
The rocker itself does not turn: its pad stands at the lash. Derived.
"""

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, positive
from valvetrain.mechanics.rocker.linkage import ClosedPosition, closed_position

__all__ = ["adjusted", "exposure_change_for", "planar_length_at", "socket_at"]


def socket_at(
    socket_arm: ArrayLike, arm_angle: ArrayLike, exposure_change: ArrayLike, axis_lean: ArrayLike = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Socket arm [m] and arm angle [rad] after the screw's exposure changed [m]; any broadcast shape."""
    lever = positive("socket_arm", socket_arm)
    between, out, lean = floats(arm_angle, exposure_change, axis_lean)
    along, down = lever + out * np.sin(lean), out * np.cos(lean)
    return np.hypot(along, down), np.asarray(between + np.arctan2(down, along))


def _screw(closed: ClosedPosition, axis_lean: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Direction in which the ball moves as more thread shows, in the valve frame."""
    (lean,) = floats(axis_lean)
    angle = closed.socket_angle + 0.5 * np.pi - lean
    return np.cos(angle), np.sin(angle)


def planar_length_at(
    closed: ClosedPosition, exposure_change: ArrayLike, axis_lean: ArrayLike = 0.0
) -> FloatArray:
    """Planar pushrod length [m] that sets the same lash after the exposure changed [m], shape broadcast."""
    (out,) = floats(exposure_change)
    x, y = _screw(closed, axis_lean)
    return np.hypot(closed.socket_x + out * x - closed.tappet_x, closed.socket_y + out * y - closed.tappet_y)


def exposure_change_for(
    closed: ClosedPosition, planar_length: ArrayLike, axis_lean: ArrayLike = 0.0
) -> FloatArray:
    """Change of exposure [m] with which a pushrod of this planar length [m] sets the same lash.

    The inverse of `planar_length_at` on the side of assembly; NaN where the screw's line passes the pushrod's
    reach.
    """
    rod = positive("planar_length", planar_length)
    x, y = _screw(closed, axis_lean)
    across, along = closed.socket_x - closed.tappet_x, closed.socket_y - closed.tappet_y
    toward = across * x + along * y
    with np.errstate(invalid="ignore"):
        reach = np.sqrt(toward**2 - (across**2 + along**2 - rod**2))
    return np.asarray(-toward - reach)


def adjusted(
    closed: ClosedPosition, exposure_change: ArrayLike, axis_lean: ArrayLike = 0.0
) -> ClosedPosition:
    """The rocker with its adjuster moved and a pushrod that sets the same lash with the tappet in place."""
    lever, between = socket_at(closed.socket_arm, closed.arm_angle, exposure_change, axis_lean)
    return closed_position(
        setback=closed.setback,
        height=closed.height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        socket_arm=lever,
        arm_angle=between,
        lash=closed.lash,
        pushrod_planar_length=planar_length_at(closed, exposure_change, axis_lean),
        tappet_setback=closed.tappet_setback,
        tappet_angle=closed.tappet_angle,
        pad_angle=closed.pad_angle,
    )
