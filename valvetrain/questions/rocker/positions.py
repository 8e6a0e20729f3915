"""Where the rocker stands at the moments that a drawing shows: closed, half lift and full lift."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.rocker.linkage import tappet_lift_at_pad_drop
from valvetrain.mechanics.rocker.pad_side import contact_at_pad_drop, pad_angle_at_pad_drop
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Setup

__all__ = ["RockerPositions", "rocker_positions_study"]


@dataclass(frozen=True)
class RockerPositions:
    """The rocker at every valve, in that valve's own frame, closed, at half and at full net lift [m, rad].

    Arrays of shape [valves, 3] in that order, [valves] where a thing does not move. NaN where a measurement
    that it needs is missing. "Closed" has the lash open: the pad stands off the tip.

    Attributes:
        shaft_x, shaft_y: the shaft's axis, [valves].
        tip_y: the valve's tip: 0, then minus half and minus all of the net lift.
        pad_angle: of the pad arm from +x.
        pad_x, pad_y: center of the pad's radius.
        socket_x, socket_y: the pushrod's upper ball.
        tappet_x, tappet_y: its lower ball.
        contact_x: pad on tip, from the stem axis, positive away from the shaft: with the lash just taken up,
            at half and at full lift.
    """

    valves: tuple[str, ...]
    shaft_x: FloatArray
    shaft_y: FloatArray
    tip_y: FloatArray
    pad_angle: FloatArray
    pad_x: FloatArray
    pad_y: FloatArray
    socket_x: FloatArray
    socket_y: FloatArray
    tappet_x: FloatArray
    tappet_y: FloatArray
    contact_x: FloatArray


def rocker_positions_study(setup: Setup, rocker: RockerResult) -> RockerPositions:
    """Place every rocker, with the lash and the net lift of the rocker study."""
    rows = {key: column.value for key, column in linkage_columns(setup).items()}
    lash, net = rocker.lash.value, rocker.net_lift.value
    lift = net[:, np.newaxis] * np.array([0.0, 0.5, 1.0])
    open_by = lash[:, np.newaxis] + lift
    # On the base circle the lash is open; from opening on, the pad is down by the lash and the lift.
    drop = np.where(lift > 0, open_by, 0.0 * open_by)
    pad = {
        "height": height_over_tip(rows),
        "pad_arm": rows["rocker.pad_arm"],
        "pad_radius": rows["rocker.pad_radius"],
        "lash": lash,
    }
    pad_angle = pad_angle_at_pad_drop(pad_drop=drop, **pad)
    closed = closed_linkage(rows, lash)
    with np.errstate(invalid="ignore"):
        rise = tappet_lift_at_pad_drop(closed, drop)
    shaft_x, shaft_y = -rows["shaft.setback"], pad["height"]

    def from_shaft(arm: str, angle: FloatArray) -> tuple[FloatArray, FloatArray]:
        length = rows[arm][:, np.newaxis]
        x = shaft_x[:, np.newaxis] + length * np.cos(angle)
        return np.asarray(x), np.asarray(shaft_y[:, np.newaxis] + length * np.sin(angle))

    pad_x, pad_y = from_shaft("rocker.pad_arm", pad_angle)
    socket_x, socket_y = from_shaft("rocker.socket_arm", pad_angle + rows["rocker.arm_angle"][:, np.newaxis])
    lean = closed.tappet_angle[:, np.newaxis]
    return RockerPositions(
        valves=setup.valves,
        shaft_x=shaft_x,
        shaft_y=shaft_y,
        tip_y=-lift,
        pad_angle=pad_angle,
        pad_x=pad_x,
        pad_y=pad_y,
        socket_x=socket_x,
        socket_y=socket_y,
        tappet_x=closed.tappet_x[:, np.newaxis] - rise * np.sin(lean),
        tappet_y=closed.tappet_y[:, np.newaxis] + rise * np.cos(lean),
        contact_x=contact_at_pad_drop(setback=rows["shaft.setback"], pad_drop=open_by, **pad),
    )
