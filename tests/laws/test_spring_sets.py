"""Laws of spring sets, fatigue and set: sums, steps, symmetry, limits."""

import numpy as np
import pytest

from valvetrain.mechanics.spring.fatigue import (
    KPSI,
    SET_FRACTION,
    ZIMMERLI,
    EnduranceStrength,
    SpringStress,
    gerber_safety,
    goodman_safety,
    sines_safety,
    solid_stress_fraction,
    spring_stress,
    torsional_strength,
)
from valvetrain.mechanics.spring.nested import (
    bind_clearance,
    diametral_clearance,
    set_load,
    set_solid_height,
    spring_heights,
)

# An invented dual set: outer and inner, each tested by itself.
RATE = np.array([40e3, 20e3])
TESTED_AT = np.array([0.0450, 0.0430])
TESTED = np.array([300.0, 120.0])


def test_set_load_is_the_sum_at_each_springs_own_height():
    # The inner seat is sunk 1 mm and the retainer reaches down 3 mm: the inner spring stands 2 mm lower.
    result = set_load(0.044, RATE, TESTED_AT, TESTED, seat_step=[0, -0.001], retainer_step=[0, 0.003])
    assert result.each.tolist() == pytest.approx([300 + 40, 120 + 20e3 * 0.001])
    assert result.load == pytest.approx(340 + 140)
    assert result.rate == pytest.approx(60e3)
    np.testing.assert_allclose(spring_heights(0.044, [0, -0.001], [0, 0.003]), [0.044, 0.042])


def test_rate_of_the_set_is_the_slope_of_its_load():
    height = np.linspace(0.03, 0.06, 61)
    result = set_load(height, RATE, TESTED_AT, TESTED)
    upper = set_load(height + 1e-7, RATE, TESTED_AT, TESTED).load
    lower = set_load(height - 1e-7, RATE, TESTED_AT, TESTED).load
    # Springs come loose at 52.5 and 49 mm; the slope is compared away from there.
    away = (np.abs(height - 0.0525) > 1e-4) & (np.abs(height - 0.049) > 1e-4)
    np.testing.assert_allclose(result.rate[away], ((lower - upper) / 2e-7)[away], rtol=1e-6, atol=1e-3)
    assert result.loose[height > 0.053].all()
    assert not result.loose[height < 0.0485].any()
    assert (result.load >= 0).all()


def test_inner_spring_out_for_breaking_in():
    full = set_load(0.044, RATE, TESTED_AT, TESTED)
    outer = set_load(0.044, RATE, TESTED_AT, TESTED, fitted=[True, False])
    assert outer.load == pytest.approx(full.each[0])
    assert outer.rate == RATE[0]
    # An unknown inner spring spoils the set while it is in, not when it is out.
    unknown = np.array([300.0, np.nan])
    assert np.isnan(set_load(0.044, RATE, TESTED_AT, unknown).load)
    assert np.isnan(set_load(0.044, RATE, TESTED_AT, unknown).rate)
    assert set_load(0.044, RATE, TESTED_AT, unknown, fitted=[True, False]).load == pytest.approx(340)


def test_damper_friction_splits_opening_from_closing():
    result = set_load([0.044, 0.0515], RATE, TESTED_AT, TESTED, damper_friction=50.0)
    np.testing.assert_allclose(result.compressing - result.load, 50.0)
    np.testing.assert_allclose(result.extending, [result.load[0] - 50.0, 0.0])


def test_first_spring_to_bind_sets_the_height_of_the_set():
    solid, seat, retainer = np.array([0.027, 0.026]), np.array([0, -0.001]), np.array([0, 0.003])
    height, lift = np.array([0.044, 0.041]), 0.011
    each = bind_clearance(spring_heights(height, seat, retainer), lift, solid)
    whole = bind_clearance(height, lift, set_solid_height(solid, seat, retainer))
    np.testing.assert_allclose(each.min(axis=-1), whole)
    # By hand: inner 44 - 2 - 11 - 26 = 5 mm, outer 44 - 11 - 27 = 6 mm.
    np.testing.assert_allclose(whole, [0.005, 0.002])


def test_room_between_springs():
    # Outer 36 mean of 5 wire: 31 inside. Inner 24 of 4: 28 outside. 3 of clearance, 1 with a 1 mm damper.
    assert diametral_clearance([0.036, 0.024], [0.005, 0.004]).tolist() == pytest.approx([0.003])
    assert diametral_clearance([0.036, 0.024], [0.005, 0.004], 1e-3).tolist() == pytest.approx([0.001])
    triple = diametral_clearance([0.036, 0.0272, 0.019], [0.005, 0.004, 0.003])
    assert triple.tolist() == pytest.approx([-0.0002, 0.0012])
    with pytest.raises(ValueError, match="from the outer to the inner"):
        diametral_clearance([0.024, 0.036], 0.004)
    with pytest.raises(ValueError, match="at least two springs"):
        diametral_clearance([0.024], 0.004)


# Fatigue

RANDOM = np.random.default_rng(3)
TENSILE = RANDOM.uniform(1500e6, 2200e6, 50)
STRESS = spring_stress(
    RANDOM.uniform(100, 400, 50), RANDOM.uniform(500, 1500, 50), 4.5e-3, RANDOM.uniform(0.025, 0.035, 50), 1.2
)


def test_mean_and_alternating_make_up_the_two_ends():
    np.testing.assert_allclose(STRESS.mean + STRESS.alternating, STRESS.open, rtol=1e-13)
    np.testing.assert_allclose(STRESS.mean - STRESS.alternating, STRESS.seat, rtol=1e-13)
    with pytest.raises(ValueError, match="open load is below seat load"):
        spring_stress(500.0, 400.0, 4e-3, 0.03, 1.2)


def test_safety_factors_put_the_scaled_stress_on_their_own_curve():
    point = ZIMMERLI["unpeened"]
    ultimate = torsional_strength(TENSILE)
    n = goodman_safety(STRESS, TENSILE, point)
    reversed_strength = point.alternating / (1 - point.mean / ultimate)
    np.testing.assert_allclose(n * STRESS.alternating / reversed_strength + n * STRESS.mean / ultimate, 1.0)
    n = gerber_safety(STRESS, TENSILE, point)
    reversed_strength = point.alternating / (1 - (point.mean / ultimate) ** 2)
    np.testing.assert_allclose(
        n * STRESS.alternating / reversed_strength + (n * STRESS.mean / ultimate) ** 2, 1.0
    )


def test_the_endurance_point_itself_is_just_safe_by_all_three():
    point = ZIMMERLI["peened"]
    at = SpringStress(
        np.array(point.mean - point.alternating),
        np.array(point.mean + point.alternating),
        np.array(point.mean),
        np.array(point.alternating),
    )
    assert goodman_safety(at, 1900e6, point) == pytest.approx(1.0)
    assert gerber_safety(at, 1900e6, point) == pytest.approx(1.0)
    assert sines_safety(at, point) == pytest.approx(1.0)


def test_no_alternation_and_no_stress():
    still = spring_stress(300.0, 300.0, 4.5e-3, 0.03, 1.2)
    point = ZIMMERLI["unpeened"]
    assert np.isinf(sines_safety(still, point))
    # Without alternation both curves end at the torsional strength.
    expected = torsional_strength(1800e6) / still.mean
    assert goodman_safety(still, 1800e6, point) == pytest.approx(expected)
    assert gerber_safety(still, 1800e6, point) == pytest.approx(expected)
    assert np.isnan(goodman_safety(still, 300e6, EnduranceStrength(200e6, 250e6)))
    assert np.isnan(goodman_safety(still, np.nan, point))


def test_stress_at_solid_as_a_share_of_strength():
    # 8 F D K/(pi d^3) by hand: 8 x 1500 x 30 x 1.25/(pi 4.5^3) = 1571.9 MPa.
    share = solid_stress_fraction(1500.0, 4.5e-3, 0.030, 1.25, 1900e6)
    assert share == pytest.approx(1571.9 / 1900, rel=1e-4)
    assert share > SET_FRACTION["chrome-silicon"]
    assert pytest.approx(4.4482216152605e3 / 0.0254**2) == KPSI
