"""Hamrock and Dowson, the cylindrical roller bearing example of the NASA reports.

Status: memory. Races 64 and 96 mm, rollers 16 mm long and across, nine of them, 10.8 kN, 524 rad/s,
0.01 Pa s, 2.2e-8 1/Pa, 207.5 GPa (0.3): U 6.894e-11, G 5016, inner race hmin/Rx 5.05e-5, 0.323 um.
"""

import pytest

from valvetrain.mechanics.contact.film import elliptical_film
from valvetrain.mechanics.contact.hertz import composite_modulus


def test_inner_race() -> None:
    inner, outer, roller = 0.064, 0.096, 0.016
    pitch = 0.5 * (inner + outer)
    modulus = composite_modulus(207.5e9, 0.3, 207.5e9, 0.3)
    rolling_radius = 1 / (2 / roller + 2 / inner)
    speed = (pitch**2 - roller**2) / (4 * pitch) * 524
    assert 0.01 * speed / (2 * modulus * rolling_radius) == pytest.approx(6.894e-11, rel=5e-4)
    assert 2.2e-8 * 2 * modulus == pytest.approx(5016, rel=5e-4)
    film = elliptical_film(
        viscosity=0.01,
        entrainment=speed,
        pressure_viscosity=2.2e-8,
        load=4 * 10.8e3 / 9,
        rolling_radius=rolling_radius,
        ellipticity=float("inf"),
        modulus=modulus,
    )
    assert film / rolling_radius == pytest.approx(5.05e-5, abs=0.01e-5)
    assert film == pytest.approx(0.323e-6, abs=0.001e-6)


def test_shape_factor_of_a_short_ellipse() -> None:
    # Arithmetic on the formula: 1 - exp(-0.68 x 2) = 0.743339 of the long ellipse's film.
    films = elliptical_film(
        viscosity=0.01,
        entrainment=2.0,
        pressure_viscosity=2e-8,
        load=500.0,
        rolling_radius=6e-3,
        ellipticity=[2.0, float("inf")],
        modulus=1e11,
    )
    assert films[0] / films[1] == pytest.approx(0.743339, abs=1e-6)
