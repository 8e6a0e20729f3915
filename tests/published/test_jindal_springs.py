"""Jindal, *Machine Design*, Examples 8-7 (p. 228) and 8-1 (p. 224).

Status: seen, in a public re-keying of the book's worked examples (the title from memory); of 8-1 only the
inputs. Tolerance: half of the last printed digit. Example 8-1 prints 16.0 N/mm, rounded early; the exact
16.204 is tested.
"""

import pytest

from valvetrain.mechanics.spring.helical import solid_height, spring_rate

MM = 1e-3


def test_8_7_rate():
    wire, outside = 1.016 * MM, 12.6 * MM
    assert spring_rate(wire, outside - wire, 14, 81e9) / 1e3 == pytest.approx(0.496, abs=0.0005)


def test_8_7_solid_height():
    # 15 wires high: 14 active coils and one of the plain ends.
    assert solid_height(1.016 * MM, 14, "plain") / MM == pytest.approx(15.24, abs=0.005)


def test_8_1_rate():
    assert spring_rate(5 * MM, 30 * MM, 15, 84e9) / 1e3 == pytest.approx(16.204, abs=0.0025)
