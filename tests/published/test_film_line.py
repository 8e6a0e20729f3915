"""Dowson and Higginson's line film: the formula from memory, the number derived by hand from it.

And the meaning of lambda: Norton, *Machine Design*, 4th ed.: below 1 boundary, 1 to 3 mixed, above 3 full
film (published, seen). The entrainment of an eccentric circle Rb 18, e 5 mm: least 9.0 mm (derived).
"""

import numpy as np
import pytest

from valvetrain.mechanics.contact.film import (
    film_regime,
    flat_follower_entrainment,
    flat_follower_sliding,
    flat_follower_surface_speeds,
    lambda_ratio,
    line_film,
)


def test_line_film() -> None:
    film = line_film(
        viscosity=0.01,
        entrainment=1.5,
        pressure_viscosity=1.8e-8,
        load=1000.0,
        rolling_radius=6e-3,
        length=12.7e-3,
        modulus=1e11,
    )
    assert film == pytest.approx(0.1080e-6, abs=0.00005e-6)


@pytest.mark.parametrize(
    ("ratio", "name"), [(0.3, "boundary"), (1.5, "mixed"), (5.0, "full film"), (float("nan"), "unknown")]
)
def test_regimes(ratio: float, name: str) -> None:
    assert film_regime(ratio) == name


def test_lambda_combines_both_surfaces() -> None:
    assert lambda_ratio(1.0e-6, 0.3e-6, 0.4e-6) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="roughness"):
        lambda_ratio(1e-6, -1e-7, 2e-7)


def test_entrainment_of_an_eccentric_circle() -> None:
    angle = np.linspace(0, 2 * np.pi, 3601)
    base, eccentric = 18e-3, 5e-3
    lift, acceleration = eccentric * (1 - np.cos(angle)), eccentric * np.cos(angle)
    entrainment = flat_follower_entrainment(base, lift, acceleration, 1.0)
    assert entrainment.min() == pytest.approx(9.0e-3, abs=1e-12)
    lobe, face = flat_follower_surface_speeds(base, lift, acceleration, 1.0)
    # The circle's own radius is the lobe's surface speed; the difference is the sliding.
    np.testing.assert_allclose(lobe, 23e-3, rtol=1e-12)
    np.testing.assert_allclose(lobe - face, flat_follower_sliding(base, lift, 1.0), rtol=1e-12)
