"""Sadhu Singh, *Machine Design*, Examples 8.1 (p. 227) and 8.3 (p. 229).

Status: seen, in a public re-keying of the book's worked examples (the title from memory). Tolerance: half of
the last printed digit. Left out: a surge figure of 3.079 printed for Example 8.1, which is a slip of units
there; 96.98 Hz is recomputed from its inputs.
"""

import pytest

from valvetrain.mechanics.spring.helical import shear_stress, spring_index, spring_rate, wahl_factor
from valvetrain.mechanics.spring.surge import active_mass, surge_frequency, surge_frequency_from_wire

MM = 1e-3


def test_8_1_wahl_factor():
    assert wahl_factor(spring_index(4.25 * MM, 34 * MM)) == pytest.approx(1.184, abs=0.0005)


def test_8_1_surge_from_the_wire():
    frequency = surge_frequency_from_wire(4.25 * MM, 34 * MM, 14, 84e9, 7800)
    assert frequency == pytest.approx(96.98, abs=0.005)


def test_8_1_surge_from_rate_and_mass():
    rate = spring_rate(4.25 * MM, 34 * MM, 14, 84e9)
    frequency = surge_frequency(rate, active_mass(4.25 * MM, 34 * MM, 14, 7800))
    assert frequency == pytest.approx(96.98, abs=0.005)


WAHL = wahl_factor(6.0)


@pytest.mark.parametrize(
    ("computed", "printed", "tolerance"),
    [
        pytest.param(WAHL, 1.2525, 0.00005, id="Wahl factor"),
        pytest.param(shear_stress(40.0, 3 * MM, 18 * MM, WAHL) / 1e6, 85.05, 0.01, id="stress at 40 N [MPa]"),
        pytest.param(spring_rate(3 * MM, 18 * MM, 15, 84e9) / 1e3, 9.72, 0.005, id="rate [N/mm]"),
        pytest.param(650e6 / shear_stress(1.0, 3 * MM, 18 * MM, WAHL), 305.7, 0.05, id="load at 650 MPa [N]"),
    ],
)
def test_8_3(computed, printed, tolerance):
    assert computed == pytest.approx(printed, abs=tolerance)
