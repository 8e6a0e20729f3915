"""Stachowiak and Batchelor, *Engineering Tribology*, chapter 7: two steel balls.

Status: inputs published (seen); the answers are recomputed from them independently.
"""

import pytest

from valvetrain.mechanics.contact.hertz import composite_modulus, elliptical_contact


def test_two_balls() -> None:
    modulus = composite_modulus(210e9, 0.3, 210e9, 0.3)
    assert 2 * modulus == pytest.approx(230.8e9, abs=0.05e9)
    curvature = 1 / 10e-3 + 1 / 15e-3
    found = elliptical_contact(5.0, curvature, curvature, modulus)
    assert found.semi_major == pytest.approx(57.99e-6, abs=0.005e-6)
    assert found.semi_minor == pytest.approx(57.99e-6, abs=0.005e-6)
    assert found.pressure == pytest.approx(709.9e6, abs=0.05e6)
