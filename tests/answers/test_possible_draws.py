"""Monte Carlo of a size that is known so little that some draws of it are sizes no part can have."""

import numpy as np
import pytest

from valvetrain.answers.possible_draws import possible_only
from valvetrain.answers.quantity import computed
from valvetrain.answers.simulation import simulating
from valvetrain.setup.setup import Column


def column(value, spread):
    return Column(np.array(value, float), np.array(spread, float), ("",) * len(value))


def radius_only(rows):
    radius = rows["rocker.pad_radius"]
    if (radius <= 0).any():
        raise ValueError("a pad has a radius")
    return {"radius": radius + 0.0 * rows["shaft.height"]}


def test_draws_below_zero_are_left_out():
    # Half a million draws of 2 +- 1 mm: those above zero are a normal distribution cut off two standard
    # deviations down, whose mean and deviation are in closed form (Johnson, Kotz and Balakrishnan, Continuous
    # Univariate Distributions, vol. 1, section 10.1): with h = phi(2) / Phi(2), mean 2 + h and variance
    # 1 - 2 h - h^2, of which the first-order value 2 makes a spread sqrt(variance + h^2).
    tail = np.exp(-2.0) / np.sqrt(2 * np.pi) / 0.977249868
    inputs = {
        "rocker.pad_radius": column([0.002, 0.02], [0.001, 0.001]),
        "shaft.height": column([0.0, 0.0], [0.001, 0.001]),
    }
    with simulating(500_000, 4):
        found = computed(radius_only, inputs, {"radius": "length"})["radius"]
    assert found.value == pytest.approx([0.002, 0.02])
    assert found.uncertainty[0] == pytest.approx(0.001 * np.sqrt(1 - 2 * tail), rel=0.004)
    assert found.uncertainty[1] == pytest.approx(0.001, rel=0.004)
    assert found.low[0] > 0.0


def test_what_may_be_negative_or_is_zero_is_drawn_as_it_is():
    values = {"shaft.height": np.array([0.0]), "shaft.stand_shim": np.array([0.0]), "other": np.array([1.0])}
    spreads = {key: np.array([1.0]) for key in values}

    def function(rows):
        return rows

    assert possible_only(function, values, spreads) is function


def test_outputs_fewer_than_the_valves_fail_with_any_of_them():
    values = {"rocker.pad_radius": np.array([1.0, 1.0])}
    rows = {"rocker.pad_radius": np.array([[1.0, -1.0], [2.0, 3.0]])}

    def function(rows):
        return {
            "each": rows["rocker.pad_radius"],
            "both": rows["rocker.pad_radius"].sum(axis=-1, keepdims=True),
        }

    found = possible_only(function, values, {"rocker.pad_radius": np.array([1.0, 1.0])})(rows)
    assert np.isnan(found["each"]).tolist() == [[False, True], [False, False]]
    assert np.isnan(found["both"]).tolist() == [[True], [False]]
    assert found["both"][1, 0] == pytest.approx(5.0)
