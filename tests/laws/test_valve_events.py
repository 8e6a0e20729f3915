"""Events of closed-form lobes against roots found with mpmath, and the awkward cases of event searching."""

import mpmath
import numpy as np
import pytest

from valvetrain.mechanics.cam.event_placement import (
    cam_from_crank,
    centerline_from_placed,
    crank_from_cam,
    crank_position,
    duration_from_placed,
    lobe_separation,
    overlap,
    placed_events,
)
from valvetrain.mechanics.cam.events import (
    area_under_lift,
    crossings,
    lobe_events,
    sampled_pad_drop_inverse,
    tappet_lift_at,
)
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS

mpmath.mp.dps = 40
pi = mpmath.pi
NANODEGREE = float(np.radians(1e-9))

# The rise f(u) written out independently of the code under test, one formula over the whole of [0, 1].
FORMULAS = {
    "simple harmonic": lambda u: (1 - mpmath.cos(pi * u)) / 2,
    "cycloidal": lambda u: u - mpmath.sin(2 * pi * u) / (2 * pi),
    "3-4-5 polynomial": lambda u: 10 * u**3 - 15 * u**4 + 6 * u**5,
    "4-5-6-7 polynomial": lambda u: 35 * u**4 - 84 * u**5 + 70 * u**6 - 20 * u**7,
}
LIFT, RISE, BACK, DWELL = 7.6e-3, 1.15, 1.3, 0.06
LEVELS = np.array([0.05e-3, 0.508e-3, 1.27e-3, 3e-3, 5.08e-3, 7.5e-3])


def lobe(name, **more):
    return LawLobe(name, LIFT, RISE, BACK, DWELL, **more)


@pytest.mark.parametrize("name", FORMULAS)
def test_events_against_mpmath(name):
    curve = lift_curve_from_law(lobe(name))
    events = crossings(curve, LEVELS)
    for k, level in enumerate(LEVELS):
        fraction = mpmath.mpf(float(level)) / mpmath.mpf(LIFT)
        u = mpmath.findroot(
            lambda x, f=fraction: FORMULAS[name](x) - f, (0.001, 0.999), solver="anderson", tol=1e-60
        )
        opening = -mpmath.mpf(DWELL) / 2 - mpmath.mpf(RISE) * (1 - u) - mpmath.mpf(curve.center)
        closing = mpmath.mpf(DWELL) / 2 + mpmath.mpf(BACK) * (1 - u) - mpmath.mpf(curve.center)
        assert abs(float(events.opening[k] - opening)) < NANODEGREE
        assert abs(float(events.closing[k] - closing)) < NANODEGREE


@pytest.mark.parametrize("name", sorted(MOTION_LAWS))
def test_lift_at_the_events_is_the_level(name):
    curve = lift_curve_from_law(lobe(name, opening_ramp_height=2e-4, opening_ramp_length=0.3))
    events = crossings(curve, LEVELS)
    np.testing.assert_allclose(curve.lift(events.opening), LEVELS, atol=1e-15)
    np.testing.assert_allclose(curve.lift(events.closing), LEVELS, atol=1e-15)
    assert np.all(events.opening < curve.peak_angle + 1e-12)
    assert np.all(curve.velocity(events.opening) > 0)
    assert np.all(curve.velocity(events.closing) < 0)
    assert np.all(np.diff(events.duration) < 0)
    np.testing.assert_allclose(events.centerline * 2, events.opening + events.closing, atol=1e-15)


def test_absent_events():
    curve = lift_curve_from_law(lobe("cycloidal"))
    events = crossings(curve, [LIFT, 1.0, np.nan, -1e-9])
    assert np.isnan(events.opening).all()
    assert np.isnan(events.closing).all()
    assert np.isnan(events.duration).all()


def test_lift_off_at_zero_is_the_end_of_the_base_circle():
    curve = lift_curve_from_law(lobe("constant acceleration"))
    events = crossings(curve, 0.0)
    assert float(events.opening) + curve.center == pytest.approx(-DWELL / 2 - RISE, abs=1e-7)
    assert float(events.closing) + curve.center == pytest.approx(DWELL / 2 + BACK, abs=1e-7)


def test_level_just_under_a_plateau():
    curve = lift_curve_from_law(lobe("constant acceleration"))
    events = crossings(curve, LIFT * (1 - 1e-10))
    assert float(events.opening) + curve.center == pytest.approx(-DWELL / 2, abs=2e-5)
    assert float(events.closing) + curve.center == pytest.approx(DWELL / 2, abs=2e-5)


def test_a_plateau_on_the_ramp_opens_at_its_far_end():
    """A lobe that stays at 0.4 mm for 0.2 rad: a lash of just that opens where it rises again."""
    angle = np.linspace(-np.pi, np.pi, 721)[:-1]
    rise = LawLobe("cycloidal", 4e-4, 0.3, 0.3, 2.9).curves(angle)[0]
    lift = rise + LawLobe("cycloidal", 6e-3, 1.2, 1.2).curves(angle)[0]
    curve = lift_curve_from_table(angle, lift)
    below, above = crossings(curve, [3.9e-4, 4.1e-4]).opening
    assert below < -1.45
    assert above > -1.2
    assert above - below > 0.25


def test_bump_before_the_lobe_is_not_the_opening():
    """The crossing nearest the nose counts."""
    angle = np.linspace(-np.pi, np.pi, 721)[:-1]
    main = LawLobe("cycloidal", 6e-3, 0.8, 0.8).curves(angle)[0]
    bump = LawLobe("cycloidal", 1e-3, 0.25, 0.25).curves(angle + 1.3)[0]
    curve = lift_curve_from_table(angle, main + bump)
    plain = lift_curve_from_table(angle, main)
    assert float(crossings(curve, 5e-4).opening) == pytest.approx(
        float(crossings(plain, 5e-4).opening), abs=1e-3
    )


@pytest.mark.parametrize("start", [-180, 0, 90, 355])
def test_wrap_around(start):
    """Wherever the table begins, even on the nose, the events are the same."""
    angle = np.radians(np.arange(start, start + 360, 1.0))
    curve = lift_curve_from_table(angle, lobe("cycloidal").curves(angle)[0])
    events = crossings(curve, LEVELS)
    exact = crossings(lift_curve_from_law(lobe("cycloidal")), LEVELS)
    np.testing.assert_allclose(events.opening, exact.opening, atol=2e-4)
    np.testing.assert_allclose(events.closing, exact.closing, atol=2e-4)


def test_many_lobes_lashes_and_levels():
    curves = [lift_curve_from_law(lobe(name)) for name in FORMULAS]
    levels = np.random.default_rng(0).uniform(0.1e-3, 7e-3, (4, 5, 3))
    events = lobe_events(curves, levels)
    assert events.opening.shape == (4, 5, 3)
    for index in np.ndindex(levels.shape):
        alone = crossings(curves[index[0]], levels[index])
        assert float(alone.opening) == pytest.approx(events.opening[index], abs=1e-13)
        assert float(alone.closing) == pytest.approx(events.closing[index], abs=1e-13)
    assert lobe_events(curves, 1e-3).opening.shape == (4,)
    with pytest.raises(ValueError, match="one a lobe"):
        lobe_events(curves, levels[:2])


def test_valve_lift_through_a_ratio_curve():
    """Pad drop 1.5 s + 8 s^2 [m]: the inverse is the root of a quadratic."""
    samples = np.linspace(0, LIFT, 60)
    inverse = sampled_pad_drop_inverse(samples, 1.5 * samples + 8 * samples**2)
    lash, check = np.array([[2e-4], [4e-4]]), np.array([0.0, 5e-4, 2e-3])
    exact = (-1.5 + np.sqrt(1.5**2 + 32 * (check + lash))) / 16
    np.testing.assert_allclose(tappet_lift_at(check, lash, inverse), exact, atol=1e-12)
    assert np.isnan(tappet_lift_at(0.02, 0.0, inverse))
    assert np.isnan(tappet_lift_at(np.nan, 0.0, inverse))
    for bad in ((-1e-4, 0.0), (0.0, -1e-4)):
        with pytest.raises(ValueError, match="0 or more"):
            tappet_lift_at(*bad, inverse)
    with pytest.raises(ValueError, match="rise"):
        sampled_pad_drop_inverse(samples, samples[::-1])
    with pytest.raises(ValueError, match="4 or more"):
        sampled_pad_drop_inverse(samples[:3], samples[:3])


def test_more_lash_opens_later_and_closes_earlier():
    curve = lift_curve_from_law(lobe("modified sine"))
    samples = np.linspace(0, LIFT, 60)
    inverse = sampled_pad_drop_inverse(samples, 1.5 * samples)
    events = crossings(curve, tappet_lift_at(0.0, np.linspace(1e-4, 8e-4, 8), inverse))
    assert np.all(np.diff(events.opening) > 0)
    assert np.all(np.diff(events.closing) < 0)


def test_area_of_a_cycloidal_lobe():
    """Every antisymmetric law lifts on average by half: area = h (dwell + (rise + return)/2)."""
    curve = lift_curve_from_law(lobe("cycloidal"))
    edges = np.array([-DWELL / 2 - RISE, DWELL / 2 + BACK]) - curve.center
    exact = LIFT * (DWELL + (RISE + BACK) / 2)
    assert float(area_under_lift(curve.lift, edges[0], edges[1])) == pytest.approx(exact, rel=1e-6)
    assert np.isnan(area_under_lift(curve.lift, np.nan, 1.0))


def test_placement_round_trip():
    opening, closing = np.array([-1.1, -0.9, np.nan]), np.array([1.2, 1.0, np.nan])
    for role, center in (("intake", 1.9), ("exhaust", 2.0)):
        placed = placed_events(opening, closing, center, role)
        np.testing.assert_allclose(duration_from_placed(placed.opens, placed.closes), placed.duration)
        np.testing.assert_allclose(placed.duration, 2 * (closing - opening))
        middle = centerline_from_placed(placed.opens, placed.closes, role)
        np.testing.assert_allclose(middle, placed.centerline, atol=1e-14)
        skew = closing + opening
        np.testing.assert_allclose(middle, center + (skew if role == "intake" else -skew), atol=1e-14)
    assert cam_from_crank(crank_from_cam(0.7)) == pytest.approx(0.7)
    with pytest.raises(ValueError, match="intake"):
        crank_position(0.0, 1.9, "inlet")


def test_advance_moves_both_lobes_the_same_way():
    """Advance lowers the intake centerline and raises the exhaust one; overlap and separation stay."""
    before = [placed_events(-1.1, 1.1, 1.9, "intake"), placed_events(-1.1, 1.1, 2.0, "exhaust")]
    after = [placed_events(-1.1, 1.1, 1.8, "intake"), placed_events(-1.1, 1.1, 2.1, "exhaust")]
    assert after[0].opens - before[0].opens == pytest.approx(0.1)
    assert after[0].closes - before[0].closes == pytest.approx(-0.1)
    assert after[1].opens - before[1].opens == pytest.approx(0.1)
    assert overlap(after[0].opens, after[1].closes) == pytest.approx(
        overlap(before[0].opens, before[1].closes)
    )
    assert lobe_separation(1.8, 2.1) == pytest.approx(lobe_separation(1.9, 2.0))
