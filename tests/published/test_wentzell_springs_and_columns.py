"""Wentzell, *Machine Design*, worked examples 8.2 (p. 163), 3.5 (p. 53), 3.6 (p. 55).

Status: seen, in a public re-keying of the worked examples (the title from memory). Tolerance: the printed
digits; the column loads are printed to 0.01 and 0.1 lb but carry the rounding of an intermediate slenderness,
so they are held to 0.01 %.
"""

import numpy as np
import pytest

from valvetrain.mechanics.pushrod.columns import (
    column_load,
    critical_slenderness,
    slenderness_ratio,
    tube_section,
)
from valvetrain.mechanics.spring.helical import active_coils_for, spring_rate

INCH, POUND_FORCE = 0.0254, 4.4482216152605
PSI = POUND_FORCE / INCH**2


def test_8_2_rate_and_active_coils():
    rate = 35 * POUND_FORCE / (0.5 * INCH)
    coils = active_coils_for(rate, 0.105 * INCH, 0.620 * INCH, 11.85e6 * PSI)
    assert coils == pytest.approx(10.79, abs=0.005)
    back = spring_rate(0.105 * INCH, 0.620 * INCH, 10.79, 11.85e6 * PSI) / (POUND_FORCE / INCH)
    assert back == pytest.approx(70.0, abs=0.05)


def test_3_5_euler_column():
    rod = tube_section(0.625 * INCH, 0.3125 * INCH)
    slenderness = slenderness_ratio(30 * INCH, rod.radius_of_gyration, 1.0)
    assert slenderness == pytest.approx(192, abs=0.5)
    assert slenderness > critical_slenderness(30e6 * PSI, 42e3 * PSI)
    load = column_load(rod.area, slenderness, 30e6 * PSI, 42e3 * PSI) / POUND_FORCE
    assert load == pytest.approx(2464.16, rel=1e-4)


def test_3_6_johnson_column_with_safety_factor_2():
    area, second_moment = 2.26 * INCH**2, 0.764 * INCH**4
    slenderness = slenderness_ratio(60 * INCH, np.sqrt(second_moment / area), 0.65)
    assert slenderness < critical_slenderness(30e6 * PSI, 36e3 * PSI)
    load = column_load(area, slenderness, 30e6 * PSI, 36e3 * PSI) / POUND_FORCE
    assert load / 2 == pytest.approx(35116.5, rel=1e-4)
