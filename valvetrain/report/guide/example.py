"""The engine that the guide's drawings are of: invented, and set in motion by the model. Lengths in mm."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.motion_laws import motion_law
from valvetrain.mechanics.contact.flat_follower import cam_profile
from valvetrain.mechanics.rocker.linkage import ClosedPosition, closed_position, swung
from valvetrain.mechanics.rocker.sweep import sweep

__all__ = ["EXAMPLE", "Example", "Side", "at_lift", "lobe_motion", "lobe_outline", "witness_band"]


@dataclass(frozen=True)
class Example:
    """Sizes of the invented engine [mm, rad]."""

    setback: float = 32.0
    height: float = 9.0
    pad_arm: float = 32.4
    pad_radius: float = 13.0
    socket_arm: float = 21.5
    arm_angle: float = np.radians(172.0)
    pushrod: float = 95.0
    tappet_setback: float = 21.2
    tappet_angle: float = np.radians(4.0)
    shaft_radius: float = 10.0
    stem_radius: float = 4.5
    chamfer: float = 0.8
    lobe_lift: float = 6.6
    base_radius: float = 18.0
    lash: float = 0.4


EXAMPLE = Example()


@dataclass(frozen=True)
class Side:
    """The rocker in its plane at one lift, origin at the closed tip's center [mm]."""

    shaft: tuple[float, float]
    pad: tuple[float, float]
    socket: tuple[float, float]
    tappet: tuple[float, float]
    tip: float
    contact: float


def _closed(lash: float) -> ClosedPosition:
    e = EXAMPLE
    return closed_position(
        setback=e.setback,
        height=e.height,
        pad_arm=e.pad_arm,
        pad_radius=e.pad_radius,
        socket_arm=e.socket_arm,
        arm_angle=e.arm_angle,
        lash=lash,
        pushrod_planar_length=e.pushrod,
        tappet_setback=e.tappet_setback,
        tappet_angle=e.tappet_angle,
    )


def at_lift(tappet_lift: float = 0.0, lash: float = 0.0) -> Side:
    """Return where everything is at a tappet lift [mm], with a lash that may be drawn larger than life."""
    e, closed = EXAMPLE, _closed(lash)
    swing = swung(closed, [tappet_lift])
    turn = float(swing.pad_angle[0])
    shaft = (-e.setback, e.height)
    lift = max(float(swing.pad_drop[0]) - lash, 0.0)
    lean = e.tappet_angle
    return Side(
        shaft,
        (shaft[0] + e.pad_arm * np.cos(turn), shaft[1] + e.pad_arm * np.sin(turn)),
        (
            shaft[0] + e.socket_arm * np.cos(turn + e.arm_angle),
            shaft[1] + e.socket_arm * np.sin(turn + e.arm_angle),
        ),
        (
            float(closed.tappet_x) - tappet_lift * np.sin(lean),
            float(closed.tappet_y) + tappet_lift * np.cos(lean),
        ),
        -lift,
        float(swing.contact_x[0]),
    )


def witness_band(height: float) -> tuple[float, float]:
    """Return the near and far edge of the band on the tip [mm], from the stem axis, for a shaft height."""
    e = EXAMPLE
    lift = -at_lift(e.lobe_lift, e.lash).tip
    band = sweep(setback=e.setback, height=height, pad_arm=e.pad_arm, pad_radius=e.pad_radius, net_lift=lift)
    return float(band.least), float(band.greatest)


def lobe_motion(angle: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return lift [mm] and its slope [mm/rad] at cam angles [rad] from the nose: 78 degrees a side."""
    span = np.radians(78.0)
    lift, velocity, *_ = motion_law("3-4-5 polynomial")(np.clip(1.0 - np.abs(angle) / span, 0.0, 1.0))
    slope = -np.sign(angle) * velocity * EXAMPLE.lobe_lift / span * (np.abs(angle) < span)
    return lift * EXAMPLE.lobe_lift, slope


def lobe_outline() -> tuple[FloatArray, FloatArray]:
    """Return the lobe's outline [mm], its nose upward."""
    angle = np.linspace(-np.pi, np.pi, 361)
    lift, slope = lobe_motion(angle)
    return cam_profile(angle + np.pi / 2, EXAMPLE.base_radius, lift, slope)
