"""Rocker bore, guide couple, crown and taper readings: statics, round trips, limits."""

import numpy as np
import pytest

from valvetrain.mechanics.contact.shaft_bearing import guide_loads, hole_in_loaded_arc, rocker_on_shaft
from valvetrain.mechanics.trend.crown_readings import (
    crown_radius_from_gaps,
    crown_radius_from_sagitta,
    crown_sagitta,
    lobe_taper,
)

INCH = 0.0254


def test_bearing_pressure_and_sliding() -> None:
    found = rocker_on_shaft(
        force_x=[300.0, 0.0, np.nan],
        force_y=[400.0, 0.0, 1.0],
        diameter=0.02,
        bearing_width=0.025,
        rocker_speed=-30.0,
    )
    assert found.load[0] == pytest.approx(500.0)
    assert found.pressure[0] == pytest.approx(500 / (0.02 * 0.025))
    assert found.sliding_speed == pytest.approx(0.3)
    assert found.severity[0] == pytest.approx(found.pressure[0] * 0.3)
    assert found.direction[0] == pytest.approx(np.arctan2(4, 3))
    assert np.isnan(found.direction[1:]).all()
    assert found.pressure[1] == 0.0


def test_a_rocker_pressing_upward_loads_the_underside() -> None:
    # Force straight up on the shaft: its underside bears, so a hole that opens downward is shut.
    apart, shut = hole_in_loaded_arc(np.pi / 2, np.array([-np.pi / 2, 3 * np.pi / 2, np.pi / 2, 0.0]))
    np.testing.assert_allclose(np.abs(apart), [0, 0, np.pi, np.pi / 2], atol=1e-12)
    assert shut.tolist() == [True, True, False, False]
    apart, shut = hole_in_loaded_arc(np.pi / 2, -np.pi / 2 + np.pi / 4, half_arc=np.pi / 3)
    assert apart == pytest.approx(np.pi / 4)
    assert shut
    assert not hole_in_loaded_arc(np.nan, 0.0)[1]


def test_guide_forces_balance_the_stem() -> None:
    rng = np.random.default_rng(1)
    press, offset, side = rng.uniform(100, 2000, 20), rng.uniform(-3e-3, 3e-3, 20), rng.uniform(-200, 200, 20)
    above, length = rng.uniform(0.01, 0.04, 20), rng.uniform(0.03, 0.06, 20)
    found = guide_loads(
        tip_force=press,
        contact_offset=offset,
        friction_force=side,
        tip_above_guide=above,
        guide_length=length,
        stem_diameter=8e-3,
    )
    np.testing.assert_allclose(found.outer + found.inner + side, 0, atol=1e-9)
    # Moment about the seat-side end of the guide, x forces at their heights, the press down at its x.
    moment = -found.outer * length - side * (length + above) - press * offset
    np.testing.assert_allclose(moment, 0, atol=1e-9)
    np.testing.assert_allclose(found.outer_pressure, np.abs(found.outer) / (8e-3 * length / 4))


def test_a_centered_contact_without_friction_loads_nothing() -> None:
    found = guide_loads(
        tip_force=900.0,
        contact_offset=0.0,
        friction_force=0.0,
        tip_above_guide=0.02,
        guide_length=0.05,
        stem_diameter=8e-3,
    )
    assert found.outer == found.inner == 0.0


def test_crown_of_a_thousandth() -> None:
    # Common practice: 0.001 in at the edge of a face about 0.9 in across is a crown of some 100 in.
    assert crown_radius_from_sagitta(0.001 * INCH, 0.9 * INCH) == pytest.approx(101.25 * INCH, rel=1e-4)
    assert crown_radius_from_gaps(0.0008 * INCH, 0.0012 * INCH, 0.9 * INCH) == pytest.approx(
        101.25 * INCH, rel=1e-4
    )


def test_sagitta_round_trip_hollow_and_flat() -> None:
    radius = np.array([0.5, 2.5, -1.5, 0.0127])
    np.testing.assert_allclose(
        crown_radius_from_sagitta(crown_sagitta(radius, 0.02), 0.02), radius, rtol=1e-12
    )
    assert np.isinf(crown_radius_from_sagitta(0.0, 0.02))
    assert crown_sagitta(0.02, 0.04) == pytest.approx(0.02)
    assert np.isnan(crown_radius_from_sagitta(np.nan, 0.02))


def test_taper() -> None:
    # The Tribology Handbook's 4 to 7 arc minutes (published) across half an inch: 0.0006 to 0.001 in.
    minutes = np.degrees(lobe_taper(0.0, np.array([0.0006, 0.001]) * INCH, 0.5 * INCH)) * 60
    np.testing.assert_allclose(minutes, [4.13, 6.88], atol=0.01)
    assert lobe_taper(1e-5, 0.0, 0.01) < 0


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="span is 0"):
        crown_radius_from_sagitta(1e-5, 0.0)
    with pytest.raises(ValueError, match="more than half the span"):
        crown_radius_from_sagitta(0.02, 0.02)
    with pytest.raises(ValueError, match="less than half the span"):
        crown_sagitta(0.0, 0.02)
    with pytest.raises(ValueError, match="gap"):
        crown_radius_from_gaps(-1e-5, 1e-5, 0.02)
    with pytest.raises(ValueError, match="distance"):
        lobe_taper(0.0, 0.0, -1.0)
    with pytest.raises(ValueError, match="shaft diameter"):
        rocker_on_shaft(force_x=1.0, force_y=1.0, diameter=0.0, bearing_width=1.0, rocker_speed=1.0)
    with pytest.raises(ValueError, match="tip above"):
        guide_loads(
            tip_force=1.0,
            contact_offset=0.0,
            friction_force=0.0,
            tip_above_guide=-0.01,
            guide_length=0.05,
            stem_diameter=8e-3,
        )
