"""Peak factors of the motion laws.

Source: R. L. Norton, *Design of Machinery*, cam design, table of peak factors.
Status: memory. Its printed 4.945, 5.777 and 7.526 for simple harmonic, 3-4-5 and 4-5-6-7 acceleration are not
exact; the exact figures below were derived from the closed forms, and the test is against those.
"""

from math import inf, pi, sqrt

import numpy as np
import pytest

from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS, motion_law

# law: Cv, Ca, Cj (exact), and the u at which the acceleration peaks
FACTORS = {
    "constant acceleration": (2, 4, inf, 0.25),
    "simple harmonic": (pi / 2, pi**2 / 2, inf, 0.0),
    "cycloidal": (2, 2 * pi, 4 * pi**2, 0.25),
    "modified trapezoid": (2, 8 * pi / (2 + pi), 32 * pi**2 / (2 + pi), 0.25),
    "modified sine": (4 * pi / (4 + pi), 4 * pi**2 / (4 + pi), 16 * pi**3 / (4 + pi), 0.125),
    "3-4-5 polynomial": (15 / 8, 10 / sqrt(3), 60, 0.5 - sqrt(3) / 6),
    "4-5-6-7 polynomial": (35 / 16, 84 * sqrt(5) / 25, 52.5, 0.5 - sqrt(5) / 10),
}
PRINTED_ACCELERATION = {"simple harmonic": 4.945, "3-4-5 polynomial": 5.777, "4-5-6-7 polynomial": 7.526}


def test_every_law_has_its_row():
    assert set(FACTORS) == set(MOTION_LAWS)


@pytest.mark.parametrize("name", FACTORS)
def test_curve_reaches_the_factors(name):
    velocity, acceleration, jerk, peak_at = FACTORS[name]
    u = np.linspace(0, 1, 20001)
    _, v, a, j = motion_law(name)(u)
    assert v.max() == pytest.approx(velocity, rel=2e-7)
    assert np.abs(a).max() == pytest.approx(acceleration, rel=2e-7)
    assert motion_law(name)(peak_at)[2] == pytest.approx(acceleration, rel=2e-7)
    if np.isfinite(jerk):
        assert np.abs(j).max() == pytest.approx(jerk, rel=2e-7)
    law = motion_law(name)
    assert (law.velocity_factor, law.acceleration_factor) == pytest.approx((velocity, acceleration), rel=2e-7)
    assert law.jerk_factor == pytest.approx(jerk, rel=2e-7)


def test_jerk_at_half_rise():
    assert motion_law("modified sine")(0.5)[3] == pytest.approx(-23.15545, abs=5e-6)
    assert motion_law("3-4-5 polynomial")(0.5)[3] == pytest.approx(-30, abs=1e-12)
    assert motion_law("4-5-6-7 polynomial")(0.5)[3] == pytest.approx(-52.5, abs=1e-12)
    assert motion_law("4-5-6-7 polynomial")(np.linspace(0, 1, 20001))[3].max() == pytest.approx(42, abs=1e-5)


@pytest.mark.parametrize("name", PRINTED_ACCELERATION)
def test_printed_factor_is_near_but_not_exact(name):
    off = motion_law(name).acceleration_factor / PRINTED_ACCELERATION[name] - 1
    assert 1e-5 < abs(off) < 3e-3
