"""Two-level runs against least squares and the law of propagation."""

import numpy as np
import pytest

from valvetrain.mechanics.uncertainty.two_level import two_level_effects, two_level_runs


@pytest.mark.parametrize(("inputs", "runs"), [(1, 4), (11, 16), (14, 16), (20, 32)])
def test_signs_are_even_and_square_to_each_other(inputs, runs):
    signs = two_level_runs(inputs, runs)
    assert signs.shape == (runs, inputs)
    assert np.all(np.abs(signs) == 1)
    assert np.all(signs.sum(axis=0) == 0)
    assert np.array_equal(signs.T @ signs, runs * np.eye(inputs))


@pytest.mark.parametrize(("inputs", "runs"), [(0, 16), (15, 16)])
def test_more_inputs_than_runs_can_part(inputs, runs):
    with pytest.raises(ValueError, match="must be 1 to 14"):
        two_level_runs(inputs, runs)


def test_a_straight_line_is_found_exactly():
    signs = two_level_runs(11)
    slopes = np.linspace(-3.0, 7.0, 11)
    found = two_level_effects(signs, 4000.0 + signs @ slopes)
    assert found.mean == pytest.approx(4000.0)
    assert np.allclose(found.effects, slopes)
    assert found.scatter == pytest.approx(0.0, abs=1e-9)


def test_effects_and_scatter_are_those_of_least_squares():
    rng = np.random.default_rng(11)
    signs = two_level_runs(11)
    results = rng.normal(4000.0, 200.0, (5, 16))
    found = two_level_effects(signs, results)
    table = np.column_stack([np.ones(16), signs])
    for row in range(5):
        solved, left, *_ = np.linalg.lstsq(table, results[row], rcond=None)
        assert np.allclose([found.mean[row], *found.effects[row]], solved)
        assert found.scatter[row] == pytest.approx(np.sqrt(left[0] / 4.0))


def test_scatter_of_jumps_is_found_without_bias():
    """Its square is the variance of what no input explains, over many sets of runs."""
    rng = np.random.default_rng(12)
    signs = two_level_runs(11)
    found = two_level_effects(signs, 4000.0 + rng.normal(0.0, 50.0, (4000, 16)))
    assert np.mean(found.scatter**2) == pytest.approx(2500.0, rel=0.05)
    assert np.std(found.mean) == pytest.approx(50.0 / 4.0, rel=0.05)
