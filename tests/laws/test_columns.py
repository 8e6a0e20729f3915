"""Laws of columns: the tube of the derived check, Euler and Johnson meeting, sections by integration."""

import numpy as np
import pytest
from scipy.integrate import quad

from valvetrain.mechanics.pushrod.columns import (
    END_FIXITY,
    axial_stiffness,
    column_load,
    critical_slenderness,
    slenderness_ratio,
    tube_section,
)

E, SY = 207e9, 655e6


def test_pushrod_tube():
    # Derived (recomputed independently): outside 7.9375, inside 3.8735, length 200 mm, pinned ends.
    tube = tube_section(7.9375e-3, (7.9375e-3 - 3.8735e-3) / 2)
    slenderness = slenderness_ratio(0.200, tube.radius_of_gyration)
    assert slenderness == pytest.approx(90.58, abs=0.005)
    assert critical_slenderness(E, SY) == pytest.approx(78.98, abs=0.005)
    assert column_load(tube.area, slenderness, E, SY) == pytest.approx(9387.7, abs=0.05)


def test_value_and_slope_meet():
    limit = critical_slenderness(E, SY)
    step = 1e-4
    below, above = (column_load(1e-4, limit * (1 + sign * 1e-12), E, SY) for sign in (-1, 1))
    assert below == pytest.approx(above, rel=1e-9)
    assert below == pytest.approx(1e-4 * SY / 2, rel=1e-9)
    left = (column_load(1e-4, limit, E, SY) - column_load(1e-4, limit - step, E, SY)) / step
    right = (column_load(1e-4, limit + step, E, SY) - column_load(1e-4, limit, E, SY)) / step
    assert left == pytest.approx(right, rel=1e-5)
    assert column_load(1e-4, 0.0, E, SY) == pytest.approx(1e-4 * SY)
    loads = column_load(1e-4, np.linspace(0, 300, 1000), E, SY)
    assert np.all(np.diff(loads) < 0)


def test_euler_from_the_bent_column():
    # K of the theory: the first root of the clamped-pinned column is tan z = z.
    root = 4.493409457909064
    assert END_FIXITY["fixed, pinned"][0] == pytest.approx(np.pi / root, rel=1e-3)
    assert END_FIXITY["fixed, fixed"][0] * 2 == END_FIXITY["pinned, pinned"][0] == 1.0
    assert all(real >= theory for theory, real in END_FIXITY.values())


def test_section_by_integration():
    outside, inside = 9e-3, 5e-3
    tube = tube_section(outside, (outside - inside) / 2)
    area = quad(lambda r: 2 * np.pi * r, inside / 2, outside / 2)[0]
    polar = quad(lambda r: 2 * np.pi * r**3, inside / 2, outside / 2)[0]
    assert tube.area == pytest.approx(area, rel=1e-12)
    assert tube.second_moment == pytest.approx(polar / 2, rel=1e-12)
    solid = tube_section(outside, outside / 2)
    assert solid.radius_of_gyration == pytest.approx(outside / 4, rel=1e-12)


def test_stiffness_of_two_halves_in_series():
    whole, half = axial_stiffness(5e-5, 0.2, E), axial_stiffness(5e-5, 0.1, E)
    assert 1 / whole == pytest.approx(2 / half, rel=1e-14)
    # 50 mm^2 of steel 200 mm long under 1 kN gives by hand 1000 x 200/(207000 x 50) = 0.01932 mm.
    assert 1000 / whole == pytest.approx(1.932e-5, rel=1e-3)


def test_unknown_and_impossible():
    tube = tube_section(np.array([8e-3, np.nan]), 1e-3)
    slenderness = slenderness_ratio(0.2, tube.radius_of_gyration)
    assert np.isnan(column_load(tube.area, slenderness, E, SY)).tolist() == [False, True]
    with pytest.raises(ValueError, match="must not exceed half the outside diameter"):
        tube_section(8e-3, 4.1e-3)
    with pytest.raises(ValueError, match="length is 0"):
        slenderness_ratio(0.0, 1e-3)
