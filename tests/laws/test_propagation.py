"""Propagation, budget and Monte Carlo: against `uncertainties` and `GTC`, limits, and each other."""

import numpy as np
import pytest
import uncertainties
from GTC import dof, uncertainty, ureal, value
from GTC import sin as gtc_sin
from GTC import sqrt as gtc_sqrt
from uncertainties import umath

from valvetrain.mechanics.uncertainty.budget import budgets, coverage_factor, second_order_variance
from valvetrain.mechanics.uncertainty.distributions import (
    NORMAL,
    RECTANGULAR,
    TRIANGULAR,
    Distribution,
    trapezoid,
)
from valvetrain.mechanics.uncertainty.monte_carlo import simulated
from valvetrain.mechanics.uncertainty.propagation import propagated
from valvetrain.mechanics.uncertainty.streamed_statistics import StreamedStatistics

SHAPES = {
    "normal": NORMAL,
    "rectangular": RECTANGULAR,
    "triangular": TRIANGULAR,
    "trapezoid": trapezoid(0.4),
}


def expression(a, b, c, d, sine, root):
    return a * sine(b) / root(c * c + d * d) + b * c


def case(seed, freedom_too=False):
    generator = np.random.default_rng(seed)
    values = {name: generator.uniform(0.5, 2.0, 1) for name in "abcd"}
    # Small, so that moves of one uncertainty leave the linear answer good to 1e-6.
    spread = {name: generator.uniform(1e-5, 1e-3, 1) for name in "abcd"}
    freedom = {name: float(generator.integers(2, 40)) for name in "abcd"}
    return (values, spread, freedom) if freedom_too else (values, spread)


def function(inputs):
    return {"y": expression(*(inputs[name] for name in "abcd"), np.sin, np.sqrt)}


@pytest.mark.parametrize("seed", range(30))
def test_agrees_with_uncertainties(seed):
    values, spread = case(seed)
    peers = [uncertainties.ufloat(values[name][0], spread[name][0]) for name in "abcd"]
    peer = expression(*peers, umath.sin, umath.sqrt)
    result = propagated(function, values, spread)
    assert result.value["y"][0] == pytest.approx(peer.nominal_value, rel=1e-12)
    assert result.uncertainty["y"][0] == pytest.approx(peer.std_dev, rel=1e-5)
    for name, variable in zip("abcd", peers, strict=True):
        expected = peer.derivatives[variable] * variable.std_dev
        assert result.contributions["y"][name][0] == pytest.approx(expected, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_budget_agrees_with_gtc(seed):
    values, spread, freedom = case(seed, freedom_too=True)
    peers = [ureal(values[name][0], spread[name][0], freedom[name]) for name in "abcd"]
    peer = expression(*peers, gtc_sin, gtc_sqrt)
    budget = budgets(propagated(function, values, spread), degrees_of_freedom=freedom)["y"]
    assert budget.value[0] == pytest.approx(value(peer), rel=1e-12)
    assert budget.uncertainty[0] == pytest.approx(uncertainty(peer), rel=1e-5)
    assert budget.degrees_of_freedom[0] == pytest.approx(dof(peer), rel=1e-4)
    assert budget.expanded[0] == pytest.approx(
        coverage_factor(budget.degrees_of_freedom)[0] * budget.uncertainty[0]
    )
    assert sum(part[0] for part in budget.share.values()) == pytest.approx(1.0, abs=1e-12)


def test_missing_inputs_and_lost_solutions():
    def square_root(inputs):
        with np.errstate(invalid="ignore"):
            return {"y": np.sqrt(inputs["x"]) + 0.0 * inputs["z"]}

    values = {"x": np.array([1.0, 0.5e-3, np.nan, 4.0]), "z": np.zeros(4)}
    result = propagated(square_root, values, {"x": np.array([1e-3, 1e-3, 1e-3, np.nan])})
    assert result.uncertainty["y"][0] == pytest.approx(0.5e-3, rel=1e-6)
    one_sided = np.sqrt(1.5e-3) - np.sqrt(0.5e-3)  # the move downward has no square root
    assert result.uncertainty["y"][1] == pytest.approx(one_sided)
    assert np.isnan(result.uncertainty["y"][2])
    assert result.uncertainty["y"][3] == 0.0


def test_an_output_that_stays_infinite_is_certain_and_one_that_leaves_is_not():
    def buckling(inputs):
        return {"y": np.where(inputs["x"] < 2.0, np.inf, 1.0) + 0.0 * inputs["x"]}

    result = propagated(buckling, {"x": np.array([1.0, 1.95])}, {"x": np.array([0.1, 0.1])})
    assert result.uncertainty["y"].tolist() == [0.0, np.inf]


def test_second_order_of_a_square_and_a_product():
    # x^2 of a normal x with mean m: variance 4 m^2 u^2 + 2 u^4; product: the second-order term u^2 v^2.
    values = {"x": np.array([0.0, 3.0]), "y": np.array([2.0, 0.0])}
    spread = {"x": np.array([0.5, 0.2]), "y": np.array([0.3, 0.1])}
    extra = second_order_variance(
        lambda inputs: {"square": inputs["x"] ** 2, "product": inputs["x"] * inputs["y"]}, values, spread
    )
    assert extra["square"] == pytest.approx(2.0 * spread["x"] ** 4)
    assert extra["product"] == pytest.approx((spread["x"] * spread["y"]) ** 2)


def test_second_order_with_a_third_derivative():
    # x^3 of a normal x with mean m and u: exact variance 9 m^4 u^2 + 36 m^2 u^4 + 15 u^6.
    mean, spread = 2.0, 0.01
    extra = second_order_variance(
        lambda inputs: {"cube": inputs["x"] ** 3}, {"x": np.array([mean])}, {"x": np.array([spread])}
    )
    linear = propagated(
        lambda inputs: {"cube": inputs["x"] ** 3}, {"x": np.array([mean])}, {"x": np.array([spread])}
    )
    exact = 9 * mean**4 * spread**2 + 36 * mean**2 * spread**4
    # The move of one uncertainty already holds u^3 f'''/6 in the first-order part: 2 m u^4 x 3 m.
    first = (3 * mean**2 * spread + spread**3) ** 2
    assert linear.uncertainty["cube"][0] ** 2 == pytest.approx(first, rel=1e-9)
    assert extra["cube"][0] == pytest.approx(36 * mean**2 * spread**4, rel=1e-3)
    assert first + extra["cube"][0] == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_monte_carlo_agrees_with_linear(seed):
    values, spread = case(seed)
    linear = propagated(function, values, spread)
    found = simulated(function, values, spread, samples=200_000, seed=seed)
    expected = linear.uncertainty["y"][0]
    assert found.uncertainty["y"][0] == pytest.approx(expected, rel=0.007)
    assert found.mean["y"][0] == pytest.approx(linear.value["y"][0], abs=0.01 * expected)
    assert found.expanded["y"][0] == pytest.approx(1.96 * expected, rel=0.02)


@pytest.mark.parametrize("name", SHAPES)
def test_shapes_have_unit_deviation_and_their_half_width(name):
    shape = SHAPES[name]
    draws = shape.drawn(np.random.default_rng(3), (400_000,))
    assert np.std(draws) == pytest.approx(1.0, abs=0.005)
    assert np.max(np.abs(draws)) <= shape.half_width
    if np.isfinite(shape.half_width):
        assert np.max(np.abs(draws)) == pytest.approx(shape.half_width, rel=0.01)
    for probability in (0.3, 0.5, 0.95):
        inside = np.mean(np.abs(draws) <= shape.coverage_factor(probability))
        assert inside == pytest.approx(probability, abs=0.004)


@pytest.mark.parametrize("name", SHAPES)
def test_the_pieces_do_not_matter(name):
    def study(inputs):
        return {"y": inputs["a"] * inputs["b"] + inputs["c"]}

    values = {"a": np.array([1.0, 2.0]), "b": np.array([3.0, 4.0]), "c": np.array([0.0, 1.0])}
    spread = {"a": np.array([0.1, 0.2]), "b": np.array([0.1, 0.1])}
    results = [
        simulated(
            study,
            values,
            spread,
            samples=10_000,
            seed=5,
            distributions={"a": SHAPES[name]},
            shared=("b",),
            chunk=chunk,
        )
        for chunk in (10_000, 4096, 777)
    ]
    for other in results[1:]:
        for field in ("mean", "uncertainty", "low", "high", "edges", "counts"):
            assert getattr(other, field)["y"] == pytest.approx(getattr(results[0], field)["y"], rel=1e-9)


def test_another_input_or_seed():
    values = {"a": np.zeros(1)}
    spread = {"a": np.ones(1)}
    plain = simulated(lambda inputs: {"y": inputs["a"]}, values, spread, samples=5000, seed=1)
    more = simulated(
        lambda inputs: {"y": inputs["a"]},
        {"b": np.zeros(1), **values},
        {"b": np.ones(1), **spread},
        samples=5000,
        seed=1,
    )
    other = simulated(lambda inputs: {"y": inputs["a"]}, values, spread, samples=5000, seed=2)
    assert more.mean["y"][0] == plain.mean["y"][0]
    assert other.mean["y"][0] != plain.mean["y"][0]


def test_shared_inputs_are_common_to_all_valves():
    values = {"height": np.zeros(2), "tip": np.zeros(2)}
    spread = {"height": np.ones(2), "tip": np.ones(2)}

    def difference(inputs):
        gap = inputs["height"] - inputs["tip"]
        return {"between": (gap[:, :1] - gap[:, 1:]) * np.ones(2)}

    alone = simulated(difference, values, spread, samples=50_000, seed=3)
    common = simulated(difference, values, spread, samples=50_000, seed=3, shared=("height",))
    assert alone.uncertainty["between"][0] == pytest.approx(2.0, rel=0.02)
    assert common.uncertainty["between"][0] == pytest.approx(np.sqrt(2.0), rel=0.02)


def test_draws_without_solution_are_counted_and_progress_is_told():
    told = []

    def root(inputs):
        with np.errstate(invalid="ignore"):
            return {"y": np.sqrt(inputs["x"])}

    found = simulated(
        root,
        {"x": np.zeros(1)},
        {"x": np.ones(1)},
        samples=20_000,
        seed=4,
        chunk=3000,
        progress=lambda done, wanted: told.append((done, wanted)),
    )
    assert found.failed["y"][0] == pytest.approx(0.5, abs=0.02)
    assert found.low["y"][0] > 0.0
    assert told[0] == (3000, 20_000)
    assert told[-1] == (20_000, 20_000)


def test_quantiles_against_all_samples_kept():
    generator = np.random.default_rng(8)
    samples = np.column_stack(
        [generator.normal(1e6, 2.0, 60_000), generator.exponential(1.0, 60_000), np.full(60_000, 7.0)]
    )
    samples[::10, 1] = np.nan
    statistics = StreamedStatistics(3)
    for start in range(0, 60_000, 5000):
        statistics.add(samples[start : start + 5000])
    levels = [0.001, 0.025, 0.5, 0.975, 0.999]
    exact = np.nanquantile(samples, levels, axis=0)
    deviation = np.nanstd(samples, axis=0, ddof=1)
    assert statistics.deviation[:2] == pytest.approx(deviation[:2], rel=1e-9)
    assert statistics.mean == pytest.approx(np.nanmean(samples, axis=0), rel=1e-12)
    miss = np.abs(statistics.quantiles(levels) - exact)[:, :2] / deviation[:2]
    assert np.all(miss[:-1] < 0.007)
    assert np.all(miss[-1] < 0.03)  # in the far tail neighboring samples themselves lie that far apart
    assert statistics.quantiles(levels)[:, 2] == pytest.approx(7.0, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Distribution("trapezoid", 1.5), "top of the trapezoid is 1.5"),
        (lambda: NORMAL.coverage_factor(1.0), "coverage probability is 1"),
        (lambda: coverage_factor(np.array([3.0]), 0.0), "coverage probability is 0"),
        (lambda: simulated(function, *case(1), samples=1, seed=0), "number of samples is 1"),
        (
            lambda: simulated(lambda i: i, {"x": np.ones(1)}, {"x": -np.ones(1)}, samples=5, seed=0),
            "cannot be below 0",
        ),
    ],
)
def test_bad_input(call, message):
    with pytest.raises(ValueError, match=message):
        call()
