"""An invented rigid train for the tests of loads: closure of the linkage and a closed-form lobe.

Written apart from the package so that the tests have a second route.
"""

import numpy as np

from valvetrain.mechanics.dynamics.train_loads import TrainCurves, TrainMasses, TrainShape

SETBACK, HEIGHT = 0.0385, 0.010
PAD_ARM, PAD_RADIUS = 0.038, 0.012
SOCKET_ARM, ARM_ANGLE = 0.025, np.radians(172.0)
PUSHROD, TAPPET_ANGLE = 0.240, np.radians(4.0)
TAPPET_SETBACK = 0.0250
LASH = 0.0005
HALF = np.radians(75.0)  # cam angle from the base circle to the nose
MASSES = TrainMasses(valve_side=0.190, rocker_inertia=7.0e-5, pushrod=0.075, tappet=0.100)
SHAPE = TrainShape(
    pad_arm=PAD_ARM,
    pad_radius=PAD_RADIUS,
    setback=SETBACK,
    tappet_angle=TAPPET_ANGLE,
    splay_angle=0.02,
    base_radius=0.015,
)


def lobe(angle, lift=0.0065, half=HALF):
    """Cycloidal rise and return, no dwell at the top: lift and two derivatives per cam radian; nose at 0."""
    u = np.clip(1.0 - np.abs(angle) / half, 0.0, 1.0)
    side = -np.sign(angle)
    s = lift * (u - np.sin(2 * np.pi * u) / (2 * np.pi))
    v = side * lift / half * (1.0 - np.cos(2 * np.pi * u))
    a = lift / half**2 * 2 * np.pi * np.sin(2 * np.pi * u)
    return s, v, a


def rocker_opening(s):
    """Pad angle, upper ball and lower ball for a tappet rise, by Newton on the pushrod's length."""
    s = np.asarray(s, float)
    closed = np.arcsin((PAD_RADIUS + LASH - HEIGHT) / PAD_ARM)
    along = np.array([-np.sin(TAPPET_ANGLE), np.cos(TAPPET_ANGLE)])
    across = np.array([-np.cos(TAPPET_ANGLE), -np.sin(TAPPET_ANGLE)])
    upper0 = SOCKET_ARM * np.array([np.cos(closed + ARM_ANGLE), np.sin(closed + ARM_ANGLE)])
    # The lower ball on the tappet's line below the closed upper ball, one pushrod away.
    base = TAPPET_SETBACK * across
    gap = upper0 - base
    depth = gap @ along - np.sqrt(PUSHROD**2 - (gap @ across) ** 2)
    lower = base + (depth + s)[..., None] * along
    phi = np.full(s.shape, closed)
    for _ in range(12):
        upper = SOCKET_ARM * np.stack([np.cos(phi + ARM_ANGLE), np.sin(phi + ARM_ANGLE)], -1)
        rod = upper - lower
        miss = np.hypot(rod[..., 0], rod[..., 1]) - PUSHROD
        turn = np.stack([-upper[..., 1], upper[..., 0]], -1)
        phi = phi - miss * PUSHROD / np.sum(rod * turn, -1)
    upper = SOCKET_ARM * np.stack([np.cos(phi + ARM_ANGLE), np.sin(phi + ARM_ANGLE)], -1)
    return phi, upper, lower


def pad_drop(s):
    phi, _, _ = rocker_opening(s)
    phi0, _, _ = rocker_opening(0.0)
    return PAD_ARM * (np.sin(phi0) - np.sin(phi))


def curves(angle):
    s, v, a = lobe(angle)
    phi, upper, lower = rocker_opening(s)
    rod = upper - lower
    e = 1e-5
    far = [pad_drop(s + k * e) for k in (-2, -1, 0, 1, 2)]
    ratio = (far[0] - 8 * far[1] + 8 * far[3] - far[4]) / (12 * e)
    slope = (-far[0] + 16 * far[1] - 30 * far[2] + 16 * far[3] - far[4]) / (12 * e * e)
    return TrainCurves(
        tappet_lift=s,
        tappet_velocity=v,
        tappet_acceleration=a,
        valve_lift=np.maximum(0.0, pad_drop(s) - LASH),
        ratio=ratio,
        ratio_slope=slope,
        pad_angle=phi,
        pushrod_angle=np.arctan2(-rod[..., 0], rod[..., 1]),
    )
