"""Sweep, and stand shims that put it right; the contact path against polygons turned onto the tip."""

import numpy as np
import pytest
from shapely import Polygon, affinity, box
from shapely.ops import nearest_points

from tests.laws.random_rockers import one, random_rockers
from valvetrain.mechanics.rocker.linkage import closed_position, swung, tappet_lift_at_pad_drop
from valvetrain.mechanics.rocker.stand_shims import settled_stand_shim, shim_effect, shimmed
from valvetrain.mechanics.rocker.sweep import (
    least_sweep_width,
    lift_fraction_at_square_arm,
    stand_shim_for_centered_sweep,
    stand_shim_for_square_arm,
    sweep,
)

COUNT = 200
GEOMETRY, FULL = random_rockers(COUNT, seed=5)
VALVE_SIDE = ("setback", "height", "pad_arm", "pad_radius")
CLOSED = closed_position(**GEOMETRY)
GROSS = swung(CLOSED, FULL[:, np.newaxis]).pad_drop[:, 0]
NET = GROSS - GEOMETRY["lash"]


def valve_side(geometry=GEOMETRY):
    return {name: geometry[name] for name in VALVE_SIDE}


@pytest.mark.parametrize("row", [0, 1, 2, 3])
def test_contact_path_against_a_polygon_turned_onto_the_tip(row):
    """No trigonometry of the product: a many-sided pad is turned until it meets the valve, then looked at."""
    g = one(GEOMETRY, row)
    rim = np.linspace(-np.pi / 2 - 0.5, -np.pi / 2 + 0.5, 4001)
    face = np.column_stack([g["pad_arm"] + g["pad_radius"] * np.cos(rim), g["pad_radius"] * np.sin(rim)])
    pad = Polygon(np.vstack([face, [[g["pad_arm"], 0.0]]]))
    spacing = g["pad_radius"] / 4000
    lifts = np.linspace(0.0, float(NET[row]), 7)
    path = []
    for lift in lifts:
        valve = box(-0.05, -0.01 - lift, 0.05, -lift)
        clear, touching = 0.45, -0.45
        for _ in range(45):
            angle = 0.5 * (clear + touching)
            turned = affinity.translate(
                affinity.rotate(pad, angle, origin=(0.0, 0.0), use_radians=True), -g["setback"], g["height"]
            )
            if turned.intersects(valve):
                touching = angle
            else:
                clear, resting = angle, turned
        path.append(nearest_points(resting, valve)[0].x)
    drops = lifts + g["lash"]
    closed = closed_position(**g)
    swing = swung(closed, tappet_lift_at_pad_drop(closed, drops))
    np.testing.assert_allclose(swing.contact_x, path, atol=spacing)
    pattern = sweep(**{name: g[name] for name in VALVE_SIDE}, net_lift=NET[row])
    assert pattern.at_opening == pytest.approx(path[0], abs=spacing)
    assert pattern.at_full_lift == pytest.approx(path[-1], abs=spacing)


def test_width_and_middle_are_those_of_the_path():
    drops = GEOMETRY["lash"][:, np.newaxis] + NET[:, np.newaxis] * np.linspace(0.0, 1.0, 2001)
    path = swung(CLOSED, tappet_lift_at_pad_drop(CLOSED, drops)).contact_x
    pattern = sweep(**valve_side(), net_lift=NET)
    # The sampled path misses its extreme by less than one step's second difference.
    np.testing.assert_allclose(pattern.width, np.ptp(path, axis=1), atol=1e-9)
    middle = 0.5 * (path.max(axis=1) + path.min(axis=1))
    np.testing.assert_allclose(pattern.middle, middle, atol=1e-9)
    np.testing.assert_allclose(pattern.greatest - pattern.least, pattern.width, atol=1e-15)


def test_square_arm_stands_square_at_the_wanted_fraction():
    for fraction in (1 / 3, 0.5, 2 / 3):
        shim = stand_shim_for_square_arm(
            height=GEOMETRY["height"],
            pad_radius=GEOMETRY["pad_radius"],
            net_lift=NET,
            stand_angle=0.1,
            lift_fraction=fraction,
        )
        raised = GEOMETRY["height"] + shim * np.cos(0.1)
        got = lift_fraction_at_square_arm(height=raised, pad_radius=GEOMETRY["pad_radius"], net_lift=NET)
        np.testing.assert_allclose(got, fraction, atol=1e-12)


def test_half_lift_gives_the_least_width():
    shim = stand_shim_for_square_arm(
        height=GEOMETRY["height"], pad_radius=GEOMETRY["pad_radius"], net_lift=NET
    )
    widths = [
        sweep(**{**valve_side(), "height": GEOMETRY["height"] + shim + off}, net_lift=NET).width
        for off in (-2e-4, 0.0, 2e-4)
    ]
    np.testing.assert_allclose(widths[1], least_sweep_width(pad_arm=GEOMETRY["pad_arm"], lift=NET), rtol=1e-9)
    assert (widths[0] > widths[1]).all()
    assert (widths[2] > widths[1]).all()


@pytest.mark.parametrize("lean", [-0.2, 0.0, 0.15])
def test_centered_sweep_is_centered_by_the_smaller_shim(lean):
    shim = stand_shim_for_centered_sweep(**valve_side(), net_lift=NET, stand_angle=lean)

    def middle(change, rows):
        g = {name: GEOMETRY[name][rows] for name in VALVE_SIDE}
        g["setback"] = g["setback"] - change * np.sin(lean)
        g["height"] = g["height"] + change * np.cos(lean)
        return sweep(**g, net_lift=NET[rows]).middle

    found = ~np.isnan(shim)
    assert 20 < found.sum() < COUNT
    np.testing.assert_allclose(middle(shim[found], found), 0.0, atol=1e-12)
    # A fine search finds no sign change nearer to zero, and none at all where there is no answer.
    grid = np.linspace(-0.02, 0.02, 2001)
    for row in range(COUNT):
        signs = np.sign(middle(grid, np.full(grid.shape, row)))
        known = ~np.isnan(signs)
        changes = grid[known][:-1][np.diff(signs[known]) != 0]
        if np.isnan(shim[row]):
            assert changes.size == 0
        elif abs(shim[row]) < 0.019:
            assert abs(np.abs(changes).min() - abs(shim[row])) < 4.1e-5


def test_shim_moves_the_shaft_and_leaves_the_tappet():
    """In the valve frame the lower ball stays, the shaft moves along its stand, the lash is kept."""
    shim, lean = 0.0006, -0.07
    after = shimmed(CLOSED, shim, stand_angle=lean)
    np.testing.assert_allclose(after.tappet_x, CLOSED.tappet_x, atol=1e-14)
    np.testing.assert_allclose(after.tappet_y, CLOSED.tappet_y, atol=1e-14)
    np.testing.assert_allclose(-after.setback, -CLOSED.setback + shim * np.sin(lean), atol=1e-15)
    np.testing.assert_allclose(after.height, CLOSED.height + shim * np.cos(lean), atol=1e-15)
    balls = np.hypot(after.socket_x - after.tappet_x, after.socket_y - after.tappet_y)
    np.testing.assert_allclose(balls, after.pushrod_planar_length, rtol=1e-13)
    pad = after.height + after.pad_arm * np.sin(after.pad_angle)
    np.testing.assert_allclose(pad - after.pad_radius, CLOSED.lash, atol=1e-15)
    back = shimmed(after, -shim, stand_angle=lean)
    np.testing.assert_allclose(back.pushrod_planar_length, CLOSED.pushrod_planar_length, rtol=1e-13)


def test_settled_shim_has_the_arm_square_at_half_of_the_lift_it_gives():
    shim = settled_stand_shim(CLOSED, tappet_lift=FULL, stand_angle=0.05)
    effect = shim_effect(CLOSED, shim, tappet_lift=FULL, stand_angle=0.05)
    fraction = lift_fraction_at_square_arm(
        height=CLOSED.height + shim * np.cos(0.05), pad_radius=CLOSED.pad_radius, net_lift=effect.net_lift
    )
    usable = ~np.isnan(fraction)
    assert usable.sum() > 0.9 * COUNT
    np.testing.assert_allclose(fraction[usable], 0.5, atol=1e-9)
    np.testing.assert_allclose(
        effect.gross_lift_gain[usable], (effect.gross_lift - GROSS)[usable], atol=1e-15
    )


def test_shims_broadcast_over_valves_and_angles():
    shims = np.array([0.0, 0.0004, 0.0008])[:, np.newaxis, np.newaxis]
    angles = np.array([0.0, 0.1])[:, np.newaxis]
    effect = shim_effect(CLOSED, shims, tappet_lift=FULL, stand_angle=angles)
    assert effect.gross_lift.shape == (3, 2, COUNT)
    alone = shim_effect(CLOSED, 0.0008, tappet_lift=FULL, stand_angle=0.1)
    np.testing.assert_allclose(effect.sweep.width[2, 1], alone.sweep.width, atol=1e-15)


def test_square_pad_arm_out_of_reach_is_unknown():
    pattern = sweep(setback=0.036, height=0.06, pad_arm=0.036, pad_radius=0.01, net_lift=0.01)
    assert np.isnan(pattern.width)
    assert np.isnan(pattern.middle)
    with pytest.raises(ValueError, match="net_lift is"):
        sweep(setback=0.036, height=0.01, pad_arm=0.036, pad_radius=0.01, net_lift=-0.01)
