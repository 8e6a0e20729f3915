"""Shaft rocker between tappet and valve: closed position, swing, ratio, and the way back. Closed form.

Frames and signs:
    Valve frame: origin at the center of the closed tip, +y out of the head along the stem, +x from the
    shaft toward the stem. Shaft axis at (-setback, height). The pad arm is at the angle phi from +x, the
    socket arm at phi + arm_angle (over the top of the shaft); opening the valve makes phi fall.
    Tappet: rises along (-sin, cos) of `tappet_angle`; the lower ball's line passes the shaft axis at
    `tappet_setback`, positive on the side away from the valve. Positions along that line are counted
    upward from its point nearest the shaft axis, so they are usually negative.

Branches: pad arm toward the valve, lower ball below the socket, and a rising tappet opens the valve. Where
no such position exists the result is NaN; `linkage_fault` says which link is to blame. Shapes: geometry
[...], tappet lift [..., n] with the angle last, results [..., n]. Source: derived (crossing of two circles);
tested against root finding on the constraint equations and a multibody library.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import floats, positive, with_angle_axis
from valvetrain.mechanics.rocker.kernel import PushrodSide, arm_swing, pad_fall
from valvetrain.mechanics.rocker.pad_side import closed_pad_angle, pad_angle_at_pad_drop

__all__ = [
    "ClosedPosition",
    "Swing",
    "closed_position",
    "pad_drop",
    "pad_drop_and_ratio",
    "planar_length",
    "pushrod_planar_length_for",
    "rocker_turn",
    "swung",
    "tappet_lift_at_pad_drop",
]


@dataclass(frozen=True)
class ClosedPosition:
    """A rocker at rest on the base circle, with the geometry that put it there. Lengths [m], angles [rad].

    Attributes:
        setback, height, pad_arm, pad_radius, socket_arm, arm_angle, lash: as given, shape [...].
        pushrod_planar_length, tappet_setback, tappet_angle: as given, shape [...].
        pad_angle: of the pad arm from +x; NaN where the arm cannot reach the tip.
        socket_angle: pad_angle + arm_angle.
        socket_x, socket_y: upper ball in the valve frame.
        tappet_x, tappet_y: lower ball in the valve frame; NaN where the pushrod cannot reach its line.
        tappet_position: lower ball along its line [m], from the point nearest the shaft, upward positive.
    """

    setback: FloatArray
    height: FloatArray
    pad_arm: FloatArray
    pad_radius: FloatArray
    socket_arm: FloatArray
    arm_angle: FloatArray
    lash: FloatArray
    pushrod_planar_length: FloatArray
    tappet_setback: FloatArray
    tappet_angle: FloatArray
    pad_angle: FloatArray
    socket_angle: FloatArray
    socket_x: FloatArray
    socket_y: FloatArray
    tappet_x: FloatArray
    tappet_y: FloatArray
    tappet_position: FloatArray


@dataclass(frozen=True)
class Swing:
    """A rocker through the tappet's lift; every array of shape [..., n], NaN where the linkage cannot be.

    Attributes:
        pad_angle: of the pad arm from +x [rad].
        pad_drop: fall of the pad from its base-circle position [m]; valve lift is this less the lash, not
            below zero.
        contact_x: where pad and tip touch, from the stem axis, positive away from the shaft [m].
        ratio: d(pad drop)/d(tappet rise), > 0.
        tappet_angle: between pushrod and tappet bore [rad], >= 0, splay included.
        socket_angle: between pushrod and the normal of the socket arm [rad], >= 0, splay included.
    """

    pad_angle: FloatArray
    pad_drop: FloatArray
    contact_x: FloatArray
    ratio: FloatArray
    tappet_angle: FloatArray
    socket_angle: FloatArray


def planar_length(*, length: ArrayLike, splay: ArrayLike) -> FloatArray:
    """Pushrod length between ball centers as seen along the shaft [m]: sqrt(length^2 - splay^2).

    NaN where the splay (offset of one end out of the rocker's plane [m], either sign) exceeds the length.
    """
    whole, (out,) = positive("pushrod length", length), floats(splay)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.sqrt((whole - out) * (whole + out)))


def closed_position(
    *,
    setback: ArrayLike,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    socket_arm: ArrayLike,
    arm_angle: ArrayLike,
    lash: ArrayLike,
    pushrod_planar_length: ArrayLike,
    tappet_setback: ArrayLike,
    tappet_angle: ArrayLike,
    pad_angle: ArrayLike | None = None,
) -> ClosedPosition:
    """Rocker on the base circle with its lash set. All inputs of shape [...] (broadcast); module frames.

    `pad_angle` [rad] is for a measured pad (`pad_outline.closed_angle_of_outline`); left out, the pad is
    circular. For a measured pad use `rocker_turn` with `pad_outline.contact_of_outline`; drop, contact and
    ratio of this module are a circular pad's.

    Raises:
        ValueError: an arm or the pushrod is zero, negative or infinite; a pad radius negative.
    """
    back, up, arm, radius, lever, between, gap, rod, line, lean = np.broadcast_arrays(
        *floats(setback, height, pad_arm, pad_radius, socket_arm, arm_angle, lash),
        *floats(pushrod_planar_length, tappet_setback, tappet_angle),
    )
    positive("socket_arm", lever)
    positive("pushrod_planar_length", rod)
    closed_angle = closed_pad_angle(height=up, pad_arm=arm, pad_radius=radius, lash=gap)
    if pad_angle is not None:
        closed_angle = np.broadcast_to(np.asarray(pad_angle, float), up.shape)
    socket_angle = closed_angle + between
    across, along = _socket_from_line(lever, socket_angle, line, lean)
    with np.errstate(invalid="ignore"):
        position = np.asarray(along - np.sqrt((rod - across) * (rod + across)))
    return ClosedPosition(
        setback=back,
        height=up,
        pad_arm=arm,
        pad_radius=radius,
        socket_arm=lever,
        arm_angle=between,
        lash=gap,
        pushrod_planar_length=rod,
        tappet_setback=line,
        tappet_angle=lean,
        pad_angle=closed_angle,
        socket_angle=np.asarray(socket_angle),
        socket_x=np.asarray(lever * np.cos(socket_angle) - back),
        socket_y=np.asarray(lever * np.sin(socket_angle) + up),
        tappet_x=np.asarray(-line * np.cos(lean) - position * np.sin(lean) - back),
        tappet_y=np.asarray(-line * np.sin(lean) + position * np.cos(lean) + up),
        tappet_position=position,
    )


def pushrod_planar_length_for(
    *,
    height: ArrayLike,
    pad_arm: ArrayLike,
    pad_radius: ArrayLike,
    socket_arm: ArrayLike,
    arm_angle: ArrayLike,
    lash: ArrayLike,
    tappet_setback: ArrayLike,
    tappet_angle: ArrayLike,
    tappet_position: ArrayLike,
) -> FloatArray:
    """Planar pushrod length [m] that sets this lash with the lower ball at `tappet_position` [m] on its line.

    The inverse of `closed_position`; NaN where the pad arm cannot reach the tip.
    """
    pad_angle = closed_pad_angle(height=height, pad_arm=pad_arm, pad_radius=pad_radius, lash=lash)
    between, line, lean, position = floats(arm_angle, tappet_setback, tappet_angle, tappet_position)
    lever = positive("socket_arm", socket_arm)
    across, along = _socket_from_line(lever, pad_angle + between, line, lean)
    return np.asarray(np.hypot(across, along - position))


def _socket_from_line(
    lever: FloatArray, socket_angle: FloatArray, line: FloatArray, lean: FloatArray | float
) -> tuple[FloatArray, FloatArray]:
    """Upper ball seen from the tappet's line: across it (positive toward the valve) and along it."""
    turned = socket_angle - lean
    return np.asarray(line + lever * np.cos(turned)), np.asarray(lever * np.sin(turned))


def _pushrod_side(closed: ClosedPosition) -> PushrodSide:
    lever, line, rod, depth, arm, between, lean, socket_angle = (
        with_angle_axis(one)
        for one in (
            closed.socket_arm,
            closed.tappet_setback,
            closed.pushrod_planar_length,
            -closed.tappet_position,
            closed.pad_arm,
            closed.arm_angle,
            closed.tappet_angle,
            closed.socket_angle,
        )
    )
    # On the other branch of assembly a rising tappet would close the valve: no rocker is built so.
    turned = socket_angle - lean
    right_way = line * np.sin(turned) - depth * np.cos(turned) > 0
    return PushrodSide(lever, np.where(right_way, rod, np.nan), line, depth, lean - between, arm)


def rocker_turn(closed: ClosedPosition, tappet_lift: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """How far the rocker has turned in the opening direction [rad], and that per tappet rise [rad/m].

    Needs the pushrod's side and the closed pad angle only, so it serves pads of any shape. `tappet_lift` [m]
    of shape [..., n]; returns two arrays [..., n], NaN at and beyond a lock.
    """
    swing = arm_swing(_pushrod_side(closed), np.atleast_1d(np.asarray(tappet_lift, float)))
    possible = swing.above > 0
    turn = with_angle_axis(closed.pad_angle) - np.arctan2(swing.sine, swing.cosine)
    return np.where(possible, turn, np.nan), np.where(possible, swing.rate, np.nan)


def pad_drop(closed: ClosedPosition, tappet_lift: ArrayLike) -> FloatArray:
    """Pad drop [m] alone, [..., n]: the leanest path. Inputs and NaN as in `pad_drop_and_ratio`."""
    lift = np.atleast_1d(np.asarray(tappet_lift, float))
    return pad_fall(_pushrod_side(closed), lift, with_ratio=False)[0]


def pad_drop_and_ratio(closed: ClosedPosition, tappet_lift: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Pad drop [m] and ratio d(pad drop)/d(tappet rise), each [..., n]: the lean path for large arrays.

    Args:
        closed: from `closed_position`, shape [...].
        tappet_lift: rise off the base circle [m], shape [..., n] or broadcastable with it.

    Returns:
        NaN where the linkage cannot be: at and past a lock, or the pad arm past straight down.
    """
    lift = np.atleast_1d(np.asarray(tappet_lift, float))
    drop, ratio = pad_fall(_pushrod_side(closed), lift, with_ratio=True)
    assert ratio is not None  # asked for
    return drop, ratio


def swung(closed: ClosedPosition, tappet_lift: ArrayLike, *, splay: ArrayLike = 0.0) -> Swing:
    """The rocker at each tappet lift.

    Args:
        closed: from `closed_position`, shape [...].
        tappet_lift: rise off the base circle [m], shape [..., n] or broadcastable with it.
        splay: offset of one end of the pushrod from the other out of the rocker's plane [m], shape [...];
            it enters the two pushrod angles only (the motion has it through the planar length).
    """
    lift = np.atleast_1d(np.asarray(tappet_lift, float))
    side = _pushrod_side(closed)
    drop, ratio = pad_fall(side, lift, with_ratio=True)
    swing = arm_swing(side, lift)
    impossible = np.isnan(drop)
    out = with_angle_axis(splay)
    # The pushrod's planar part along the socket arm and square to it: upper ball from the shaft over the arm.
    away, up = (side.line - swing.toward) / side.lever, (swing.above - side.depth + lift) / side.lever
    radial = swing.above * up - swing.toward * away
    normal = swing.toward * up + swing.above * away
    angle = np.arctan2(swing.sine, swing.cosine)
    contact = side.arm * swing.cosine - with_angle_axis(closed.setback)
    at_tappet = np.arctan2(np.hypot(swing.toward, out), swing.above)
    at_socket = np.arctan2(np.hypot(radial, out), np.abs(normal))
    for result in (angle, contact, at_tappet, at_socket):
        result[np.broadcast_to(impossible, result.shape)] = np.nan
    assert ratio is not None  # asked for
    return Swing(
        pad_angle=angle,
        pad_drop=drop,
        contact_x=contact,
        ratio=ratio,
        tappet_angle=at_tappet,
        socket_angle=at_socket,
    )


def tappet_lift_at_pad_drop(closed: ClosedPosition, pad_drop: ArrayLike) -> FloatArray:
    """Tappet rise off the base circle [m] at which the pad has come down by `pad_drop` [m]: `swung` inverted.

    `pad_drop` of shape [..., n]; returns [..., n], NaN where no rise brings the pad there.
    """
    pad_angle = pad_angle_at_pad_drop(
        height=closed.height,
        pad_arm=closed.pad_arm,
        pad_radius=closed.pad_radius,
        lash=closed.lash,
        pad_drop=pad_drop,
    )
    line, lean = with_angle_axis(closed.tappet_setback), with_angle_axis(closed.tappet_angle)
    turned = pad_angle + with_angle_axis(closed.arm_angle) - lean
    across, along = _socket_from_line(with_angle_axis(closed.socket_arm), turned, line, 0.0)
    rod = with_angle_axis(closed.pushrod_planar_length)
    with np.errstate(invalid="ignore"):
        position = along - np.sqrt((rod - across) * (rod + across))
        # Past the dead center the same drop belongs to the branch on which the tappet would close the valve.
        right_way = position * np.cos(turned) + line * np.sin(turned) > 0
    return np.where(right_way, position - with_angle_axis(closed.tappet_position), np.nan)
