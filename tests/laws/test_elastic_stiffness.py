"""Laws of the train's stiffness: strain energy of the beams, series, round trips, refusals."""

import numpy as np
import pytest
from scipy.integrate import quad

from valvetrain.mechanics.dynamics.elastic_stiffness import (
    at_valve,
    remaining_stiffness,
    rocker_stiffness,
    series_stiffness,
    shaft_stiffness,
    stiffness_from_lift_loss,
)


def test_rocker_by_strain_energy():
    """Castigliano: half F^2/k is the integral of M^2/(2 E I) over both arms, for a unit force at the pad."""
    a, b, second, modulus = 0.038, 0.025, 2.5e-9, 2.0e11
    pad = quad(lambda x: (a - x) ** 2 / (2 * modulus * second), 0, a)[0]
    socket = quad(lambda x: (a / b * (b - x)) ** 2 / (2 * modulus * second), 0, b)[0]
    assert rocker_stiffness(a, b, second, modulus) == pytest.approx(0.5 / (pad + socket), rel=1e-9)


def test_shaft_by_strain_energy():
    a, b, span, modulus = 0.038, 0.025, 0.09, 2.0e11
    load = 1 + a / b
    second = np.pi / 64 * (0.02**4 - 0.012**4)
    energy = 2 * quad(lambda x: (load / 2 * x) ** 2 / (2 * modulus * second), 0, span / 2)[0]
    assert shaft_stiffness(0.02, 0.012, span, modulus, a, b) == pytest.approx(0.5 / energy, rel=1e-9)


def test_lift_loss_of_known_springs_and_back():
    lobe, rod, tip = at_valve(6e7, 1.5), at_valve(3e7, 1.5), 2e7
    whole = series_stiffness(lobe, rod, tip)
    lost = (1100.0 - 60.0) / whole
    found = stiffness_from_lift_loss(0.0100, 0.0100 - lost, 60.0, 1100.0)
    assert found == pytest.approx(whole, rel=1e-9)
    assert remaining_stiffness(found, lobe, rod) == pytest.approx(tip, rel=1e-8)


def test_pushrod_felt_at_the_valve_by_energy():
    force, ratio, k = 700.0, 1.6, 3e7
    at_tappet = 0.5 * (force * ratio) ** 2 / k
    assert 0.5 * force**2 / at_valve(k, ratio) == pytest.approx(at_tappet)


def test_what_cannot_be_told_is_unknown():
    assert np.isnan(stiffness_from_lift_loss(0.010, 0.010, 60.0, 1100.0))
    assert np.isnan(remaining_stiffness(2e7, 1e7))
    assert np.isnan(series_stiffness(1e7, np.nan))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: series_stiffness(1e7, 0.0), "stiffness is 0"),
        (lambda: rocker_stiffness(0.0, 0.02, 1e-9, 2e11), "pad_arm is 0"),
        (lambda: shaft_stiffness(0.02, 0.02, 0.09, 2e11, 0.04, 0.02), "bore is 0.02 m"),
        (lambda: stiffness_from_lift_loss(0.01, 0.009, 100.0, 50.0), "-50 N stronger"),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
