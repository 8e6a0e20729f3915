"""Rothbart (ed.), Cam Design Handbook, McGraw-Hill (2004), chapter 11, pp. 349-353: a valvetrain reduced.

Status: the inputs and the printed answers were seen. Printed answers have two or three figures; the exact
ones beside them were recomputed from the inputs (the frequencies with the printed stiffness of 660 lb/in, as
the book goes on with it), and the tests hold to those.
"""

import numpy as np
import pytest

from valvetrain.mechanics.dynamics.vibration import (
    natural_frequency,
    rod_stiffness,
    train_mass_at_tappet,
    train_stiffness_at_tappet,
    two_mass_frequencies,
)

POUND = 0.45359237
INCH = 0.0254
POUND_FORCE = POUND * 9.80665
RATE = POUND_FORCE / INCH
PSI = POUND_FORCE / INCH**2


@pytest.mark.parametrize(("length", "printed"), [(4.75, 4.7e5), (7.4, 3.0e5)], ids=["stem", "pushrod"])
def test_stiffness_of_rods(length, printed):
    stiffness = rod_stiffness(30e6 * PSI, 0.075 * INCH**2, length * INCH) / RATE
    assert stiffness == pytest.approx(0.075 * 30e6 / length, rel=1e-12)
    assert stiffness == pytest.approx(printed, abs=0.05e5)


def equivalent_mass():
    return train_mass_at_tappet(
        follower_mass=(0.270 + 0.114) * POUND,
        rocker_inertia=0.132 * POUND * INCH**2,
        socket_arm=0.875 * INCH,
        valve_mass=(0.251 + 0.153 / 3) * POUND,
        ratio=1.7,
    )


def test_equivalent_mass_stiffness_and_frequency():
    mass = equivalent_mass()
    stiffness = train_stiffness_at_tappet(230 * RATE, 1.7)
    frequency = natural_frequency(mass, 660 * RATE) / (2 * np.pi)
    assert mass / POUND == pytest.approx(1.4292, abs=0.00005)
    assert mass / POUND == pytest.approx(1.43, abs=0.005)
    assert stiffness / RATE == pytest.approx(664.7, abs=0.05)
    assert stiffness / RATE == pytest.approx(660, abs=5)
    assert frequency == pytest.approx(67.2, abs=0.05)
    assert frequency == pytest.approx(67, abs=0.5)
    assert natural_frequency(1.43 * POUND, 660 * RATE) / (2 * np.pi) == pytest.approx(67.2, abs=0.05)


def test_two_masses():
    first = 0.270 + 0.114 / 2
    second = 0.114 / 2 + 0.132 / 0.875**2 + 1.7**2 * (0.251 + 0.153 / 3)
    assert second == pytest.approx(1.10, abs=0.005)
    low, high = two_mass_frequencies(first * POUND, second * POUND, 3.0e5 * RATE, 660 * RATE)
    assert low / (2 * np.pi) == pytest.approx(67.20, abs=0.005)
    assert high / (2 * np.pi) == pytest.approx(3411.1, abs=0.05)
    assert high / (2 * np.pi) == pytest.approx(3400, abs=50)


def test_two_masses_against_the_eigenvalues_of_the_matrices():
    low, high = two_mass_frequencies(0.3, 1.1, 2e5, 3e4)
    stiffness = np.array([[2e5, -2e5], [-2e5, 2e5 + 3e4]])
    values = np.sort(np.linalg.eigvals(stiffness / np.array([[0.3], [1.1]])))
    assert np.allclose(np.sqrt(values), [low, high], rtol=1e-10)


@pytest.mark.parametrize("mass", [0.0, -1.0])
def test_a_mass_must_be_greater_than_zero(mass):
    with pytest.raises(ValueError, match=r"mass is -?\d; it must be greater than zero"):
        natural_frequency(mass, 1.0)
