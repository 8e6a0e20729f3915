"""Ratio of axes and elliptic integrals over the ratio of curvatures, and a crowned tappet on a lobe.

Status: derived (an independent computation from the defining integrals, no publication). Hamrock and Dowson's
approximation k = (B/A)^(2/pi) (memory) is said to err by up to 4 % over the usual range.
"""

import numpy as np
import pytest
from scipy.special import ellipe, ellipk

from valvetrain.mechanics.contact.hertz import composite_modulus, crowned_tappet_on_lobe, ellipticity


@pytest.mark.parametrize(
    ("ratio", "k", "second", "first"),
    [
        pytest.param(1.25, 1.1604, 1.4643, 1.6897, id="1.25"),
        pytest.param(2, 1.5858, 1.2972, 1.9521, id="2"),
        pytest.param(5, 2.8902, 1.1205, 2.4937, id="5"),
        pytest.param(10, 4.4994, 1.0599, 2.9142, id="10"),
        pytest.param(50, 12.0711, 1.0116, 3.8821, id="50"),
    ],
)
def test_ellipse_of_curvature_ratio(ratio: float, k: float, second: float, first: float) -> None:
    found = ellipticity(ratio)
    assert found == pytest.approx(k, abs=5.1e-5)
    assert ellipe(1 - 1 / found**2) == pytest.approx(second, abs=5.1e-5)
    assert ellipk(1 - 1 / found**2) == pytest.approx(first, abs=5.1e-5)


def test_power_law_approximation_is_near() -> None:
    ratio = np.geomspace(1, 50, 50)
    error = np.abs(ratio ** (2 / np.pi) / ellipticity(ratio) - 1)
    assert error.max() < 0.04


@pytest.mark.parametrize(("crown", "pressure"), [(0.760, 1068.9e6), (1.500, 934.9e6), (2.540, 844.7e6)])
def test_crowned_tappet(crown: float, pressure: float) -> None:
    modulus = composite_modulus(210e9, 0.3, 130e9, 0.26)
    found = crowned_tappet_on_lobe(
        load=1000.0, lobe_radius=6e-3, crown_radius=crown, lobe_width=12.7e-3, modulus=modulus
    )
    assert found.pressure == pytest.approx(pressure, abs=0.05e6)
    assert not found.line
