"""Boresi and Schmidt, *Advanced Mechanics of Materials*, chapter 17, examples 17.1 and 17.3.

Status: published (the examples' data and answers seen in a public re-keying). The printed answers of 17.1
come from a chart (1597 MPa); tested against the exact solution, computed independently.
"""

import numpy as np
import pytest

from valvetrain.mechanics.contact.hertz import (
    composite_modulus,
    elliptical_contact,
    line_contact,
    relative_curvatures,
)

STEEL = composite_modulus(200e9, 0.29, 200e9, 0.29)


def test_17_3_two_equal_cylinders() -> None:
    found = line_contact(24.1e3, 0.040 / 2, 0.020, STEEL)
    assert found.half_width == pytest.approx(0.53014e-3, abs=0.000005e-3)
    assert found.pressure == pytest.approx(1447.0e6, abs=0.05e6)


def test_17_1_crossed_bodies() -> None:
    least, most = relative_curvatures(0.060, 0.130, 0.080, 0.200, np.pi / 3)
    assert most / least == pytest.approx(1.49730, abs=5e-6)
    found = elliptical_contact(4.5e3, least, most, STEEL)
    assert found.ellipticity == pytest.approx(1.30853, abs=5e-6)
    assert found.pressure == pytest.approx(1641.9e6, abs=0.05e6)
    assert found.pressure == pytest.approx(1597e6, rel=0.03)  # the printed, read from a chart
