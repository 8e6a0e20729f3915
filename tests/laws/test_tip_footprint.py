"""The pad's contact on the valve tip in plan, against shapely and circle-segment closed forms (derived)."""

import numpy as np
import pytest
import shapely

from valvetrain.mechanics.contact.tip_footprint import (
    centering_limit,
    contact_on_tip,
    flat_tip_radius,
    footprint_area,
    footprint_over_lift,
    swept_pad,
    tip_disc,
)

R = 4e-3


def random_cases(count=300):
    rng = np.random.default_rng(11)
    x = rng.uniform(-4.5e-3, 4.5e-3, (count, 3))
    return (
        x,
        rng.uniform(-3e-3, 3e-3, count),
        rng.uniform(1e-3, 14e-3, count),
        rng.uniform(2e-3, 5e-3, count),
        rng.uniform(-0.3, 0.3, count),
    )


def test_share_and_distances_agree_with_shapely_on_random_lines():
    x, offset, width, radius, skew = random_cases()
    got = contact_on_tip(x, offset, width, radius, skew)
    along = np.stack([np.sin(skew), np.cos(skew)], -1)[:, None, :] * width[:, None, None] / 2
    center = np.stack([x, np.broadcast_to(offset[:, None], x.shape)], -1)
    lines = shapely.linestrings(np.stack([center - along, center + along], axis=-2))
    discs = tip_disc(radius, quad_segs=1024)[:, None]
    share = shapely.length(shapely.intersection(lines, discs)) / width[:, None]
    # An inscribed polygon of 4096 sides: its chords differ most where the line just grazes the edge.
    assert np.max(np.abs(share - got.share)) < 2e-3
    assert np.mean(np.abs(share - got.share)) < 1e-5
    axis = shapely.points(0.0, 0.0)
    assert got.line_distance == pytest.approx(radius[:, None] - shapely.distance(lines, axis), abs=1e-12)
    farthest = shapely.hausdorff_distance(lines, axis)
    assert got.edge_distance == pytest.approx(radius[:, None] - farthest, abs=1e-12)
    bearing = share > 0.05
    middle = shapely.get_coordinates(shapely.centroid(shapely.intersection(lines, discs))[bearing])
    assert np.stack([got.load_x[bearing], got.load_z[bearing]], -1) == pytest.approx(middle, abs=2e-5)


def test_narrow_pad_inside_the_tip_keeps_its_whole_line_and_known_distance():
    got = contact_on_tip([[0.0, 1e-3]], [0.5e-3], [3e-3], [R])
    assert got.share == pytest.approx(np.ones((1, 2)))
    assert got.edge_distance[0] == pytest.approx([R - 2e-3, R - np.hypot(1e-3, 2e-3)])
    assert got.load_z == pytest.approx(np.full((1, 2), 0.5e-3))


def test_wide_pad_carries_on_the_chord_and_its_load_stays_central_when_offset():
    got = contact_on_tip([2.4e-3], 1e-3, 12e-3, R)  # half chord sqrt(16 - 5.76) = 3.2
    assert got.share == pytest.approx([6.4 / 12])
    assert got.load_z == pytest.approx([0.0], abs=1e-15)
    assert got.edge_distance[0] < 0 < got.line_distance[0]


def test_line_off_the_tip_has_no_share_and_no_load():
    got = contact_on_tip([4.2e-3], 0.0, 6e-3, R)
    assert got.share[0] == 0
    assert got.line_distance == pytest.approx([-0.2e-3])
    assert np.isnan(got.eccentricity[0])


def test_front_and_rear_are_mirror_images():
    x, offset, width, radius, skew = random_cases()
    a, b = contact_on_tip(x, offset, width, radius, skew), contact_on_tip(x, -offset, width, radius, -skew)
    assert a.share == pytest.approx(b.share)
    assert a.load_z == pytest.approx(-b.load_z, nan_ok=True, abs=1e-15)


def test_unknown_inputs_are_unknown_outputs():
    got = footprint_over_lift(contact_on_tip([[0.0, 1e-3]], [np.nan], [3e-3], [R]))
    assert np.isnan(got.least_share[0])
    assert np.isnan(got.greatest_eccentricity[0])
    limit = centering_limit([[0.0, np.nan]], 3e-3, R)
    assert np.isnan(limit.limit[0])
    assert not limit.reachable[0]


def test_the_lift_mask_leaves_out_samples_on_the_base_circle():
    contact = contact_on_tip([[0.0, 3.9e-3]], [0.0], [6e-3], [R])
    whole = footprint_over_lift(contact)
    part = footprint_over_lift(contact, np.array([True, False]))
    assert part.least_share[0] == 1.0
    assert whole.least_share[0] == pytest.approx(2 * np.sqrt(4**2 - 3.9**2) / 6)


def segment_area(radius, distance):
    """Area of the circle segment beyond a chord at `distance` (closed form)."""
    return radius**2 * np.arccos(distance / radius) - distance * np.sqrt(radius**2 - distance**2)


def test_wide_footprint_area_is_the_difference_of_two_circle_segments():
    x1, x2 = -1.1e-3, 1.7e-3
    got = footprint_area([x1, 0.0, x2], 0.0, 20e-3, R)
    expected = np.pi * R**2 - segment_area(R, 1.1e-3) - segment_area(R, x2)
    assert got.swept == pytest.approx((x2 - x1) * 20e-3)
    assert got.on_tip == pytest.approx(expected, rel=1.5e-4)


def test_narrow_footprint_area_is_a_rectangle_less_one_segment():
    # Sweep across the tip's whole breadth in x, both ends clear of the circle except the rear side.
    width, offset = 2e-3, 2.2e-3
    got = footprint_area([-5e-3, 5e-3], offset, width, R)
    expected = segment_area(R, offset - width / 2) - segment_area(R, offset + width / 2)
    assert got.on_tip == pytest.approx(expected, rel=2e-4)


def test_skewed_sweep_keeps_its_sheared_area():
    assert shapely.area(swept_pad([0.0, 1e-3], 0.0, 10e-3, 0.2)) == pytest.approx(10e-6 * np.cos(0.2))


@pytest.mark.parametrize("of_centered", [True, False])
@pytest.mark.parametrize("skew", [0.0, 0.06])
@pytest.mark.parametrize("width", [3e-3, 6e-3])
def test_centering_limit_is_where_the_demand_just_ceases(width, skew, of_centered):
    x = np.linspace(-0.6e-3, 0.4e-3, 21)
    got = centering_limit(x, width, R, skew, least_share=0.9, of_centered=of_centered)
    limit = float(got.limit)
    assert bool(got.reachable)
    wanted = 0.9 * (contact_on_tip(x, 0.0, width, R, skew).share if of_centered else 1.0)

    def spare(offset):
        return float(np.min(contact_on_tip(x, offset, width, R, skew).share - wanted))

    assert min(spare(limit - 1e-9), spare(1e-9 - limit)) >= 0
    assert min(spare(limit + 1e-7), spare(-limit - 1e-7)) < 0


def test_skewed_and_closed_form_limits_meet_as_skew_vanishes():
    x = np.linspace(-0.6e-3, 0.4e-3, 21)
    straight = centering_limit(x, 9e-3, R, least_share=0.8, edge_margin=None).limit
    assert centering_limit(x, 9e-3, R, 1e-9, least_share=0.8).limit == pytest.approx(straight, abs=1e-9)


def test_edge_margin_governs_a_narrow_pad():
    got = centering_limit([0.0, 1e-3], 3e-3, R, edge_margin=0.5e-3)
    assert got.limit == pytest.approx(np.sqrt(3.5e-3**2 - 1e-6) - 1.5e-3)
    skewed = centering_limit([0.0, 1e-3], 3e-3, R, 1e-10, edge_margin=0.5e-3)
    assert skewed.limit == pytest.approx(got.limit, abs=1e-9)


def test_centered_share_is_the_least_over_the_lift():
    # Chords of 8 mm on the axis and 6.4 mm at 2.4 mm from it (3, 4 and 5 times 0.8), of a pad 10 mm wide.
    got = centering_limit([0.0, 2.4e-3, 1.0e-3], 10e-3, R, of_centered=False, least_share=0.5)
    assert got.centered_share == pytest.approx(0.64)


def test_no_limit_where_even_the_centered_pad_fails():
    got = centering_limit([0.0], 12e-3, R, of_centered=False)
    assert not got.reachable
    assert np.isnan(got.limit)


@pytest.mark.parametrize(
    ("width", "radius", "skew", "name"), [(0, R, 0, "pad_width"), (1, -R, 0, "tip_radius"), (1, R, 2, "skew")]
)
def test_bad_input_is_named(width, radius, skew, name):
    with pytest.raises(ValueError, match=name):
        contact_on_tip([0.0], 0.0, width, radius, skew)


def test_flat_radius_needs_a_flat():
    assert flat_tip_radius([8e-3], [0.5e-3]) == pytest.approx([3.5e-3])
    with pytest.raises(ValueError, match="chamfer"):
        flat_tip_radius(8e-3, 4e-3)
