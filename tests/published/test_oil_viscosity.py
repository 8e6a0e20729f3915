"""Oil viscosity: ASTM D341, ASTM D2270, SAE J300 (2015), Roelands.

Status of each value beside it. `chemicals` (MIT) holds the standard's tabulated L and H and is an
independent computation of the viscosity index.
"""

import chemicals.viscosity
import numpy as np
import pytest

from valvetrain.mechanics.oil.viscosity import (
    J300_EDITION,
    density_at,
    dynamic_viscosity,
    kinematic_viscosity,
    kinematic_viscosity_at_40,
    pressure_viscosity_estimate,
    roelands_exponent,
    roelands_viscosity,
    sae_grade,
    viscosity_index,
)

CST = 1e-6
T40, T100 = 313.15, 373.15


def test_d341_between_two_points() -> None:
    # published (seen): 8.5 cSt at 80 degC; 8.53 from the formula
    found = kinematic_viscosity(353.15, 32 * CST, T40, 5.4 * CST, T100)
    assert found == pytest.approx(8.53 * CST, abs=0.005 * CST)


def test_d341_returns_its_points_and_ends_at_2_cst() -> None:
    points = kinematic_viscosity([T40, T100], 95 * CST, T40, 14 * CST, T100)
    np.testing.assert_allclose(points, [95 * CST, 14 * CST], rtol=1e-12)
    assert np.isnan(kinematic_viscosity(500.0, 32 * CST, T40, 5.4 * CST, T100))
    with pytest.raises(ValueError, match=r"1\.5 cSt"):
        kinematic_viscosity(350.0, 5 * CST, T40, 1.5 * CST, T100)
    with pytest.raises(ValueError, match="two temperatures"):
        kinematic_viscosity(350.0, 5 * CST, T40, 5 * CST, T40)


@pytest.mark.parametrize(
    ("at_40", "at_100", "index"),
    [
        pytest.param(73.30, 8.86, 92, id="D2270 example, seen"),
        pytest.param(22.83, 5.05, 156, id="D2270 example, memory"),
        pytest.param(53.47, 7.80, 111, id="D2270 example 2, memory"),
    ],
)
def test_viscosity_index(at_40: float, at_100: float, index: int) -> None:
    assert round(float(viscosity_index(at_40 * CST, at_100 * CST))) == index


def test_viscosity_index_agrees_with_the_tabulated_standard() -> None:
    rng = np.random.default_rng(1)
    thin = rng.uniform(2.2, 90, 300)
    thick = kinematic_viscosity_at_40(thin * CST, rng.uniform(40, 250, 300)) / CST
    ours = viscosity_index(thick * CST, thin * CST)
    theirs = [chemicals.viscosity.viscosity_index(a * CST, b * CST) for a, b in zip(thick, thin, strict=True)]
    # The polynomials meet the table to 0.1 % of L and H; the steep power law below 3 cSt makes 1 of it.
    np.testing.assert_allclose(ours, theirs, atol=1.0)


def test_viscosity_index_round_trip() -> None:
    index = np.array([0.0, 60, 100, 100.5, 160, 300])
    thin = np.array([[3.0], [8.0], [14.0], [80.0]]) * CST
    np.testing.assert_allclose(
        viscosity_index(kinematic_viscosity_at_40(thin, index), thin), np.tile(index, (4, 1)), atol=1e-9
    )


@pytest.mark.parametrize(
    ("name", "low", "high", "shear"),
    [
        pytest.param("20", 6.9, 9.3, 2.6, id="20"),
        pytest.param("SAE 30", 9.3, 12.5, 2.9, id="30"),
        pytest.param("10W-40", 12.5, 16.3, 3.5, id="10W-40"),
        pytest.param("15W40", 12.5, 16.3, 3.7, id="15W-40"),
        pytest.param("20w/50", 16.3, 21.9, 3.7, id="20W-50"),
        pytest.param("60", 21.9, 26.1, 3.7, id="60"),
        pytest.param("25W", 9.3, float("inf"), float("nan"), id="25W"),
    ],
)
def test_grades(name: str, low: float, high: float, shear: float) -> None:
    grade = sae_grade(name)
    assert grade.minimum == pytest.approx(low * CST)
    assert grade.maximum == pytest.approx(high * CST)
    assert grade.high_shear == pytest.approx(shear * 1e-3, nan_ok=True)
    assert grade.edition == J300_EDITION == "SAE J300, 2015"


@pytest.mark.parametrize("name", ["35", "7W-40", "W40", "", "10W-45"])
def test_unknown_grades_are_named(name: str) -> None:
    with pytest.raises(ValueError, match="is not in SAE J300"):
        sae_grade(name)


def test_roelands_has_the_asked_slope_and_stays_below_barus() -> None:
    # memory: the constants; the slope at zero pressure is alpha by definition
    eta, alpha = 0.012, 1.8e-8
    exponent = roelands_exponent(eta, alpha)
    step = 1e3
    slope = np.log(roelands_viscosity(step, eta, exponent) / eta) / step
    assert slope == pytest.approx(alpha, rel=1e-4)
    assert roelands_viscosity(0.0, eta, exponent) == eta
    # Independent arithmetic at 1 GPa: Z = 1.8e-8/(5.1e-9*5.24715) = 0.672632; 6.1^Z = 3.37479.
    assert exponent == pytest.approx(0.672632, rel=1e-5)
    assert roelands_viscosity(1e9, eta, exponent) == pytest.approx(
        0.012 * np.exp(5.24715 * 2.37479), rel=1e-3
    )
    assert roelands_viscosity(1e9, eta, exponent) < eta * np.exp(alpha * 1e9)


def test_pressure_viscosity_of_a_mineral_oil() -> None:
    # memory: Wooster's rule; 1 cP 0.6e-8, 10 cP 1.565e-8
    np.testing.assert_allclose(pressure_viscosity_estimate([1e-3, 10e-3]), [0.6e-8, 1.565e-8], rtol=1e-12)


def test_dynamic_viscosity_and_negative_input() -> None:
    assert dynamic_viscosity(10 * CST, density_at(288.15)) == pytest.approx(8.75e-3)
    assert density_at(388.15) == pytest.approx(875 * 0.93)
    with pytest.raises(ValueError, match="kinematic viscosity is -1"):
        dynamic_viscosity(-1.0, 800.0)
