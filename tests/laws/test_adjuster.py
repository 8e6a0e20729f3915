"""The adjuster screw: length and exposure there and back, and against the ball's own coordinates."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valvetrain.mechanics.pushrod.adjuster import adjusted, exposure_change_for, planar_length_at
from valvetrain.mechanics.rocker.height_ledger import exposure_rates
from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop
from valvetrain.mechanics.rocker.stand_shims import shimmed
from valvetrain.mechanics.rocker.tip_change import tip_raised

ROCKER = {
    "setback": 0.0303,
    "height": 0.0080,
    "pad_arm": 0.0305,
    "pad_radius": 0.0127,
    "socket_arm": 0.0203,
    "arm_angle": np.radians(171.0),
    "lash": 0.0005,
    "pushrod_planar_length": 0.244,
    "tappet_setback": 0.0202,
    "tappet_angle": np.radians(3.0),
}


@given(change=st.floats(-0.006, 0.006), lean=st.floats(-0.3, 0.3))
@settings(max_examples=60, deadline=None)
def test_length_for_an_exposure_and_back(change, lean):
    closed = closed_position(**ROCKER)
    length = planar_length_at(closed, change, lean)
    assert exposure_change_for(closed, length, lean) == pytest.approx(change, abs=1e-12)


@given(change=st.floats(-0.006, 0.006), lean=st.floats(-0.3, 0.3))
@settings(max_examples=40, deadline=None)
def test_tappet_and_pad_stay_where_they_were(change, lean):
    closed = closed_position(**ROCKER)
    after = adjusted(closed, change, lean)
    for name in ("tappet_x", "tappet_y", "pad_angle"):
        assert getattr(after, name) == pytest.approx(float(getattr(closed, name)), abs=1e-12)
    moved = np.hypot(after.socket_x - closed.socket_x, after.socket_y - closed.socket_y)
    assert moved == pytest.approx(abs(change), abs=1e-12)


def test_more_thread_means_a_shorter_pushrod_and_a_lower_ball():
    closed = closed_position(**ROCKER)
    assert planar_length_at(closed, 0.002) < closed.pushrod_planar_length
    assert adjusted(closed, 0.002).socket_y < closed.socket_y


def test_adjuster_position_changes_the_true_ratio():
    closed = closed_position(**ROCKER)
    lift = np.array([0.0065])
    assert pad_drop(adjusted(closed, -0.004), lift)[0] > 1.02 * pad_drop(adjusted(closed, 0.004), lift)[0]


@pytest.mark.parametrize("lean", [0.0, 0.15])
def test_exposure_rates_are_the_derivatives_of_the_whole_linkage(lean):
    closed = closed_position(**ROCKER)
    rates = exposure_rates(closed, lean)
    step = 1e-6

    def exposure(after):
        """Exposure change that keeps the pushrod, after shaft or tip have moved."""
        return exposure_change_for(after, closed.pushrod_planar_length, lean)

    # The tip lowered by the step: the shaft stands that much higher over it.
    by_rise = (exposure(tip_raised(closed, -step)) - exposure(tip_raised(closed, step))) / (2 * step)
    assert by_rise == pytest.approx(float(rates.by_rise), rel=1e-6)
    # Shaft and tip raised together, along the bore: reach alone.
    up = np.cos(closed.tappet_angle)
    both = [exposure(tip_raised(shimmed(closed, way * step), way * step)) for way in (1.0, -1.0)]
    aside = ROCKER["tappet_angle"]
    by_reach = (both[0] - both[1]) / (2 * step)
    # A vertical move has a part square to a leaning bore, which turns the pushrod a little.
    x = float(closed.socket_x - closed.tappet_x) / ROCKER["pushrod_planar_length"]
    y = float(closed.socket_y - closed.tappet_y) / ROCKER["pushrod_planar_length"]
    expected = float(rates.by_reach) * y / (-np.sin(aside) * x + up * y)
    assert by_reach == pytest.approx(expected, rel=1e-6)
