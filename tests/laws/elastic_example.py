"""An invented elastic train and its lobe, for the tests and the benchmark."""

import numpy as np

from valvetrain.mechanics.dynamics.elastic_train import reduced_train

RATIO = 1.5
HALF = np.radians(75.0)
LIFT = 0.0065
PARTS = {
    "tappet_mass": 0.100,
    "pushrod_mass": 0.075,
    "rocker_inertia": 7e-5,
    "pad_arm": 0.038,
    "valve_mass": 0.170,
    "spring_mass": 0.080,
    "ratio": RATIO,
    "lobe_stiffness": 6e7,
    "pushrod_stiffness": 3e7,
    "tip_stiffness": 2e7,
    "seat_stiffness": 6e7,
    "spring_rate": 45e3,
    "seat_load": 360.0,
    "lash": 0.0005,
}


def train(**changes):
    return reduced_train(**{**PARTS, **changes})


def pad_drop(angle):
    """Cycloidal rise and return times the ratio; angle 0 is half a turn before the nose."""
    angle = np.mod(angle, 2 * np.pi) - np.pi
    u = np.clip(1.0 - np.abs(angle) / HALF, 0.0, 1.0)
    return RATIO * LIFT * (u - np.sin(2 * np.pi * u) / (2 * np.pi))


def pad_velocity(angle):
    angle = np.mod(angle, 2 * np.pi) - np.pi
    u = np.clip(1.0 - np.abs(angle) / HALF, 0.0, 1.0)
    return -np.sign(angle) * RATIO * LIFT / HALF * (1.0 - np.cos(2 * np.pi * u))


def around(count):
    """Pad drop and its derivative at even cam angles, the end left out."""
    angle = np.arange(count) * 2 * np.pi / count
    return pad_drop(angle), pad_velocity(angle)
