"""A measured pad over a tip of finite width: the circle's closed form, its order, hollow pads, edges."""

import numpy as np
import pytest

from valvetrain.mechanics.rocker.pad_on_tip import closed_angle_on_tip, contact_over_tip
from valvetrain.mechanics.rocker.pad_side import closed_pad_angle

ARM, RADIUS, SETBACK, HEIGHT, LASH = 0.0305, 0.0127, 0.0303, 0.0080, 0.0005


def arc(count, hollow=0.0, half_width=0.0025):
    """A circular pad's face from the shaft's end outward, with a hollow of that depth in its middle."""
    around = -0.5 * np.pi + np.linspace(-0.6, 0.6, count)
    x, y = ARM + RADIUS * np.cos(around), RADIUS * np.sin(around)
    inside = np.abs(x - ARM) < half_width
    return np.stack([x, y + np.where(inside, hollow * (1 - ((x - ARM) / half_width) ** 2), 0.0)], axis=1)


def test_circle_as_points_meets_the_closed_form_at_second_order():
    wanted = float(closed_pad_angle(height=HEIGHT, pad_arm=ARM, pad_radius=RADIUS, lash=LASH))
    errors = []
    for count in (41, 81, 161):
        angle = closed_angle_on_tip(arc(count), setback=SETBACK, height=HEIGHT, lash=LASH, tip_radius=0.004)
        contact = contact_over_tip(arc(count), angle, setback=SETBACK, tip_radius=0.004)
        assert not contact.at_edge
        errors.append(abs(float(angle) - wanted) + abs(float(contact.x) - (ARM * np.cos(wanted) - SETBACK)))
    assert errors[2] < 1e-5
    assert errors[0] / errors[2] > 10  # second order: sixteen


def test_fall_is_the_derivative_of_the_height():
    face = arc(401, hollow=4e-5)
    step = 1e-6
    for angle in (0.05, 0.15, 0.25):
        there = contact_over_tip(face, angle, setback=SETBACK, tip_radius=0.003)
        up, down = (
            contact_over_tip(face, angle + way * step, setback=SETBACK, tip_radius=0.003).y for way in (1, -1)
        )
        assert there.fall == pytest.approx(float(up - down) / (2 * step), rel=2e-3)


@pytest.mark.parametrize("angle", [0.10, 0.13, 0.20])
def test_fall_at_an_edge_takes_the_slope_of_the_pad_along(angle):
    face = arc(801, hollow=2.2e-3, half_width=0.0062)
    step = 1e-6
    there = contact_over_tip(face, angle, setback=SETBACK, tip_radius=0.003)
    assert there.at_edge
    up, down = (
        contact_over_tip(face, angle + way * step, setback=SETBACK, tip_radius=0.003).y for way in (1, -1)
    )
    assert there.fall == pytest.approx(float(up - down) / (2 * step), rel=2e-3)


def test_part_beyond_the_tip_cannot_touch():
    face = arc(401)
    # At 30 degrees up the circle's lowest place is far inside the shaft's side of a narrow tip.
    contact = contact_over_tip(face, 0.5, setback=SETBACK, tip_radius=0.001)
    assert contact.at_edge
    assert abs(contact.x) == pytest.approx(0.001, abs=1e-15)
    wide = contact_over_tip(face, 0.5, setback=SETBACK, tip_radius=0.01)
    assert wide.y < contact.y


def test_hollow_pad_rests_on_its_rims_or_the_tip_edges_and_never_floats():
    face = arc(801, hollow=2e-4)
    angle = float(closed_angle_on_tip(face, setback=SETBACK, height=HEIGHT, lash=0.0, tip_radius=0.002))
    x = face[:, 0] * np.cos(angle) - face[:, 1] * np.sin(angle) - SETBACK
    y = face[:, 0] * np.sin(angle) + face[:, 1] * np.cos(angle) + HEIGHT
    over = y[np.abs(x) <= 0.002]
    assert over.min() > -1e-6
    assert contact_over_tip(face, angle, setback=SETBACK, tip_radius=0.002).y + HEIGHT == pytest.approx(
        0, abs=1e-7
    )


def test_pad_that_is_not_over_the_tip_is_unknown():
    contact = contact_over_tip(arc(101), 0.1, setback=0.06, tip_radius=0.003)
    assert np.isnan(contact.x)
    assert np.isnan(contact_over_tip(arc(101), np.nan, setback=SETBACK, tip_radius=0.003).y)
