"""Matching of springs to valves against every permutation, and its limits."""

import itertools

import numpy as np
import pytest

from valvetrain.mechanics.spring.matching import NO_SPRING, closest_matching, least_spread_matching


def permutations(valves, springs):
    return np.array(list(itertools.permutations(range(springs), valves)))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("whole", [False, True], ids=["any loads", "loads with ties"])
def test_seven_valves_against_all_permutations(seed, whole):
    random = np.random.default_rng(seed)
    loads = random.normal(400, 10, (7, 1)) + random.normal(0, 15, (1, 7)) + random.normal(0, 8, (7, 7))
    if whole:
        loads = np.round(loads / 10) * 10
    target = random.normal(0, 5, 7) if seed % 2 else np.zeros(7)
    orders = permutations(7, 7)
    deviation = loads[np.arange(7), orders] - target
    spreads = np.ptp(deviation, axis=1)
    found = least_spread_matching(loads, target)
    assert sorted(found.spring) == list(range(7))
    assert found.spread == pytest.approx(spreads.min(), abs=1e-9)
    assert np.ptp(found.load - target) == pytest.approx(found.spread)
    np.testing.assert_array_equal(found.load, loads[np.arange(7), found.spring])
    # Of all orders in the same window the one nearest to its middle.
    low, high = (function(found.load - target) for function in (np.min, np.max))
    inside = np.all((deviation >= low - 1e-9) & (deviation <= high + 1e-9), axis=1)
    squares = ((deviation - 0.5 * (low + high)) ** 2).sum(axis=1)
    own = ((found.load - target - 0.5 * (low + high)) ** 2).sum()
    assert own == pytest.approx(squares[inside].min(), abs=1e-9)
    near = closest_matching(loads, target + 400)
    least = np.abs(deviation - 400).sum(axis=1).min()
    assert np.abs(near.load - target - 400).sum() == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_spare_springs_and_forbidden_pairs_against_all_choices(seed):
    random = np.random.default_rng(100 + seed)
    loads = random.normal(400, 20, (5, 7))
    loads[random.random((5, 7)) < 0.25] = np.nan
    spreads = np.ptp(loads[np.arange(5), permutations(5, 7)], axis=1)
    assert least_spread_matching(loads).spread == pytest.approx(np.nanmin(spreads), abs=1e-9)


def test_equal_rates_are_matched_in_order():
    # One rate: the tallest valve takes the strongest spring, the next the next, and so on.
    height, strength = np.array([0.0, 2.0, 1.0, 3.0]), np.array([30.0, 10.0, 0.0, 20.0])
    found = least_spread_matching(strength - 10 * height[:, None])
    assert found.spring.tolist() == [2, 3, 1, 0]
    assert found.spread == 0.0


def test_an_unmeasured_valve_is_left_out_and_an_untested_spring_unused():
    loads = np.array([[400.0, np.nan, 410.0], [np.nan, np.nan, np.nan], [405.0, np.nan, 430.0]])
    found = least_spread_matching(loads)
    assert found.spring.tolist() == [2, NO_SPRING, 0]
    assert np.isnan(found.load).tolist() == [False, True, False]
    assert found.spread == 5.0
    nothing = least_spread_matching(np.full((2, 2), np.nan))
    assert nothing.spring.tolist() == [NO_SPRING, NO_SPRING]
    assert np.isnan(nothing.spread)


def test_too_few_springs_is_an_error():
    with pytest.raises(ValueError, match="2 valves cannot each be given a spring"):
        least_spread_matching([[400.0, np.nan], [410.0, np.nan]])
    with pytest.raises(ValueError, match="a row a valve"):
        closest_matching([400.0], 390.0)
