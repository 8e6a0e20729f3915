"""Few even draws: their evenness, and what they say of functions of known distribution."""

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import chi2

from valvetrain.mechanics.uncertainty.bent_draws import AGREES, BENDS, drawn_doubts, first_order_agrees
from valvetrain.mechanics.uncertainty.distributions import NORMAL, RECTANGULAR, TRIANGULAR, trapezoid
from valvetrain.mechanics.uncertainty.even_draws import LATTICES, even_normals, even_places
from valvetrain.mechanics.uncertainty.propagation import Joint, propagated

ONE = {name: np.zeros(1) for name in "abc"}
UNIT = {name: np.ones(1) for name in "abc"}


@pytest.mark.parametrize("count", [16, *LATTICES])
def test_each_input_takes_every_interval_once_and_no_two_hang_together(count):
    places = even_places(count, 12)
    assert np.array_equal(np.sort(places, axis=0), np.tile(np.arange(count)[:, np.newaxis], (1, 12)))
    draws = even_normals(count, 12)
    assert draws.mean(axis=0) == pytest.approx(0.0, abs=0.02)
    assert draws.T @ draws / count == pytest.approx(np.eye(12), abs=1e-9)
    assert np.abs(draws).max() > 1.5


@pytest.mark.parametrize("count", LATTICES)
def test_neighbouring_inputs_fill_their_square(count):
    # Eight by eight fields of equal probability: a lattice leaves none empty and overfills none.
    places = even_places(count, 6) * 8 // count
    for one in range(5):
        held = np.bincount(places[:, one] * 8 + places[:, one + 1], minlength=64)
        assert held.min() >= 0.4 * count / 64
        assert held.max() <= 1.8 * count / 64


@pytest.mark.parametrize("shape", [NORMAL, RECTANGULAR, TRIANGULAR, trapezoid(0.4)])
def test_quantiles_of_the_shapes_are_those_of_their_draws(shape):
    levels = np.array([0.001, 0.01, 0.2, 0.5, 0.7, 0.975])
    drawn = np.quantile(shape.drawn(np.random.default_rng(4), (400_000,)), levels)
    assert shape.quantiles(levels) == pytest.approx(drawn, abs=0.03)
    if shape is not NORMAL:
        assert shape.coverage_factor(0.95) == pytest.approx(float(shape.quantiles(np.array([0.975]))[0]))


def told(function, joint=None):
    first = propagated(function, ONE, UNIT, joint)
    return first, drawn_doubts(function, ONE, UNIT, first, ["y"], joint)["y"]


CASES = {
    # function, standard deviation about zero, ends of the 95 % interval
    "straight": (lambda r: r["a"] + 2 * r["b"], np.sqrt(5), [-1.96 * np.sqrt(5), 1.96 * np.sqrt(5)]),
    "square of a sum": (lambda r: (r["a"] + r["b"]) ** 2, np.sqrt(12), [0.0, 2 * chi2.ppf(0.975, 1)]),
    "two squares": (lambda r: r["a"] ** 2 + r["b"] ** 2, np.sqrt(8), [0.0, chi2.ppf(0.975, 2)]),
    "kink": (lambda r: np.abs(r["a"] - r["c"]), np.sqrt(2), [0.0, np.sqrt(2) * ndtri(0.9875)]),
    "least of two": (
        lambda r: np.minimum(r["a"], r["b"]),
        1.0,
        # P(min < x) = 1 - (1 - P(x))^2
        [float(ndtri(1 - np.sqrt(0.975))), float(ndtri(1 - np.sqrt(0.025)))],
    ),
    "cut off": (lambda r: np.maximum(r["a"] - 1.0, 0.0), np.sqrt(0.0752), [0.0, 0.96]),
}


@pytest.mark.parametrize("name", CASES)
def test_closed_forms(name):
    function, spread, ends = CASES[name]
    first, drawn = told(lambda rows: {"y": function(rows)})
    bent = name != "straight"
    assert (first.departure["y"][0] > BENDS * first.uncertainty["y"][0]) == bent
    assert drawn.uncertainty[0] == pytest.approx(spread, rel=0.02)
    assert [drawn.low[0], drawn.high[0]] == [pytest.approx(each, abs=0.03 * spread) for each in ends]
    agrees = first_order_agrees(first.value["y"], first.uncertainty["y"], drawn)[0]
    assert agrees == (not bent)
    assert AGREES < BENDS


def test_joint_inputs_are_drawn_together():
    factor = 0.8
    root = np.linalg.cholesky(np.array([[1.0, factor], [factor, 1.0]]))
    _, drawn = told(lambda rows: {"y": (rows["a"] - rows["b"]) ** 2}, Joint(("a", "b"), root))
    variance = 2 * (1 - factor)
    assert drawn.uncertainty[0] == pytest.approx(np.sqrt(3) * variance, rel=0.02)
    assert drawn.high[0] == pytest.approx(variance * chi2.ppf(0.975, 1), rel=0.03)


def test_draws_without_solution_are_counted_and_left_out():
    def root(rows):
        with np.errstate(invalid="ignore"):
            return {"y": np.sqrt(1.0 + rows["a"])}

    first, drawn = told(root)
    assert np.isinf(first.departure["y"][0])
    assert drawn.failed[0] == pytest.approx(0.1587, abs=0.002)
    assert np.isfinite(drawn.uncertainty[0])
