"""The stated doubt of a fitted table's acceleration covers what the fit misses; a rocker's inertia."""

import numpy as np
import pytest

from valvetrain.mechanics.cam.acceleration_doubt import table_acceleration_doubt
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS
from valvetrain.mechanics.dynamics.mass_estimates import rocker_inertia_from_mass

LIFT, NOISE = 0.0064, 6e-6
AROUND = np.linspace(-1.5, 1.5, 1201)


def leaving(curve):
    """What the acceleration makes of a control limit: least of spring force over deceleration."""
    lift, acceleration = curve.lift(AROUND), curve.acceleration(AROUND)
    off = (acceleration < 0) & (lift > 0.0005)
    return ((300.0 + 60e3 * lift[off]) / -acceleration[off]).min()


def test_stated_doubt_covers_what_the_fit_misses():
    rng = np.random.default_rng(20)
    shares = []
    for law in MOTION_LAWS:
        for step, rise in ((2.0, 61.0), (4.0, 69.0), (6.0, 64.0), (10.0, 72.0)):
            ramp = (0.0004, np.radians(22.0))
            lobe = LawLobe(law, LIFT, np.radians(rise), np.radians(rise + 2.0), 0.0, *ramp, *ramp)
            true = lift_curve_from_law(lobe)
            angle = np.radians(np.arange(-180.0, 180.0, step) + rng.uniform(0.0, 0.4 * step))
            reading = true.lift(angle) + rng.normal(0.0, NOISE, angle.size)
            missed = leaving(true) / leaving(lift_curve_from_table(angle, reading)) - 1.0
            shares.append(missed / table_acceleration_doubt(np.radians(step), NOISE, LIFT))
    shares = np.array(shares)
    assert np.mean(np.abs(shares) <= 2.0) >= 0.9
    # and is not so wide that it says nothing
    assert 0.4 < np.sqrt(np.mean(shares**2)) < 1.5


def test_doubt_grows_with_step_and_noise():
    fine, coarse = (table_acceleration_doubt(np.radians(step), 5e-6, LIFT) for step in (2.0, 8.0))
    noisy = table_acceleration_doubt(np.radians(2.0), 1e-4, LIFT)
    assert fine < coarse
    assert fine < noisy


@pytest.mark.parametrize(("step", "lift"), [(0.0, 0.006), (-0.1, 0.006), (0.03, 0.0), (0.03, -0.001)])
def test_impossible_tables_are_refused(step, lift):
    with pytest.raises(ValueError, match="greater than zero"):
        table_acceleration_doubt(step, 1e-6, lift)


def test_rocker_inertia_from_mass_is_that_of_two_tapered_arms():
    """By summing slices of the arms, each tapering to half its section at its end."""
    pad, socket, mass = 0.038, 0.025, 0.14
    slices = [(np.arange(20000) + 0.5) / 20000 * arm for arm in (pad, socket)]
    weight = [(1.0 - x / (2.0 * arm)) * arm for x, arm in zip(slices, (pad, socket), strict=True)]
    total = sum(w.sum() for w in weight)
    inertia = sum((w * x**2).sum() for w, x in zip(weight, slices, strict=True)) * mass / total
    assert rocker_inertia_from_mass(mass, pad, socket).value == pytest.approx(inertia, rel=1e-6)
