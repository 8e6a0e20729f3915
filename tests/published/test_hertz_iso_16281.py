"""ISO 16281 (rolling bearings): p = 271 sqrt(F/(D L)) [MPa; N, mm], a steel roller on a flat raceway.

Status: published; the coefficient was seen in a comment in open code. Exact for 210 GPa and 0.3: 271.028.
"""

import pytest

from valvetrain.mechanics.contact.hertz import composite_modulus, line_contact


def test_line_coefficient() -> None:
    steel = composite_modulus(210e9, 0.3, 210e9, 0.3)
    load, diameter, length = 900.0, 9e-3, 4e-3
    coefficient = line_contact(load, diameter / 2, length, steel).pressure / 1e6 / (load / 36.0) ** 0.5
    assert coefficient == pytest.approx(271.028, abs=5e-4)
    assert coefficient == pytest.approx(271, abs=0.5)
