"""Trends of lash and lift: against scipy's Theil-Sen, false alarms of healthy engines, power, diagnoses.

All engines here are invented. Noise is normal, seeded, with the standard deviation named.
"""

import numpy as np
import pytest
from scipy.stats import theilslopes

from valvetrain.mechanics.trend.diagnosis import diagnoses, next_inspection
from valvetrain.mechanics.trend.robust import MOST_READINGS, pooled_noise, robust_trend, slope_uncertainty
from valvetrain.mechanics.trend.wear import (
    CANNOT_TELL,
    FALLING,
    RISING,
    STEADY,
    lash_growth,
    less_group_median,
    set_states,
)

INCH = 0.0254
TIMES = np.arange(5.0)
ROLES = np.tile([0, 1], 6)


@pytest.mark.parametrize("readings", [2, 3, 5, 8, 20, 60])
@pytest.mark.parametrize("twice", [False, True])
def test_slope_and_interval_against_scipy(readings: int, twice: bool) -> None:
    rng = np.random.default_rng(readings)
    times = np.cumsum(rng.uniform(0.1, 1, readings))
    if twice and readings > 3:
        times[1] = times[0]
    values = rng.normal(size=(4, readings))
    shuffled = rng.permutation(readings)
    found = robust_trend(times[shuffled], values[:, shuffled], confidence=0.9)
    for row in range(4):
        slope, _, low, high = theilslopes(values[row], times, alpha=0.9)
        assert found.slope[row] == pytest.approx(slope, rel=1e-12)
        assert found.low[row] == pytest.approx(low, rel=1e-12)
        assert found.high[row] == pytest.approx(high, rel=1e-12)


@pytest.mark.parametrize("confidence", np.linspace(0.5, 0.98, 17).round(2))  # scipy folds below a half
def test_interval_with_tied_times_and_values_against_scipy(confidence: float) -> None:
    rng = np.random.default_rng(int(100 * confidence))
    times = np.repeat(np.arange(4.0), [6, 5, 4, 1])
    values = np.round(rng.normal(size=16), 1) + 0.1 * times
    values[[3, 8, 9]] = values[0]
    slope, _, low, high = theilslopes(values, times, alpha=confidence)
    found = robust_trend(times, values, confidence=confidence)
    np.testing.assert_allclose([found.slope, found.low, found.high], [slope, low, high], rtol=1e-12)


def test_missing_readings_are_left_out() -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(size=(3, 8))
    values[0, [1, 6]] = np.nan
    values[1] = np.nan
    values[2, 1:] = np.nan
    times = np.arange(8.0)
    found = robust_trend(times, values)
    keep = ~np.isnan(values[0])
    assert found.slope[0] == pytest.approx(theilslopes(values[0][keep], times[keep])[0])
    assert found.last_time[0] == 7.0
    assert found.mean[0] == pytest.approx(values[0][keep].mean())
    assert found.count.tolist() == [6, 0, 1]
    assert np.isnan(found.slope[1:]).all()
    assert np.isnan(found.residual_square[1:]).all()


def test_one_wild_reading_does_not_carry_the_slope() -> None:
    values = 0.002 * np.arange(9.0)
    values[6] += 5.0
    found = robust_trend(np.arange(9.0), values)
    assert found.slope == pytest.approx(0.002)
    assert found.level == pytest.approx(0.016)


def test_long_records_are_condensed_and_keep_their_slope() -> None:
    rng = np.random.default_rng(2)
    times = np.sort(rng.uniform(0, 10, 5000))
    found = robust_trend(times, 0.3 * times + 0.01 * rng.normal(size=5000))
    assert found.count == MOST_READINGS
    assert found.slope == pytest.approx(0.3, abs=1e-3)


@pytest.mark.parametrize("accumulating", [False, True])
def test_noise_and_slope_uncertainty_are_calibrated(accumulating: bool) -> None:
    rng = np.random.default_rng(4)
    sigma = 0.7
    readings = sigma * rng.normal(size=(3000, 12, 5))
    if accumulating:  # each value adds a difference of two fresh readings
        steps = readings - sigma * rng.normal(size=readings.shape)
        readings = np.cumsum(steps, axis=-1)
    trend = robust_trend(TIMES, readings, accumulating=accumulating)
    assert np.sqrt(trend.residual_square.mean()) == pytest.approx(sigma, rel=0.01)
    noise, freedom = pooled_noise(trend.residual_square, trend.count)
    assert np.sqrt((noise**2).mean()) == pytest.approx(sigma, rel=0.05)
    assert (freedom == 30).all()
    assert (trend.slope / slope_uncertainty(trend, sigma)).std() == pytest.approx(1.0, abs=0.06)


def alarms(lash: np.ndarray, lift: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Whether each valve raises an alarm, and whether its lift is said to fall."""
    by_lash = set_states(robust_trend(TIMES, lash), 4.0)
    trend = robust_trend(TIMES, less_group_median(lift, ROLES))
    by_lift = set_states(trend, 4.0, only=FALLING, alike=True)
    falling = by_lift.state == FALLING
    return np.isin(
        by_lash.state, [RISING, FALLING]
    ) | by_lash.stands_out | falling | by_lift.stands_out, falling


def engines(seed: int, count: int, feeler: np.ndarray, spread: float) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    lash = 0.018 + feeler[:, None, None] * rng.normal(size=(count, 12, 5))
    made = np.where(ROLES == 0, 0.300, 0.310)[None, :, None] + spread * rng.normal(size=(count, 12, 1))
    return lash, made + feeler[:, None, None] * rng.normal(size=(count, 12, 5))


@pytest.mark.parametrize("spread", [0.0, 0.0005, 0.002])
@pytest.mark.parametrize("step", [0.0, 0.0005])
def test_healthy_engines_seldom_alarm(spread: float, step: float) -> None:
    count = 1000
    feeler = np.random.default_rng(11).uniform(0.0005, 0.001, count)
    lash, lift = engines(12, count, feeler, spread)
    if step:
        lash, lift = np.round(lash / step) * step, np.round(lift / step) * step
    raised, _ = alarms(lash * INCH, lift * INCH)
    assert raised.any(axis=1).mean() < 0.02


@pytest.mark.parametrize(
    ("feeler", "spread", "least"),
    [
        pytest.param((0.0005, 0.0005), 0.0010, 0.95, id="dial of 0.0005 in, lobes ground to 0.001"),
        pytest.param((0.0005, 0.0010), 0.0, 0.95, id="0.0005 to 0.001 in, lobes alike"),
        # With the lobes a thousandth apart and the roughest readings the record holds no such proof.
        pytest.param((0.0010, 0.0010), 0.0010, 0.50, id="0.001 in, lobes ground to 0.001"),
    ],
)
def test_planted_lobe_wear_is_found(feeler: tuple[float, float], spread: float, least: float) -> None:
    count = 1000
    lash, lift = engines(21, count, np.random.default_rng(20).uniform(*feeler, count), spread)
    lift[:, 4] -= 0.005 * TIMES / 4
    _, falling = alarms(lash * INCH, lift * INCH)
    assert falling[:, 4].mean() >= least
    assert falling[:, np.arange(12) != 4].any(axis=1).mean() < 0.02


def test_a_lobe_low_from_the_start_is_not_called_falling() -> None:
    count = 500
    lash, lift = engines(31, count, np.full(count, 0.0005), 0.0)
    lift[:, 4] -= 0.010
    _, falling = alarms(lash, lift)
    assert falling[:, 4].mean() < 0.06


def test_a_valve_that_stays_while_the_set_moves_stands_out() -> None:
    rng = np.random.default_rng(5)
    lash = 0.018 + 0.0003 * rng.normal(size=(12, 6)) + 0.001 * np.arange(6.0)
    lash[7] = 0.018 + 0.0003 * rng.normal(size=6)
    found = set_states(robust_trend(np.arange(6.0), lash), 5.0)
    assert np.flatnonzero(found.stands_out).tolist() == [7]
    assert found.state[7] == STEADY
    assert (np.delete(found.state, 7) == RISING).all()


def test_a_few_or_rough_readings_cannot_tell() -> None:
    rng = np.random.default_rng(6)
    two = set_states(robust_trend([0.0, 1.0], rng.normal(size=(12, 2))), 1.0)
    assert (two.state == CANNOT_TELL).all()
    assert not two.stands_out.any()
    readings = 0.001 * rng.normal(size=(12, 4))
    readings[3, 2:] = np.nan
    trend = robust_trend(np.arange(4.0), readings)
    plain = set_states(trend, 3.0)
    assert plain.state[3] == CANNOT_TELL
    assert (np.delete(plain.state, 3) == STEADY).all()
    # Steady is only said if the change that matters would have been seen.
    strict = set_states(trend, 3.0, notable_change=0.003)
    assert (strict.state == CANNOT_TELL).all()
    assert (strict.provable_change[np.arange(12) != 3] > 0.003).all()


def test_identical_readings_are_steady_and_need_no_warning() -> None:
    found = set_states(robust_trend(TIMES, np.full((12, 5), 0.018)), 4.0, noise_floor=0.0003)
    assert (found.state == STEADY).all()
    assert not found.stands_out.any()
    set_states(robust_trend(TIMES, np.full((12, 5), 0.018)), 4.0)


def test_lash_growth_takes_the_adjuster_out() -> None:
    found = np.array([[0.018, 0.020, 0.021, np.nan, 0.019], [0.018, 0.020, 0.021, 0.022, 0.024]])
    left = np.array([[0.018, 0.018, np.nan, np.nan, 0.018], [np.nan] * 5])
    growth, adds_up = lash_growth(found, left)
    # 0.002 found, set back to 0.018, 0.003 more, not touched, then 0.002 less.
    np.testing.assert_allclose(growth[0], [0, 0.002, 0.005, np.nan, 0.003], atol=1e-15)
    np.testing.assert_allclose(growth[1], found[1] - 0.018, atol=1e-15)
    assert adds_up.tolist() == [False, False]
    always = lash_growth(np.array([0.020, 0.020, 0.020]), np.full(3, 0.018))
    np.testing.assert_allclose(always[0], [0, 0.002, 0.004], atol=1e-15)
    assert always[1]


@pytest.mark.parametrize(
    ("lash", "lift", "turned", "names"),
    [
        (RISING, STEADY, True, ["tappet, pad, cup or pushrod wear"]),
        (STEADY, FALLING, None, ["lobe nose wear"]),
        (FALLING, STEADY, None, ["seat recession"]),
        (STEADY, STEADY, False, ["tappet not turning"]),
        (RISING, FALLING, None, ["lobe nose wear", "tappet, pad, cup or pushrod wear"]),
        (FALLING, FALLING, None, ["lobe nose wear", "seat recession"]),
        (STEADY, STEADY, None, ["no change found"]),
        (CANNOT_TELL, CANNOT_TELL, None, ["cannot tell"]),
        (RISING, CANNOT_TELL, None, ["tappet, pad, cup or pushrod wear", "cannot tell"]),
        (STEADY, RISING, None, ["doubtful lift reading"]),
    ],
)
def test_rules_of_the_trade(lash: str, lift: str, turned: bool | None, names: list[str]) -> None:
    found = diagnoses(lash, lift, turned)
    assert [one.name for one in found] == names
    assert all(one.reason for one in found)


def test_diagnoses_say_how_sure_and_what_stands_out() -> None:
    assert not diagnoses(RISING, CANNOT_TELL)[0].sure
    assert diagnoses(RISING, STEADY)[0].sure
    assert diagnoses(STEADY, FALLING)[0].sure
    # A lift read at the valve falls as the lash grows.
    assert not diagnoses(RISING, FALLING)[0].sure
    assert [d.name for d in diagnoses(STEADY, STEADY, stands_out=["lash"])] == ["lash unlike the rest"]
    # What is already told is not told twice.
    assert [d.name for d in diagnoses(RISING, STEADY, stands_out=["lash"])] == [
        "tappet, pad, cup or pushrod wear"
    ]
    with pytest.raises(ValueError, match="state of the lift is 'up'"):
        diagnoses(STEADY, "up")


def test_next_inspection() -> None:
    # 4 of 10 thousandths worn, 1 + 2 x 0.5 a year at most: 3 years left, look after half of them.
    assert next_inspection(0.004, 0.001, 0.0005, 0.010, 5.0) == pytest.approx(1.5)
    np.testing.assert_array_equal(
        next_inspection([0.012, 0.0, 0.0], [0.001, -0.001, np.nan], 0.0002, 0.010, 2.0), [0.0, 2.0, np.nan]
    )
    with pytest.raises(ValueError, match="wear limit"):
        next_inspection(0.0, 0.0, 0.0, 0.0, 1.0)


def test_bad_input_is_named() -> None:
    trend = robust_trend(TIMES, np.zeros((12, 5)))
    with pytest.raises(ValueError, match="alarm rate"):
        set_states(trend, 4.0, alarm_rate=0.0)
    with pytest.raises(ValueError, match="direction"):
        set_states(trend, 4.0, only="down")
    with pytest.raises(ValueError, match="one direction"):
        set_states(trend, 4.0, alike=True)
    with pytest.raises(ValueError, match="confidence"):
        robust_trend(TIMES, TIMES, confidence=95)
