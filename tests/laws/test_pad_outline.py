"""Measured pads: a circle given as points is the circular pad; virtual work; hollow pads; bad outlines."""

import numpy as np
import pytest

from tests.laws.random_rockers import one, random_rockers
from valvetrain.mechanics.rocker.feeler_error import feeler_reading
from valvetrain.mechanics.rocker.linkage import closed_position, rocker_turn, swung
from valvetrain.mechanics.rocker.pad_outline import (
    checked_outline,
    closed_angle_of_outline,
    contact_of_outline,
    lowest_point,
)

GEOMETRY, FULL = random_rockers(20, seed=12)


def circular(arm, radius, count, half=1.0, skew=0.137):
    """Points on a circular pad, from the shaft's end outward; unevenly placed about the lowest point."""
    rim = -np.pi / 2 + np.linspace(-half, half * (1 - skew), count)
    return np.column_stack([arm + radius * np.cos(rim), radius * np.sin(rim)])


def hollow(arm=0.036, radius=0.060, depth=2e-4, width=0.007, count=801):
    """A flattish circular pad with a smooth hollow in its middle, so deep that it touches at the rims."""
    face = circular(arm, radius, count, half=0.15, skew=0.0)
    across = face[:, 0] - arm
    worn = np.abs(across) < width / 2
    face[worn, 1] += depth * np.cos(np.pi * across[worn] / width) ** 2
    return face


def contact_through_lift(g, lifts, face):
    start = closed_angle_of_outline(face, height=g["height"], lash=g["lash"])
    turn, rate = rocker_turn(closed_position(**g, pad_angle=start), lifts)
    return contact_of_outline(
        face, setback=g["setback"], closed_angle=start, turn=turn, turn_rate=rate
    ), start


@pytest.mark.parametrize("row", range(0, 20, 4))
def test_circle_given_as_points_is_the_circular_pad_and_converges(row):
    g = one(GEOMETRY, row)
    lifts = np.linspace(0.0, float(FULL[row]), 101)
    closed = closed_position(**g)
    swing = swung(closed, lifts)
    errors = []
    for count in (40, 80, 160, 320):
        face = circular(g["pad_arm"], g["pad_radius"], count)
        contact, start = contact_through_lift(g, lifts, face)
        errors.append(
            [
                abs(start - closed.pad_angle),
                np.abs(contact.pad_drop - swing.pad_drop).max(),
                np.abs(contact.contact_x - swing.contact_x).max(),
                np.abs(contact.ratio - swing.ratio).max(),
            ]
        )
        assert not contact.at_end.any()
    order = np.log2(np.array(errors)[0] / np.array(errors)[-1]) / 3
    # Second order at least: the heights do better, so only the lower bound is asked of them.
    assert (order[1:] > 1.85).all()
    assert (np.array(errors)[-1] < [1e-7, 1e-9, 1e-6, 1e-4]).all()


def test_ratio_by_virtual_work_is_the_derivative_of_pad_drop():
    """On a pad that is no circle: an ellipse, dense enough that its points do not show."""
    g = one(GEOMETRY, 2)
    rim = -np.pi / 2 + np.linspace(-1.0, 1.0, 4001)
    face = np.column_stack([g["pad_arm"] + 0.016 * np.cos(rim), g["pad_radius"] * np.sin(rim)])
    lifts = np.linspace(0.0005, float(FULL[2]), 50)
    step = 2e-5
    up = contact_through_lift(g, lifts + step, face)[0].pad_drop
    down = contact_through_lift(g, lifts - step, face)[0].pad_drop
    middle = contact_through_lift(g, lifts, face)[0]
    np.testing.assert_allclose(middle.ratio, (up - down) / (2 * step), rtol=1e-5)


def test_lowest_point_is_below_every_point_of_the_outline():
    face = hollow()
    angles = np.linspace(-0.3, 0.3, 61)
    found = lowest_point(face, angles)
    heights = np.outer(np.sin(angles), face[:, 0]) + np.outer(np.cos(angles), face[:, 1])
    assert (found.y <= heights.min(axis=1) + 1e-15).all()
    assert (found.y > heights.min(axis=1) - 1e-6).all()


def test_closed_pad_rests_the_lash_above_the_tip():
    face = hollow()
    height, lash = np.array([0.055, 0.060, 0.9, np.nan]), 0.0004
    angle = closed_angle_of_outline(face, height=height, lash=lash)
    np.testing.assert_allclose(height[:2] + lowest_point(face, angle[:2]).y, lash, atol=1e-14)
    assert np.isnan(angle[2:]).all()


def test_contact_that_runs_off_the_measured_outline_is_marked():
    face = circular(0.036, 0.0127, 101, half=0.1, skew=0.0)
    found = lowest_point(face, [-0.2, 0.0, 0.2])
    np.testing.assert_array_equal(found.at_end, [True, False, True])
    # Turned down, the outer end is lowest.
    np.testing.assert_allclose(found.x[0], face[-1] @ [np.cos(-0.2), -np.sin(-0.2)], atol=1e-15)
    np.testing.assert_allclose(found.x[2], face[0] @ [np.cos(0.2), -np.sin(0.2)], atol=1e-15)


def test_feeler_is_blind_to_a_hollow():
    """Over a flat pad with a rectangular-ish hollow the arithmetic is plain: error = depth."""
    depth, height, lash = 1.5e-4, 0.012, 3e-4
    x = 0.036 + np.array([-0.008, -0.0041, -0.004, 0.004, 0.0041, 0.008])
    y = -(height - lash) + np.array([0.0, 0.0, depth, depth, 0.0, 0.0])
    reading = feeler_reading(
        np.column_stack([x, y]),
        setback=0.036,
        height=height,
        pad_angle=[0.0, np.nan],
        tip_width=0.0078,
        blade_width=0.0127,
    )
    assert reading.true_gap[0] == pytest.approx(lash + depth, abs=1e-15)
    assert reading.blade_gap[0] == pytest.approx(lash, abs=1e-15)
    assert reading.error[0] == pytest.approx(depth, abs=1e-15)
    assert np.isnan(reading.true_gap[1])


def test_feeler_reads_a_sound_pad_right():
    """Circular pad touching over the tip: the least gap is the same for tip and blade."""
    g = one(GEOMETRY, 2)
    g["setback"] = g["pad_arm"]
    closed = closed_position(**g)
    face = circular(g["pad_arm"], g["pad_radius"], 4001)
    reading = feeler_reading(
        face,
        setback=g["setback"],
        height=g["height"],
        pad_angle=closed.pad_angle,
        tip_width=0.008,
        blade_width=0.0127,
    )
    assert reading.error == pytest.approx(0.0, abs=1e-15)
    assert reading.true_gap == pytest.approx(g["lash"], abs=1e-9)


@pytest.mark.parametrize("blade", [0.001, 0.0127], ids=["narrow blade", "wide blade"])
def test_hollow_error_only_for_a_blade_wider_than_the_hollow(blade):
    """The blade's gap against a brute-force search over densely sampled positions of the outline."""
    face = hollow()
    reading = feeler_reading(
        face, setback=0.036, height=0.0605, pad_angle=0.0, tip_width=0.001, blade_width=blade
    )
    at = np.linspace(-blade / 2, blade / 2, 20001)
    assert reading.blade_gap == pytest.approx(
        np.interp(at, face[:, 0] - 0.036, face[:, 1] + 0.0605).min(), abs=1e-9
    )
    assert (reading.error > 1e-5) == (blade > 0.007)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda face: face[::-1], "inside out"),
        (lambda face: face[[0, 1, 5, 3, 4, 2, 6]], "crosses itself"),
        (lambda face: face[:2], "three or more"),
        (lambda face: np.where(np.arange(7)[:, np.newaxis] == 3, np.nan, face), "Point 4"),
        (lambda face: face[[0, 1, 2, 2, 3]], "Point 4 of the pad outline repeats"),
        (lambda face: face[:, 0], "shape"),
    ],
    ids=["inside out", "crossing", "too few", "missing", "repeated", "no y"],
)
def test_outline_that_cannot_be_a_pad_is_refused(change, words):
    face = circular(0.036, 0.0127, 7)
    np.testing.assert_array_equal(checked_outline(face), face)
    with pytest.raises(ValueError, match=words):
        lowest_point(change(face), 0.0)
