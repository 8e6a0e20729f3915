"""Valve to piston and valve to valve: solid geometry by shapely and dense search (derived)."""

import numpy as np
import pytest
import shapely
from shapely import affinity

from valvetrain.mechanics.piston.clearance import (
    gap_at_top_dead_center,
    head_section,
    least_clearance,
    least_from_readings,
    piston_to_valve,
    radial_clearance,
    valve_to_valve,
)
from valvetrain.mechanics.piston.crank_slider import piston_drop

CRANK = {"stroke": 88e-3, "rod_length": 145e-3}


def lift_of(angle, opens=-0.4, top=9e-3, width=4.2):
    u = np.clip((angle - opens) / width, 0, 1)
    return top * np.sin(np.pi * u) ** 2


@pytest.mark.parametrize("floor", ["parallel", "square"])
@pytest.mark.parametrize("tilt", [0.0, 0.25])
def test_clearance_along_the_stem_is_that_of_the_drawn_parts(floor, tilt):
    # The valve's edge nearest the crown slides along the stem until it meets the drawn piston.
    angle, lift = 0.3, 1.7e-3
    radius, gap = 17e-3, 4e-3
    drop = float(piston_drop(angle, **CRANK))
    valve = head_section(lift, 0.0, tilt, radius, 1.5e-3)
    if floor == "parallel":
        floor_at_tdc = affinity.translate(
            shapely.Point(0, 0), -gap * np.sin(tilt), -gap * np.cos(tilt)
        )  # a point of the floor, which is square to the stem
        across = np.array([np.cos(tilt), -np.sin(tilt)])
        base = np.array([floor_at_tdc.x, floor_at_tdc.y - drop])
        crown = shapely.linestrings([base - across, base + across])
        expected = shapely.distance(valve, crown)
    else:
        # Lowest point of the closed valve is at -radius sin(tilt); the gap along the stem from there.
        crown_y = -radius * np.sin(tilt) - gap * np.cos(tilt) - drop
        lowest = shapely.get_coordinates(valve)[:, 1].min()
        expected = (lowest - crown_y) / np.cos(tilt)
    got = piston_to_valve([angle], [lift], gap, valve_angle=tilt, floor=floor, **CRANK)
    assert got[0] == pytest.approx(expected, abs=1e-12)


def test_gap_adds_the_stack_up():
    parts = {"gasket": 1e-3, "deck_clearance": 0.5e-3, "valve_recess": 1.5e-3, "relief_depth": 2e-3}
    assert gap_at_top_dead_center(**parts) == pytest.approx(5e-3)
    assert gap_at_top_dead_center(**parts, valve_angle=np.pi / 3) == pytest.approx(2.5e-3)
    assert gap_at_top_dead_center(**parts, valve_angle=np.pi / 3, floor="square") == pytest.approx(10e-3)
    assert np.isnan(gap_at_top_dead_center(**{**parts, "gasket": np.nan}))


def test_least_clearance_on_coarse_samples_equals_a_dense_search():
    def clearance(angle):
        return piston_to_valve(angle, lift_of(angle), 5e-3, **CRANK)

    coarse = np.deg2rad(np.arange(-30, 60, 2.0))
    dense = np.linspace(coarse[0], coarse[-1], 200_001)
    got = least_clearance(coarse, clearance(coarse))
    values = clearance(dense)
    assert not got.at_end
    assert got.clearance == pytest.approx(values.min(), abs=2e-7)
    assert got.crank_angle == pytest.approx(dense[values.argmin()], abs=np.deg2rad(0.1))


def test_least_is_exact_for_a_parabola_on_uneven_angles_and_says_when_it_is_at_an_end():
    angle = np.array([0.0, 0.1, 0.25, 0.3])
    rows = np.stack([1e-3 + (angle - 0.17) ** 2, 1e-3 + angle, 2e-3 - angle * 1e-3, np.full(4, np.nan)])
    got = least_clearance(angle, rows)
    assert got.clearance[:3] == pytest.approx([1e-3, 1e-3, 1.7e-3])
    assert got.crank_angle[:3] == pytest.approx([0.17, 0.0, 0.3])
    assert got.at_end.tolist() == [False, True, True, False]
    assert np.isnan(got.clearance[3])


def test_advance_brings_the_intake_nearer_and_the_exhaust_farther():
    angle = np.deg2rad(np.arange(-60, 90, 1.0))
    advance = np.deg2rad([-4.0, 0.0, 4.0])
    intake = piston_to_valve(angle, lift_of(angle), 5e-3, advance=advance, **CRANK)
    exhaust = piston_to_valve(angle, lift_of(-angle), 5e-3, advance=advance, **CRANK)
    assert np.all(np.diff(least_clearance(angle, intake).clearance) < 0)
    assert np.all(np.diff(least_clearance(angle, exhaust).clearance) > 0)


def test_advance_equals_a_lift_curve_that_comes_earlier():
    angle = np.deg2rad(np.arange(-60, 90, 1.0))
    moved = piston_to_valve(angle, lift_of(angle), 5e-3, advance=0.07, **CRANK)
    earlier = piston_to_valve(angle - 0.07, lift_of(angle), 5e-3, **CRANK)
    assert moved == pytest.approx(earlier)


def test_readings_give_the_least_within_their_uncertainty():
    rng = np.random.default_rng(2)
    u = 0.02e-3
    angle = np.deg2rad(np.arange(-20, 41, 10.0))
    dense = np.linspace(angle[0], angle[-1], 50_001)
    truth = piston_to_valve(dense, lift_of(dense), 5e-3, **CRANK).min()
    exact = least_from_readings(angle, piston_to_valve(angle, lift_of(angle), 5e-3, **CRANK), u)
    assert not exact.at_end
    assert exact.clearance == pytest.approx(truth, abs=exact.interpolation + 5e-6)
    clean = piston_to_valve(angle, lift_of(angle), 5e-3, **CRANK)
    found = [least_from_readings(angle, clean + u * rng.standard_normal(angle.size), u) for _ in range(400)]
    misses = np.array([abs(f.clearance - truth) / f.uncertainty for f in found])
    assert 0.85 < np.mean(misses < 2) <= 1.0  # k = 2
    spread = np.std([f.clearance for f in found])
    assert exact.uncertainty > 0.8 * spread


def test_readings_that_do_not_reach_past_the_least_are_marked():
    angle = np.deg2rad([0.0, 10.0, 20.0, 30.0])
    assert least_from_readings(angle, [4e-3, 3e-3, 2.2e-3, 1.9e-3]).at_end


@pytest.mark.parametrize(
    ("angle", "values"),
    [([0, 1, 2], [1, 1, 1]), ([0, 1, 1, 2], [1, 1, 1, 1]), ([0, 1, 2, 3], [1, np.nan, 1, 1])],
)
def test_bad_readings_are_errors(angle, values):
    with pytest.raises(ValueError, match="readings"):
        least_from_readings(angle, values)


def test_radial_clearance_of_circles_is_the_difference_of_radii_less_the_offset():
    relief = shapely.buffer(shapely.Point(0, 0), 20e-3, quad_segs=2000)
    got = radial_clearance([18e-3, 18e-3, 21e-3], [0.0, 1.5e-3, 0.0], [0.0, 2e-3, 0.0], relief)
    assert got == pytest.approx([2e-3, -0.5e-3, -1e-3], abs=1e-8)


def test_a_center_outside_the_relief_is_as_far_over_as_it_is_outside():
    assert radial_clearance(1e-3, 12e-3, 0.0, shapely.box(-10e-3, -10e-3, 10e-3, 10e-3)) == pytest.approx(
        -3e-3
    )


def test_upright_valves_are_apart_by_their_edges():
    a = head_section([0.0, 3e-3], -20e-3, 0.0, 18e-3, 1e-3)
    b = head_section([0.0, 0.0], 20e-3, 0.0, 17e-3, 1e-3)
    # Side by side 40 - 18 - 17 = 5; lowered by 3 with heads 1 thick: 2 apart in height.
    assert valve_to_valve(a, b) == pytest.approx([5e-3, np.hypot(5e-3, 2e-3)])


def test_valves_leaning_in_close_as_both_open():
    lifts = np.linspace(0, 10e-3, 6)
    # Stems lean outward at the top, so that the heads come together as they open.
    a = head_section(lifts, -20e-3, -0.3, 17e-3, 1e-3)
    b = head_section(lifts, 20e-3, 0.3, 17e-3, 1e-3)
    gaps = valve_to_valve(a, b)
    assert np.all(np.diff(gaps) < 0)
    assert -np.diff(gaps) == pytest.approx(np.full(5, 2 * 2e-3 * np.sin(0.3)))


def test_bad_angle_and_floor_are_named():
    with pytest.raises(ValueError, match="valve angle"):
        piston_to_valve([0.0], [0.0], 1e-3, valve_angle=2.0, **CRANK)
    with pytest.raises(ValueError, match="floor"):
        piston_to_valve([0.0], [0.0], 1e-3, floor="domed", **CRANK)
    with pytest.raises(ValueError, match="increasing"):
        least_clearance([0.0, 0.0, 1.0], [1.0, 1.0, 1.0])
