"""Shigley & Uicker, Theory of Machines and Mechanisms: jump of a flat follower on an eccentric cam.

Status: memory; the formula was derived again (below), the book was not seen.
"""

import numpy as np
import pytest

from valvetrain.mechanics.dynamics.control_limit import control_limit, lobe_terms
from valvetrain.mechanics.dynamics.train_loads import TrainCurves, TrainMasses
from valvetrain.mechanics.dynamics.vibration import eccentric_jump_speed


@pytest.mark.parametrize(
    ("mass", "rate", "preload", "eccentricity"),
    [(0.5, 20e3, 100.0, 0.005), (1.2, 5e3, 0.0, 0.02)],
    ids=["preloaded", "no preload"],
)
def test_force_is_zero_at_the_top_at_the_jump_speed(mass, rate, preload, eccentricity):
    speed = eccentric_jump_speed(mass, rate, preload, eccentricity)
    theta = np.linspace(0, 2 * np.pi, 3601)
    rise = eccentricity * (1 - np.cos(theta))
    force = preload + rate * rise + mass * speed**2 * eccentricity * np.cos(theta)
    assert force.min() == pytest.approx(0.0, abs=1e-9 * force.max())
    assert theta[np.argmin(force)] == pytest.approx(np.pi)


def test_control_limit_of_a_train_agrees():
    """A train of ratio 1 with everything but the valve and its spring almost massless is that follower."""
    theta = np.linspace(0, 2 * np.pi, 721)
    e, mass, rate, preload = 0.005, 0.5, 20e3, 100.0
    flat = np.zeros_like(theta)
    curves = TrainCurves(
        tappet_lift=e * (1 - np.cos(theta)),
        tappet_velocity=e * np.sin(theta),
        tappet_acceleration=e * np.cos(theta),
        valve_lift=e * (1 - np.cos(theta)),
        ratio=flat + 1.0,
        ratio_slope=flat,
        pad_angle=flat,
        pushrod_angle=flat,
    )
    limit = control_limit(
        lobe_terms(curves, 0.04), theta, TrainMasses(mass, 1e-15, 1e-12, 1e-12), preload, rate
    )
    assert limit.speed == pytest.approx(eccentric_jump_speed(mass, rate, preload, e), rel=1e-9)
    assert limit.angle == pytest.approx(np.pi, abs=1e-9)


def test_the_spring_must_press():
    with pytest.raises(ValueError, match="must be zero or more"):
        eccentric_jump_speed(1.0, 0.0, -1.0, 0.01)
