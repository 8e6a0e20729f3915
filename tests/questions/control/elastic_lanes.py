"""Invented trains for the elastic onsets, none a sample's: a 3-4-5 lobe, its mass and doubts as wished."""

import numpy as np

from valvetrain.questions.control.elastic_lane import ANGLES, Lane
from valvetrain.questions.control.train_stiffness import TrainStiffness

INPUTS = {
    "tappet_mass": 0.080,
    "pushrod_mass": 0.060,
    "rocker_inertia": 6e-5,
    "pad_arm": 0.035,
    "valve_mass": 0.140,
    "spring_mass": 0.070,
    "ratio": 1.4,
    "lobe_stiffness": 5e7,
    "pushrod_stiffness": 2.5e7,
    "tip_stiffness": 1.2e7,
    "seat_stiffness": 5e7,
    "spring_rate": 38e3,
    "seat_load": 310.0,
    "lash": 0.0004,
    "damping_ratio": 0.1,
}
SHARES = {
    "damping_ratio": 0.25,
    "tip_stiffness": 0.2,
    "lobe_stiffness": 0.3,
    "seat_stiffness": 0.3,
    "seat_load": 0.02,
    "spring_rate": 0.02,
    "valve_mass": 0.01,
    "spring_mass": 0.02,
    "rocker_inertia": 0.1,
    "follower_mass": 0.03,
    "lash": 0.05,
}
MASSES = ("tappet_mass", "pushrod_mass", "rocker_inertia", "valve_mass", "spring_mass")


def lane(mass=1.0, doubt=1.0, shape=0.0, **changes):
    """A train with all masses times `mass`, all uncertainties times `doubt`."""
    inputs = {key: value * (mass if key in MASSES else 1.0) for key, value in (INPUTS | changes).items()}
    own = inputs | {"follower_mass": inputs["tappet_mass"]}
    spread = {key: doubt * share * own[key] for key, share in SHARES.items()}
    angle = (np.arange(ANGLES) * 2.0 / ANGLES - 1.0) * np.pi
    half, lift = np.radians(80.0), 0.0095
    u = np.clip(1.0 - np.abs(angle) / half, 0.0, 1.0)
    drop = lift * (10 * u**3 - 15 * u**4 + 6 * u**5)
    slope = -np.sign(angle) * lift / half * 30 * u**2 * (1 - u) ** 2
    unknown = TrainStiffness(*(np.nan,) * 7, "given", "")
    return Lane("intake", "1I", unknown, inputs, spread, drop, slope, shape)
