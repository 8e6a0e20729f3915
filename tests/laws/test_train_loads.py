"""Laws of the rigid train's loads: virtual work, power balance, balance of forces, finite differences."""

from dataclasses import replace

import numpy as np
import pytest

from tests.laws.rigid_train_example import (
    MASSES,
    PAD_ARM,
    PAD_RADIUS,
    SETBACK,
    SHAPE,
    SOCKET_ARM,
    curves,
    rocker_opening,
)
from valvetrain.mechanics.dynamics.control_limit import lobe_terms
from valvetrain.mechanics.dynamics.train_loads import TrainFriction, TrainMasses, rocker_motion, train_loads

ANGLE = np.linspace(-np.pi, np.pi, 1441)
CURVES = curves(ANGLE)
SPEED = np.array([0.0, 100.0, 250.0])
SPRING = 350.0 + 45e3 * CURVES.valve_lift
RUBBING = TrainFriction(tip=0.12, shaft=0.08, shaft_radius=0.009, lobe=0.07, guide=15.0)


def loads(friction=None, masses=MASSES, **more):
    return train_loads(
        CURVES, SHAPE, masses, SPRING, SPEED, *(() if friction is None else (friction,)), **more
    )


def test_the_example_opens_about_ten_millimeters():
    assert 0.008 < CURVES.valve_lift.max() < 0.011


def test_rocker_motion_is_the_derivative_of_the_pad_angle():
    step = 1e-4
    angle = np.concatenate([np.linspace(-1.3, -0.01, 100), np.linspace(0.01, 1.3, 90)])  # jerk jumps between
    near = [curves(angle + k * step).pad_angle for k in (-1, 0, 1)]
    first, second = rocker_motion(curves(angle), PAD_ARM)
    assert np.abs(second).max() > 0.5
    assert np.allclose(first, -(near[2] - near[0]) / (2 * step), atol=1e-7)
    assert np.allclose(second, -(near[2] - 2 * near[1] + near[0]) / step**2, atol=2e-6)


def test_virtual_work_across_the_rocker():
    """Standing still: cup force times its ball's travel equals tip force times the pad's drop."""
    still = loads()
    step = 1e-6
    _, upper, lower = rocker_opening(CURVES.tappet_lift)
    _, moved, _ = rocker_opening(CURVES.tappet_lift + step)
    rod = (upper - lower) / np.linalg.norm(upper - lower, axis=-1)[:, None]
    planar = still.cup[0] * np.cos(SHAPE.splay_angle)
    work_in = planar * np.sum(rod * (moved - upper), -1)
    work_out = still.tip[0] * CURVES.ratio * step
    assert np.allclose(work_in, work_out, rtol=2e-4, atol=1e-12)


def test_moments_about_the_shaft_from_positions():
    """The second route: moments of both contact forces about the shaft, from the balls' coordinates."""
    run = loads(TrainFriction(tip=0.12))
    phi, upper, lower = rocker_opening(CURVES.tappet_lift)
    rod = (upper - lower) / np.linalg.norm(upper - lower, axis=-1)[:, None]
    lever = np.abs(upper[:, 0] * rod[:, 1] - upper[:, 1] * rod[:, 0])
    assert np.all(lever < SOCKET_ARM * 1.0000001)
    pad_x, pad_y = PAD_ARM * np.cos(phi), PAD_ARM * np.sin(phi) - PAD_RADIUS
    by_cup = run.cup * np.cos(SHAPE.splay_angle) * lever
    by_tip = run.tip * pad_x + run.side * pad_y
    turning = rocker_motion(CURVES, PAD_ARM)[1] * MASSES.rocker_inertia * SPEED[:, None] ** 2
    assert np.allclose(by_cup, by_tip + turning, atol=1e-6 * np.abs(by_cup).max())


def test_lobe_force_by_virtual_work_of_the_whole_train():
    run = loads()
    terms = lobe_terms(CURVES, PAD_ARM)
    whole = CURVES.ratio * SPRING * terms.lifted + SPEED[:, None] ** 2 * terms.inertia(MASSES)
    assert np.allclose(run.lobe, whole, atol=1e-9 * np.abs(whole).max())


def test_work_of_the_camshaft_is_zero_without_friction():
    run = loads()
    work = np.trapezoid(run.camshaft_torque, ANGLE, axis=-1)
    swing = np.trapezoid(np.abs(run.camshaft_torque), ANGLE, axis=-1)
    # What is left is the work of the load that steps in and out where the lash is taken up.
    assert np.all(np.abs(work) < 2e-3 * swing)
    assert not np.any(run.dissipated)


def test_torque_is_the_change_of_energy_without_friction():
    run = loads()
    turn = rocker_motion(CURVES, PAD_ARM)[0]
    valve_velocity = CURVES.ratio * CURVES.tappet_velocity
    open_valve = CURVES.valve_lift > 0
    stored = 350.0 * CURVES.valve_lift + 0.5 * 45e3 * CURVES.valve_lift**2
    for row, speed in enumerate(SPEED):
        energy = stored + 0.5 * speed**2 * (
            MASSES.valve_side * valve_velocity**2
            + MASSES.rocker_inertia * turn**2
            + (MASSES.tappet + MASSES.pushrod) * CURVES.tappet_velocity**2
        )
        first, last = np.flatnonzero(open_valve)[[0, -1]]
        inside = slice(first, last + 1)
        gained = np.concatenate(
            [
                [0.0],
                np.cumsum(
                    0.5 * (run.camshaft_torque[row, inside][1:] + run.camshaft_torque[row, inside][:-1])
                ),
            ]
        ) * (ANGLE[1] - ANGLE[0])
        assert np.allclose(gained, energy[inside] - energy[first], atol=5e-4 * energy.max())


def test_power_balance_with_friction():
    """Over a cycle the camshaft's work is what friction turns into heat, at every speed with contact."""
    light = replace(MASSES, valve_side=0.05, rocker_inertia=1e-5, pushrod=0.02, tappet=0.02)
    run = loads(RUBBING, light)
    pressed = run.lobe[:, CURVES.valve_lift > 0]
    assert np.all(pressed > 0)
    clear = loads(None, light)
    # The same lash steps stand in both, so they cancel in the difference.
    work = np.trapezoid(run.camshaft_torque - clear.camshaft_torque, ANGLE, axis=-1)
    heat = np.trapezoid(run.dissipated, ANGLE, axis=-1)
    assert np.all(heat > 0.1)
    assert np.allclose(work, heat, rtol=2e-3)


@pytest.mark.parametrize("kind", ["tip", "shaft", "lobe", "guide"])
def test_each_friction_takes_power_instant_by_instant(kind):
    values = {name: getattr(RUBBING, name) for name in (kind, "shaft_radius")}
    light = replace(MASSES, valve_side=0.05, rocker_inertia=1e-5, pushrod=0.02, tappet=0.02)
    run, clear = loads(TrainFriction(**values), light), loads(None, light)
    on = CURVES.valve_lift > 0
    extra = (run.camshaft_torque - clear.camshaft_torque)[:, on]
    assert np.allclose(extra, run.dissipated[:, on], atol=1e-9)
    assert run.dissipated.max() > 0.01


def test_forces_on_the_rocker_and_the_stem():
    run = loads(RUBBING, tip_to_guide=0.045)
    planar = run.cup * np.cos(SHAPE.splay_angle)
    assert np.allclose(run.shaft[..., 0], -planar * np.sin(CURVES.pushrod_angle) - run.side)
    assert np.allclose(run.shaft[..., 1], planar * np.cos(CURVES.pushrod_angle) + run.tip)
    assert np.allclose(run.shaft[..., 2], run.cup * np.sin(SHAPE.splay_angle))
    x = PAD_ARM * np.cos(CURVES.pad_angle) - SETBACK
    y = -CURVES.valve_lift + 0.045
    force = np.stack([run.side, -run.tip])
    assert np.allclose(run.tilting_moment, x * force[1] - y * force[0])


def test_leading_axes_of_valves_and_unknowns():
    pair = type(CURVES)(**{k: np.stack([v, v]) for k, v in vars(CURVES).items()})
    masses = TrainMasses(np.array([0.19, np.nan]), 7e-5, 0.075, 0.1)
    run = train_loads(pair, SHAPE, masses, np.stack([SPRING, SPRING]), SPEED)
    assert run.lobe.shape == (2, 3, ANGLE.size)
    assert np.allclose(run.lobe[0], loads().lobe)
    assert np.all(np.isnan(run.lobe[1][:, CURVES.valve_lift > 0]))


@pytest.mark.parametrize("name", ["valve_side", "rocker_inertia", "pushrod", "tappet"])
def test_a_mass_of_zero_is_refused(name):
    with pytest.raises(ValueError, match=f"{name} is 0; a moving mass must be greater than zero"):
        replace(MASSES, **{name: 0.0})


def test_negative_speed_and_friction_are_refused():
    with pytest.raises(ValueError, match="Cam speed is -1 rad/s"):
        train_loads(CURVES, SHAPE, MASSES, SPRING, -1.0)
    with pytest.raises(ValueError, match=r"Friction tip is -0\.1"):
        TrainFriction(tip=-0.1)
