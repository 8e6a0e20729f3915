"""Norton, *Machine Design*, the crowned roller on a cam: radii 1 and 20 in on 3.46 in, 250 lb.

Status: memory. The printed answers come from a table of factors (2 %). Tested against the exact solution of
the same inputs with 30e6 psi and 0.3 (0.28 would move the pressure by 0.8 %), computed independently:
k 8.094, a 0.08983 in, b 0.011098 in, 119.74 ksi.
"""

import pytest

from valvetrain.mechanics.contact.hertz import composite_modulus, elliptical_contact, relative_curvatures

INCH, POUND_FORCE = 0.0254, 4.4482216152605
PSI = POUND_FORCE / INCH**2


def test_crowned_roller() -> None:
    steel = composite_modulus(30e6 * PSI, 0.3, 30e6 * PSI, 0.3)
    curvatures = relative_curvatures(1 * INCH, 20 * INCH, 3.46 * INCH, float("inf"))
    found = elliptical_contact(250 * POUND_FORCE, *curvatures, steel)
    assert found.ellipticity == pytest.approx(8.094, abs=5e-4)
    assert found.semi_major == pytest.approx(0.08983 * INCH, abs=5e-6 * INCH)
    assert found.semi_minor == pytest.approx(0.011098 * INCH, abs=5e-7 * INCH)
    assert found.pressure == pytest.approx(119.74e3 * PSI, abs=5 * PSI)
