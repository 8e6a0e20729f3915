"""JCGM 100:2008 (GUM), example H.1: calibration of an end gauge.

Status: results seen (in open code that re-keys the example); the inputs likewise. Length in nm:
l = l_s + d - l_s (d_alpha theta + alpha_s d_theta). Printed: l 50 000 838 nm, u 32 nm (31.7 unrounded),
effective degrees of freedom 16, with the second-order terms 34 nm (33.8), U99 = 2.92 x 32 = 93 nm.
"""

import numpy as np
import pytest

from tests.published.doubt_cases import found
from valvetrain.mechanics.uncertainty.budget import budgets, coverage_factor, second_order_variance
from valvetrain.mechanics.uncertainty.monte_carlo import simulated
from valvetrain.mechanics.uncertainty.propagation import propagated

# name: value, standard uncertainty, degrees of freedom (H.1.6)
INPUTS = {
    "standard": (50_000_623.0, 25.0, 18.0),
    "difference": (215.0, np.sqrt(5.8**2 + 3.9**2 + 6.7**2), 25.6),
    "expansion": (11.5e-6, 2e-6 / np.sqrt(3), np.inf),
    "temperature": (-0.1, np.hypot(0.2, 0.5 / np.sqrt(2)), np.inf),
    "expansion_difference": (0.0, 1e-6 / np.sqrt(3), 50.0),
    "temperature_difference": (0.0, 0.05 / np.sqrt(3), 2.0),
}
VALUES = {name: np.array([row[0]]) for name, row in INPUTS.items()}
UNCERTAINTIES = {name: np.array([row[1]]) for name, row in INPUTS.items()}
FREEDOM = {name: row[2] for name, row in INPUTS.items()}


def gauge(inputs):
    standard = inputs["standard"]
    return {
        "length": standard
        + inputs["difference"]
        - standard
        * (
            inputs["expansion_difference"] * inputs["temperature"]
            + inputs["expansion"] * inputs["temperature_difference"]
        )
    }


def test_value_and_combined_uncertainty():
    result = propagated(gauge, VALUES, UNCERTAINTIES)
    assert result.value["length"][0] == pytest.approx(50_000_838.0, abs=0.5)
    assert result.uncertainty["length"][0] == pytest.approx(31.7, abs=0.05)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("standard", 25.0),
        ("difference", 9.7),
        ("expansion", 0.0),
        ("temperature", 0.0),
        ("expansion_difference", 2.9),
        ("temperature_difference", 16.6),
    ],
)
def test_contribution(name, printed):
    part = propagated(gauge, VALUES, UNCERTAINTIES).contributions["length"][name]
    assert abs(part[0]) == pytest.approx(printed, abs=0.1)


def test_effective_degrees_of_freedom_and_expanded_uncertainty():
    result = propagated(gauge, VALUES, UNCERTAINTIES)
    budget = budgets(result, degrees_of_freedom=FREEDOM, probability=0.99)["length"]
    assert np.floor(budget.degrees_of_freedom[0]) == 16
    assert budget.coverage_factor[0] == pytest.approx(2.92, abs=0.005)
    assert budget.expanded[0] == pytest.approx(93.0, abs=0.6)
    assert budget.inputs[0] == "standard"
    assert sum(share[0] for share in budget.share.values()) == pytest.approx(1.0, abs=1e-9)


def test_second_order():
    result = propagated(gauge, VALUES, UNCERTAINTIES)
    extra = second_order_variance(gauge, VALUES, UNCERTAINTIES)
    # H.1.7: 11.7 nm from the expansions' difference with the temperature, 1.7 nm from the other pair.
    assert np.sqrt(extra["length"][0]) == pytest.approx(np.hypot(11.7, 1.7), abs=0.1)
    budget = budgets(result, degrees_of_freedom=FREEDOM, second_order=extra)["length"]
    assert budget.uncertainty[0] == pytest.approx(33.8, abs=0.05)


def test_monte_carlo_holds_all_orders():
    found = simulated(gauge, VALUES, UNCERTAINTIES, samples=400_000, seed=1)
    assert found.uncertainty["length"][0] == pytest.approx(33.8, abs=0.15)


@pytest.mark.parametrize(
    ("freedom", "probability", "factor"),
    # GUM table G.2 (published values of Student's t; memory)
    [
        (1, 0.95, 12.71),
        (2, 0.95, 4.30),
        (5, 0.95, 2.57),
        (10, 0.99, 3.17),
        (16, 0.95, 2.12),
        (50, 0.95, 2.01),
    ],
)
def test_coverage_factor(freedom, probability, factor):
    assert coverage_factor(np.array([freedom + 0.7]), probability)[0] == pytest.approx(factor, abs=0.005)
    assert coverage_factor(np.array([np.inf]), 0.95)[0] == pytest.approx(1.960, abs=0.0005)


def test_by_the_toolkits_own_way():
    inputs = {name: (row[0], row[1]) for name, row in INPUTS.items()}
    one = found(lambda rows: {"y": gauge(rows)["length"]}, inputs)
    # H.1.7: 34 nm with the second-order terms, where first order says 32.
    assert one.uncertainty[0] == pytest.approx(33.8, abs=0.4)
