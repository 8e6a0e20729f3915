"""Laws of the fits of load against height: exact springs come back, uncertainties are the real scatter."""

import numpy as np
import pytest

from valvetrain.mechanics.spring.progressive import fitted_progressive_spring
from valvetrain.mechanics.spring.tester import LoadTesterUncertainty, fitted_spring_line
from valvetrain.mechanics.spring.tester_faults import load_test_faults

RANDOM = np.random.default_rng(4)
HEIGHT = np.array([0.045, 0.040, 0.034])
RATE, LOAD = 52e3, 420.0  # invented: N/m, N at 45 mm


def test_two_readings_of_many_springs_give_line_and_tester_uncertainty():
    rate = RANDOM.uniform(3e4, 8e4, (5, 7))
    height = np.broadcast_to(HEIGHT[[0, 2]], (5, 7, 2))
    load = LOAD - rate[..., np.newaxis] * (height - 0.045)
    line = fitted_spring_line(height, load, LoadTesterUncertainty(load=2.0))
    np.testing.assert_allclose(line.rate, rate, rtol=1e-12)
    np.testing.assert_allclose(line.load_at(0.045), LOAD, rtol=1e-12)
    assert np.isnan(line.residual).all()
    # Two independent loads, 11 mm apart.
    np.testing.assert_allclose(line.rate_uncertainty, np.sqrt(2) * 2.0 / 0.011, rtol=1e-9)
    np.testing.assert_allclose(line.load_uncertainty_at(0.034), 2.0, rtol=1e-9)
    np.testing.assert_allclose(line.height_at(line.load_at(0.037)), 0.037, rtol=1e-12)
    np.testing.assert_allclose(line.load_at(line.free_height), 0.0, atol=1e-9)


def test_exact_readings_of_a_tester_taken_as_exact_have_no_uncertainty():
    line = fitted_spring_line(HEIGHT, LOAD - RATE * (HEIGHT - 0.045))
    assert line.rate_uncertainty == pytest.approx(0.0, abs=1e-6)
    assert line.freedom == 1


def test_missing_readings_and_single_heights_are_unknown_not_zero():
    height = np.array([[0.045, 0.040, np.nan], [0.045, np.nan, np.nan], [0.04, 0.04, 0.04]])
    load = np.array([[400.0, 650.0, 900.0], [400.0, 650.0, 900.0], [400.0, 401.0, 402.0]])
    line = fitted_spring_line(height, load, LoadTesterUncertainty(load=1.0))
    assert line.rate[0] == pytest.approx(50e3)
    assert np.isnan(line.rate).tolist() == [False, True, True]
    assert np.isnan(line.load_uncertainty_at(0.04)).tolist() == [False, True, True]
    assert line.freedom.tolist() == [0, -1, 1]


@pytest.mark.parametrize("readings", [2, 3, 6])
def test_line_uncertainty_is_the_scatter_of_many_testers(readings):
    """20 000 testers with their own errors: the spread of results is the stated uncertainty within 3 %."""
    tester = LoadTesterUncertainty(load=3.0, height=0.02e-3, zero=4.0, scale=0.01, height_zero=0.15e-3)
    height = np.linspace(0.045, 0.034, readings)
    runs = 20_000
    true = LOAD - RATE * (height - 0.045)

    def drawn(size):
        return RANDOM.normal(size=size)

    read_height = height + 0.02e-3 * drawn((runs, readings)) + 0.15e-3 * drawn((runs, 1))
    read_load = true * (1 + 0.01 * drawn((runs, 1))) + 4.0 * drawn((runs, 1)) + 3.0 * drawn((runs, readings))
    fits = fitted_spring_line(read_height, read_load, tester)
    stated = fitted_spring_line(height, true, tester)
    assert np.std(fits.rate) == pytest.approx(stated.rate_uncertainty, rel=0.03)
    for at in (0.045, 0.038, 0.030):
        assert np.std(fits.load_at(at)) == pytest.approx(stated.load_uncertainty_at(at), rel=0.03)
        assert np.mean(fits.load_at(at)) == pytest.approx(stated.load_at(at), abs=1.0)


def test_scatter_beyond_the_tester_is_believed():
    load = LOAD - RATE * (HEIGHT - 0.045) + np.array([0.0, 30.0, 0.0])
    trusted = fitted_spring_line(HEIGHT, load, LoadTesterUncertainty(load=1.0))
    alone = fitted_spring_line(HEIGHT, load)
    assert trusted.rate_uncertainty == pytest.approx(alone.rate_uncertainty)
    assert trusted.residual > 10.0


def test_weights_of_two_count_as_two_readings():
    doubled = fitted_spring_line(
        np.append(HEIGHT, HEIGHT[0]), np.array([400, 700, 990, 400.0]), LoadTesterUncertainty(load=50.0)
    )
    weighted = fitted_spring_line(
        HEIGHT, np.array([400, 700, 990.0]), LoadTesterUncertainty(load=50.0), weight=[2, 1, 1]
    )
    for name in ("rate", "mean_height", "mean_load", "rate_variance", "mean_variance"):
        assert getattr(weighted, name) == pytest.approx(getattr(doubled, name), rel=1e-12)
    with pytest.raises(ValueError, match="weights must not be negative"):
        fitted_spring_line(HEIGHT, HEIGHT, weight=-1.0)


def test_progressive_spring_of_a_quadratic_comes_back():
    height = np.linspace(0.045, 0.031, 5)
    load = 400.0 - 40e3 * (height - 0.045) + 1.5e6 * (height - 0.045) ** 2
    spring = fitted_progressive_spring(height, load)
    at = np.array([[0.044, 0.040], [0.035, 0.031]])
    np.testing.assert_allclose(
        spring.load_at(at), 400 - 40e3 * (at - 0.045) + 1.5e6 * (at - 0.045) ** 2, rtol=1e-11
    )
    np.testing.assert_allclose(spring.rate_at(at), 40e3 - 3e6 * (at - 0.045), rtol=1e-9)
    step = 1e-6
    slope = (spring.load_at(at - step) - spring.load_at(at + step)) / (2 * step)
    np.testing.assert_allclose(spring.rate_at(at), slope, rtol=1e-7)
    assert spring.in_tested_range([0.03, 0.031, 0.04, 0.046, np.nan]).tolist() == [
        False,
        True,
        True,
        False,
        False,
    ]
    assert not spring.straight


def test_progressive_fit_of_a_falling_rate_is_the_best_line():
    load = np.array([400.0, 700.0, 900.0])
    height = np.array([0.045, 0.040, 0.035])
    spring = fitted_progressive_spring(height, load, LoadTesterUncertainty(load=5.0))
    line = fitted_spring_line(height, load, LoadTesterUncertainty(load=5.0))
    assert spring.straight
    at = np.array([0.044, 0.033])
    np.testing.assert_allclose(spring.load_at(at), line.load_at(at), rtol=1e-12)
    np.testing.assert_allclose(spring.load_uncertainty_at(at), line.load_uncertainty_at(at), rtol=1e-9)
    np.testing.assert_allclose(spring.rate_uncertainty_at(at), line.rate_uncertainty, rtol=1e-9)


def test_progressive_uncertainty_is_the_scatter_of_many_testers():
    tester = LoadTesterUncertainty(load=2.0, height=0.01e-3, zero=3.0, scale=0.005, height_zero=0.1e-3)
    height = np.linspace(0.045, 0.031, 5)
    true = 400.0 - 40e3 * (height - 0.045) + 2.5e6 * (height - 0.045) ** 2
    stated = fitted_progressive_spring(height, true, tester)
    runs = []
    for _ in range(3000):
        read_height = height + 0.01e-3 * RANDOM.normal(size=5) + 0.1e-3 * RANDOM.normal()
        read = true * (1 + 0.005 * RANDOM.normal()) + 3 * RANDOM.normal() + 2 * RANDOM.normal(size=5)
        fit = fitted_progressive_spring(read_height, read, tester)
        runs.append([fit.load_at(0.036), fit.rate_at(0.036)])
    scatter = np.std(runs, axis=0)
    assert scatter[0] == pytest.approx(stated.load_uncertainty_at(0.036), rel=0.05)
    assert scatter[1] == pytest.approx(stated.rate_uncertainty_at(0.036), rel=0.05)


def test_progressive_fit_refuses_what_it_cannot_use():
    with pytest.raises(ValueError, match="three different heights: there are 2"):
        fitted_progressive_spring([0.04, 0.04, 0.03], [1.0, 2.0, 3.0])
    with pytest.raises(ValueError, match="does not fall as the height grows"):
        fitted_progressive_spring([0.045, 0.040, 0.035], [900.0, 600.0, 700.0])


@pytest.mark.parametrize(
    ("height", "load", "rows", "words"),
    [
        ([0.045, 0.034], [400.0, 950.0], [], ""),
        ([], [], [0], "0 reading"),
        ([0.045], [400.0], [0], "1 reading"),
        ([0.045, np.nan], [400.0, 950.0], [0], "1 reading"),
        ([0.045, 0.045], [400.0, 402.0], [1], "same height"),
        ([0.045, 0.040, 0.034], [400.0, 390.0, 950.0], [0], "rises with the height"),
        ([0.045, 0.034], [950.0, 400.0], [0], "rises with the height"),
        ([1.143, 0.864], [400.0, 950.0], [0], "in millimetres and taken as inches"),
        ([0.00177, 0.00134], [400.0, 950.0], [1], "in inches and taken as millimetres"),
        ([0.045, 0.034], [400.0, 402.0], [1], "rate comes out at 0.182 N/mm"),
        ([0.045, 0.044], [400.0, 1400.0], [1], "rate comes out at 1e+03 N/mm"),
        ([0.045, -0.034, 0.034], [400.0, 950.0, 950.0], [1], "must be above zero"),
        ([0.045, 0.034], [-400.0, 950.0], [0, 1], "only pushes"),
    ],
)
def test_faults_name_the_row_and_the_likely_slip(height, load, rows, words):
    faults = load_test_faults(height, load)
    assert [row for row, _ in faults] == rows
    if rows:
        assert words in faults[0][1]


def test_bad_tester_is_refused():
    with pytest.raises(ValueError, match=r"tester uncertainty scale is -0\.1"):
        LoadTesterUncertainty(scale=-0.1)
    with pytest.raises(ValueError, match="two lists of the same length"):
        load_test_faults([0.04], [1.0, 2.0])
    with pytest.raises(ValueError, match="readings along the last axis"):
        fitted_spring_line(0.04, 100.0)
