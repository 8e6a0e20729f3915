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
[...], tappet lift [..., n] with the angle last, results [..., n]. Source: derived (crossing of two circles,
law of cosines); tested against root finding on the constraint equations and a multibody library.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.allowed import floats, positive, with_angle_axis
from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.pad_side import closed_pad_angle, pad_angle_at_pad_drop

__all__ = [
    "ClosedPosition",
    "Swing",
    "closed_position",
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
) -> ClosedPosition:
    """Rocker on the base circle with its lash set. All inputs of shape [...] (broadcast); module frames.

    Raises:
        ValueError: an arm or the pushrod is zero, negative or infinite; a pad radius negative.
    """
    back, up, arm, radius, lever, between, gap, rod, line, lean = np.broadcast_arrays(
        *floats(setback, height, pad_arm, pad_radius, socket_arm, arm_angle, lash),
        *floats(pushrod_planar_length, tappet_setback, tappet_angle),
    )
    positive("socket_arm", lever)
    positive("pushrod_planar_length", rod)
    pad_angle = closed_pad_angle(height=up, pad_arm=arm, pad_radius=radius, lash=gap)
    socket_angle = pad_angle + between
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
        pad_angle=pad_angle,
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


def rocker_turn(closed: ClosedPosition, tappet_lift: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """How far the rocker has turned in the opening direction [rad], and that per tappet rise [rad/m].

    Needs the pushrod's side only, so it serves pads of any shape. `tappet_lift` [m] of shape [..., n];
    returns two arrays [..., n], NaN at and beyond a lock.
    """
    lever = with_angle_axis(closed.socket_arm)
    line = with_angle_axis(closed.tappet_setback)
    start = with_angle_axis(closed.tappet_position)
    rod = with_angle_axis(closed.pushrod_planar_length)
    # How far the lower ball is below the point of its line nearest the shaft.
    below = -start - np.asarray(tappet_lift, float)
    # On the other branch of assembly a rising tappet would close the valve: no rocker is built so.
    turned = with_angle_axis(closed.socket_angle - closed.tappet_angle)
    right_way = start * np.cos(turned) + line * np.sin(turned) > 0
    opening_start = np.where(right_way, _opening(-start, line, lever, rod)[0], np.nan)
    opening, rate = _opening(below, line, lever, rod)
    opening -= opening_start
    return opening, rate


def _opening(
    below: FloatArray, line: FloatArray, lever: FloatArray, rod: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Socket arm's angle, counted in the opening direction from an arbitrary zero, and its rate.

    The arm makes the angle gamma with the way from the shaft to the lower ball (law of cosines); that way
    itself turns as the ball rises.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        square = below * below + line * line
        distance = np.sqrt(square)
        cosine = square + (lever * lever - rod * rod)
        cosine *= 0.5 / lever
        cosine /= distance
        angle = np.arccos(cosine)
        angle -= np.arctan2(-line, below)
        # d(angle)/d(rise), from the differentiated law of cosines.
        cosine *= cosine
        np.subtract(1.0, cosine, out=cosine)
        np.sqrt(cosine, out=cosine)
        cosine *= distance
        rate = square + (rod * rod - lever * lever)
        rate *= 0.5 / lever
        rate /= cosine
        rate *= below
        rate += line
        rate /= square
    return angle, rate


def pad_drop_and_ratio(closed: ClosedPosition, tappet_lift: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Pad drop [m] and ratio d(pad drop)/d(tappet rise), each [..., n]: the lean path for large arrays.

    Args:
        closed: from `closed_position`, shape [...].
        tappet_lift: rise off the base circle [m], shape [..., n] or broadcastable with it.

    Returns:
        NaN where the linkage cannot be: at and past a lock, or the pad arm past straight down.
    """
    turn, rate = rocker_turn(closed, tappet_lift)
    return _pad_drop_and_ratio(closed, with_angle_axis(closed.pad_angle) - turn, rate)


def _pad_drop_and_ratio(
    closed: ClosedPosition, pad_angle: FloatArray, rate: FloatArray
) -> tuple[FloatArray, FloatArray]:
    arm = with_angle_axis(closed.pad_arm)
    drop = np.sin(pad_angle)
    np.subtract(np.sin(with_angle_axis(closed.pad_angle)), drop, out=drop)
    drop *= arm
    ratio = np.cos(pad_angle)
    ratio *= rate
    ratio *= arm
    # A ratio that is not above zero means the pushrod lies flat or the pad arm hangs past straight down.
    impossible = ~(ratio > 0)
    if impossible.any():
        drop[impossible] = np.nan
        ratio[impossible] = np.nan
    return drop, ratio


def swung(closed: ClosedPosition, tappet_lift: ArrayLike, *, splay: ArrayLike = 0.0) -> Swing:
    """The rocker at each tappet lift.

    Args:
        closed: from `closed_position`, shape [...].
        tappet_lift: rise off the base circle [m], shape [..., n] or broadcastable with it.
        splay: offset of one end of the pushrod from the other out of the rocker's plane [m], shape [...];
            it enters the two pushrod angles only (the motion has it through the planar length).
    """
    turn, rate = rocker_turn(closed, tappet_lift)
    pad_angle = with_angle_axis(closed.pad_angle) - turn
    drop, ratio = _pad_drop_and_ratio(closed, pad_angle, rate)
    pad_angle = np.where(np.isnan(drop), np.nan, pad_angle)
    lever, line, out, between, lean = (
        with_angle_axis(one)
        for one in (
            closed.socket_arm,
            closed.tappet_setback,
            splay,
            closed.arm_angle,
            closed.tappet_angle,
        )
    )
    across, along = _socket_from_line(lever, pad_angle + between, line, lean)
    along_bore = along - with_angle_axis(closed.tappet_position) - np.asarray(tappet_lift, float)
    # The pushrod's planar component along the socket arm, and square to it.
    turned = pad_angle + between - lean
    radial = across * np.cos(turned) + along_bore * np.sin(turned)
    normal = across * np.sin(turned) - along_bore * np.cos(turned)
    return Swing(
        pad_angle=pad_angle,
        pad_drop=drop,
        contact_x=with_angle_axis(closed.pad_arm) * np.cos(pad_angle) - with_angle_axis(closed.setback),
        ratio=ratio,
        tappet_angle=np.arctan2(np.hypot(across, out), along_bore),
        socket_angle=np.arctan2(np.hypot(radial, out), np.abs(normal)),
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
