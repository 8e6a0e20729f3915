"""Clearances of moving outlines against plane geometry by hand (derived)."""

import numpy as np
import pytest
import shapely
from shapely import affinity

from valvetrain.mechanics.shapes.interference import (
    checked_outline,
    lowered,
    part_clearance,
    pushrod_in_hole,
    rectangle,
    retainer_to_seal,
    rocker_to_retainer,
    rocker_to_stand,
    turned,
)

MM = 1e-3


def test_turning_and_lowering_agree_with_shapely_affinity():
    outline = np.array([[0, 0], [3, 0.5], [2, 2]]) * MM
    pivot = np.array([-20, 10]) * MM
    angles = np.array([-0.4, 0.0, 0.7])
    for angle, got in zip(angles, turned(outline, angles, pivot), strict=True):
        wanted = affinity.rotate(shapely.polygons(outline), angle, origin=tuple(pivot), use_radians=True)
        assert shapely.get_coordinates(wanted)[:3] == pytest.approx(got)
    moved = affinity.translate(shapely.polygons(outline), 0, -2 * MM)
    assert shapely.get_coordinates(moved)[:3] == pytest.approx(lowered(outline, [2 * MM])[0])


def test_retainer_meets_the_seal_when_the_lift_has_used_up_the_gap():
    retainer = rectangle(-12 * MM, -6 * MM, 12 * MM, 0)
    seal = rectangle(-6 * MM, -30 * MM, 6 * MM, -18 * MM)
    got = retainer_to_seal(retainer, seal, np.array([[0, 5, 12, 13]]) * MM)
    assert got.clearance[0] == pytest.approx(np.array([12, 7, 0, -1]) * MM, abs=1e-12)
    assert got.least[0] == pytest.approx(-1 * MM)
    assert got.at[0] == 3


def test_rocker_bar_comes_down_on_the_retainer_as_a_line_through_the_pivot():
    # Thin bar from the pivot, turned by -t: its underside passes x at height -x tan t; the retainer's corner
    # at (x, y) is |y + x tan t| cos t from that line.
    pivot = (0.0, 0.0)
    bar = rectangle(0.0, 0.0, 60 * MM, 1 * MM)
    retainer = rectangle(20 * MM, -12 * MM, 40 * MM, -8 * MM)
    turn = np.deg2rad([0.0, 4.0, 8.0])
    lift = np.array([0.0, 1.0, 2.0]) * MM
    got = rocker_to_retainer(bar, retainer, pivot, -turn, lift)
    wanted = (8 * MM + lift - 40 * MM * np.tan(turn)) * np.cos(turn)
    assert got.clearance == pytest.approx(wanted)
    assert got.second_point == pytest.approx([40 * MM, -10 * MM])
    reach = np.linalg.norm(got.first_point - got.second_point)
    assert reach == pytest.approx(got.least)


def test_rocker_to_stand_on_a_round_hub_does_not_depend_on_the_swing():
    circle = np.linspace(0, 2 * np.pi, 721)[:-1]
    hub = 15 * MM * np.stack([np.cos(circle), np.sin(circle)], axis=-1)
    got = rocker_to_stand(hub, rectangle(-5 * MM, -40 * MM, 5 * MM, -17 * MM), (0, 0), np.deg2rad([0, 3, 10]))
    assert got.clearance == pytest.approx(np.full(3, 2 * MM), abs=1e-6)


def test_clearance_is_the_same_both_ways_and_in_any_frame():
    rng = np.random.default_rng(4)
    a = np.array([[0, 0], [4, 1], [2, 5]]) * MM
    b = np.array([[9, 0], [14, 2], [8, 4]]) * MM
    angle = rng.uniform(-0.3, 0.3, (2, 5))
    first, second = turned(a, angle, (0, 0)), lowered(b, rng.uniform(0, 3, (2, 5)) * MM)
    there, back = part_clearance(first, second), part_clearance(second, first)
    assert there.least == pytest.approx(back.least)
    whole = part_clearance(
        np.stack([turned(p, 0.9, (1.0, 2.0)) for p in first.reshape(-1, 3, 2)]).reshape(first.shape),
        np.stack([turned(p, 0.9, (1.0, 2.0)) for p in second.reshape(-1, 3, 2)]).reshape(second.shape),
    )
    assert whole.clearance == pytest.approx(there.clearance)
    assert there.least.shape == (2,)


def test_bars_that_cross_with_all_corners_outside_overlap_by_the_thinner_ones_thickness():
    got = part_clearance(
        rectangle(-10 * MM, -1 * MM, 10 * MM, 1 * MM)[None], rectangle(-3 * MM, -9 * MM, 3 * MM, 9 * MM)[None]
    )
    assert got.least == pytest.approx(-2 * MM, rel=0.02)


def test_unknown_samples_are_unknown():
    got = retainer_to_seal(rectangle(-1, 0, 1, 1), rectangle(-1, -3, 1, -2), [[0.0, np.nan, 1.0]])
    assert got.clearance[0] == pytest.approx([2.0, np.nan, 1.0], nan_ok=True)
    assert np.isnan(got.least[0])


def test_upright_pushrod_in_a_straight_hole():
    got = pushrod_in_hole([[1e-3, 0.0]], [[1e-3, 0.2]], [0, 0.1], [0, 0.12], 8e-3, 4e-3)
    assert got == pytest.approx([3e-3])


def test_leaning_pushrod_is_nearest_at_an_end_of_the_hole_and_splay_counts():
    lower, upper = np.array([[0.0, 0.0, 0.0]]), np.array([[0.0, 0.2, 0.02]])
    got = pushrod_in_hole(lower, upper, [0, 0.10, 0.0], [0, 0.15, 0.0], 25e-3, 4e-3)
    assert got == pytest.approx([25e-3 - 15e-3 - 4e-3 * np.sqrt(1 + 0.01)])


def test_pushrod_clearance_is_never_more_than_the_drawn_one():
    rng = np.random.default_rng(8)
    lower = np.stack([rng.uniform(-3, 3, 50) * MM, np.zeros(50)], axis=-1)
    upper = np.stack([rng.uniform(-9, 9, 50) * MM, np.full(50, 200 * MM)], axis=-1)
    bottom, top, hole, rod = (0.5 * MM, 120 * MM), (-0.5 * MM, 150 * MM), 15 * MM, 4 * MM
    got = pushrod_in_hole(lower, upper, bottom, top, hole, rod)
    body = shapely.buffer(shapely.linestrings(np.stack([lower, upper], axis=1)), rod, cap_style="flat")
    axis = np.array([top[0] - bottom[0], top[1] - bottom[1]])
    across = hole * np.array([axis[1], -axis[0]]) / np.linalg.norm(axis)
    walls = [shapely.linestrings([bottom + s * across, top + s * across]) for s in (1, -1)]
    drawn = np.min([shapely.distance(body, wall) for wall in walls], axis=0)
    assert np.all(got <= drawn / np.cos(0.1) + 1e-12)
    assert got == pytest.approx(drawn, abs=0.1 * MM)


@pytest.mark.parametrize(
    ("points", "match"),
    [
        ([[0, 0], [1, 1]], "three or more"),
        ([[0, 0], [1, 1], [1, 0], [0, 1]], "crosses"),
        ([[0, 0], [0, 1], [1, 1]], "clockwise"),
        ([[0, 0], [1, np.nan], [1, 1]], "known numbers"),
    ],
)
def test_bad_outlines_are_named(points, match):
    with pytest.raises(ValueError, match=f"the cam.*{match}"):
        checked_outline(points, "the cam")


def test_bad_holes_and_rectangles_are_named():
    with pytest.raises(ValueError, match="hole radius"):
        pushrod_in_hole([[0, 0]], [[0, 1]], [0, 0.1], [0, 0.2], 4e-3, 5e-3)
    with pytest.raises(ValueError, match="ends"):
        pushrod_in_hole([[0, 0]], [[0, 1]], [0, 0.1], [0, 0.1], 6e-3, 5e-3)
    with pytest.raises(ValueError, match="no area"):
        rectangle(0, 0, 0, 1)
