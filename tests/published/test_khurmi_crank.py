"""Khurmi & Gupta, *Theory of Machines*, example 15.5, p. 528 (seen in a public re-keying of its examples).

r 150 mm, l 600 mm, 450 rpm, 60 degrees from top dead center. The book prints 6.9 m/s and 124.91 m/s^2 from
the usual approximation; the exact values, recomputed apart (status: derived), are 6.9054 and 124.949. The
table of drops is derived: stroke 88.392, rod 144.78 mm.
"""

import numpy as np
import pytest

from valvetrain.mechanics.piston.crank_slider import piston_acceleration, piston_drop, piston_velocity

KHURMI = {"stroke": 0.3, "rod_length": 0.6, "crank_angle": np.deg2rad(60), "speed": 450 * 2 * np.pi / 60}


def test_velocity():
    assert piston_velocity(**KHURMI) == pytest.approx(6.9054, abs=5e-5)
    assert round(float(piston_velocity(**KHURMI)), 1) == 6.9  # as printed


def test_acceleration():
    assert piston_acceleration(**KHURMI) == pytest.approx(124.949, abs=5e-4)
    # The printed value is the approximation's: within its first neglected term, (r/l)^3 of w^2 r.
    assert piston_acceleration(**KHURMI) == pytest.approx(124.91, abs=0.05)


@pytest.mark.parametrize(("degrees", "drop_mm"), [(5, 0.2194), (10, 0.8750), (20, 3.4566), (90, 51.1066)])
def test_drop_after_top_dead_center(degrees, drop_mm):
    drop = piston_drop(np.deg2rad(degrees), 88.392e-3, 144.78e-3)
    assert drop == pytest.approx(drop_mm * 1e-3, abs=5.1e-8)


def test_velocity_and_acceleration_are_the_slopes_of_the_drop():
    t = np.linspace(0, 2 * np.pi, 181)
    h = 1e-4
    link = (0.09, 0.15)
    slope = (piston_drop(t + h, *link) - piston_drop(t - h, *link)) / (2 * h)
    assert piston_velocity(t, *link) == pytest.approx(slope, abs=1e-9)
    slope = (piston_velocity(t + h, *link) - piston_velocity(t - h, *link)) / (2 * h)
    assert piston_acceleration(t, *link, speed=3.0) == pytest.approx(9 * slope, abs=1e-8)


def test_ends_of_the_stroke_symmetry_and_long_rod():
    t = np.linspace(0, np.pi, 37)
    assert piston_drop([0, np.pi], 0.09, 0.15) == pytest.approx([0.0, 0.09])
    assert piston_drop(t, 0.09, 0.15) == pytest.approx(piston_drop(-t, 0.09, 0.15))
    assert piston_drop(t, 0.09, 1e6) == pytest.approx(0.045 * (1 - np.cos(t)), abs=2e-9)


def test_unknown_stays_unknown_and_bad_links_are_named():
    assert np.isnan(piston_drop(1.0, np.nan, 0.15))
    with pytest.raises(ValueError, match="rod length"):
        piston_drop(1.0, 0.09, 0.045)
    with pytest.raises(ValueError, match="stroke"):
        piston_drop(1.0, 0.0, 0.045)
