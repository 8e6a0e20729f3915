"""Lash against the ramps of closed-form lobes whose ramps are known."""

import numpy as np
import pytest

from valvetrain.mechanics.cam.lash_ramp import (
    adjuster_turns,
    detected_ramps,
    lash_contact,
    lash_from_turns,
    lash_window,
    ramp_left,
)
from valvetrain.mechanics.cam.law_lobe import BLEND_FRACTION, LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS

OPENING, CLOSING = (0.30e-3, 0.40), (0.40e-3, 0.55)


def lobe(name="modified sine"):
    return LawLobe(name, 7.6e-3, 1.15, 1.2, 0.0, *OPENING, *CLOSING)


@pytest.mark.parametrize(
    "name", ["modified sine", "modified trapezoid", "3-4-5 polynomial", "simple harmonic"]
)
def test_ramp_ends_are_found(name):
    made = lobe(name)
    curve = lift_curve_from_law(made)
    ramps = detected_ramps(curve, fraction=0.02)
    assert ramps.opening_end == pytest.approx(made.edges[1] - curve.center, abs=0.012)
    assert ramps.closing_end == pytest.approx(made.edges[4] - curve.center, abs=0.012)
    assert ramps.opening_height == pytest.approx(OPENING[0], rel=0.05)
    assert ramps.closing_height == pytest.approx(CLOSING[0], rel=0.05)
    assert detected_ramps(curve, fraction=0.2).opening_end >= ramps.opening_end


def test_ramp_ends_from_noisy_readings():
    made = lobe()
    angle = np.radians(np.arange(0, 360, 5.0))
    rng = np.random.default_rng(1)
    curve = lift_curve_from_table(angle, made.curves(angle)[0] + 12.7e-6 * rng.standard_normal(angle.size))
    ramps = detected_ramps(curve)
    assert ramps.opening_end + curve.center == pytest.approx(made.edges[1], abs=np.radians(5))
    assert ramps.closing_end + curve.center == pytest.approx(made.edges[4], abs=np.radians(5))


@pytest.mark.parametrize("name", sorted(MOTION_LAWS))
def test_velocity_on_the_ramp_is_its_constant_one(name):
    curve = lift_curve_from_law(lobe(name))
    contact = lash_contact(curve, [0.1e-3, 0.2e-3, 0.29e-3], OPENING[0], CLOSING[0])
    opening = OPENING[0] / (OPENING[1] * (1 - BLEND_FRACTION / 2))
    closing = CLOSING[0] / (CLOSING[1] * (1 - BLEND_FRACTION / 2))
    np.testing.assert_allclose(contact.opening_velocity, opening, rtol=1e-6)
    np.testing.assert_allclose(contact.closing_velocity, -closing, rtol=1e-6)
    np.testing.assert_allclose(contact.opening_ramp_left, [0.2e-3, 0.1e-3, 0.01e-3], atol=1e-15)
    assert contact.on_ramps.all()
    # 4000 rpm of the crank, ratio 1.5: the tappet's m/rad times cam speed, times the ratio.
    up, down = contact.impact_speed(4000 * 2 * np.pi / 60, 1.5)
    np.testing.assert_allclose(up, opening * 2000 * 2 * np.pi / 60 * 1.5, rtol=1e-6)
    np.testing.assert_allclose(down, closing * 2000 * 2 * np.pi / 60 * 1.5, rtol=1e-6)


def test_past_the_ramp_is_faster_and_said_so():
    curve = lift_curve_from_law(lobe())
    contact = lash_contact(curve, [0.2e-3, 0.35e-3, 0.6e-3, 1.0, np.nan], OPENING[0], CLOSING[0])
    assert contact.on_ramps.tolist() == [True, False, False, False, False]
    assert np.all(np.diff(contact.opening_velocity[:3]) > 0)
    assert contact.opening_ramp_left[1] < 0 < contact.closing_ramp_left[1]
    assert np.isnan(contact.opening_angle[3:]).all()
    assert np.isnan(contact.opening_ramp_left[3:]).all()


def test_window_edges_are_where_the_ramp_runs_out():
    least, greatest = lash_window(OPENING[0], CLOSING[0], 1.5, take_up=0.05e-3, start_height=0.1e-3)
    assert least == pytest.approx(0.05e-3 * 1.5)
    assert greatest == pytest.approx(0.25e-3 * 1.5)
    assert ramp_left(OPENING[0], greatest, 1.5, 0.05e-3) == pytest.approx(0, abs=1e-18)
    curve = lift_curve_from_law(lobe())
    for lash, inside in ((greatest - 1e-6, True), (greatest + 1e-6, False)):
        level = lash / 1.5 + 0.05e-3
        assert bool(lash_contact(curve, level, OPENING[0], CLOSING[0]).on_ramps) is inside
    assert np.isnan(lash_window(0.02e-3, 0.4e-3, 1.5, take_up=0.05e-3)).all()
    assert np.isnan(lash_window([np.nan], 0.4e-3, 1.5)).all()


def test_adjuster_turns():
    """5/16-24 thread, ratio 1.5: 0.012 in of lash is 0.012/(1/24 x 1.5) = 0.192 turn; locknut 0.001 less."""
    inch = 25.4e-3
    assert adjuster_turns(0.012 * inch, inch / 24, 1.5) == pytest.approx(0.192, rel=1e-12)
    assert adjuster_turns(0.012 * inch, inch / 24, 1.5, 0.001 * inch) == pytest.approx(0.176, rel=1e-12)
    turns = np.array([0.1, 0.25, np.nan])
    lash = lash_from_turns(turns, inch / 24, 1.5, 2e-5)
    np.testing.assert_allclose(adjuster_turns(lash, inch / 24, 1.5, 2e-5), turns, rtol=1e-12)
    for pitch, ratio in ((0.0, 1.5), (1e-3, -1.0)):
        with pytest.raises(ValueError, match="above 0"):
            adjuster_turns(1e-4, pitch, ratio)


def test_impossible_fraction():
    with pytest.raises(ValueError, match="between 0 and 1"):
        detected_ramps(lift_curve_from_law(lobe()), 1.5)
