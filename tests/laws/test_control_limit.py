"""Laws of the rigid control limit: closed forms, derivatives, what the loads say at the limit.

The last test is common practice, no source: a mild solid flat-tappet cam with 80 lbf on the seat is kept
under control to about 4,800 rpm in a large engine. Its masses and lobe are invented and plausible.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.laws.rigid_train_example import MASSES, PAD_ARM, SHAPE, curves
from valvetrain.mechanics.dynamics.control_limit import (
    control_limit,
    control_margin,
    lobe_terms,
    required_spring_force,
    seat_load_for,
)
from valvetrain.mechanics.dynamics.elastic_measures import elastic_measures, onset_speed
from valvetrain.mechanics.dynamics.elastic_train import elastic_sweep, reduced_train
from valvetrain.mechanics.dynamics.mass_estimates import (
    pushrod_mass,
    retainer_mass,
    rocker_inertia,
    spring_mass,
    tappet_mass,
    valve_mass,
)
from valvetrain.mechanics.dynamics.train_loads import TrainCurves, TrainMasses, train_loads

ANGLE = np.linspace(-np.pi, np.pi, 1441)
CURVES = curves(ANGLE)
TERMS = lobe_terms(CURVES, PAD_ARM)
SEAT, RATE = 350.0, 45e3
FINE = np.linspace(-np.pi, np.pi, 14401)
FINE_TERMS = lobe_terms(curves(FINE), PAD_ARM)


def limit(seat=SEAT, rate=RATE, **masses):
    return control_limit(TERMS, ANGLE, replace(MASSES, **masses), seat, rate)


def test_the_lobe_force_is_zero_there_and_nowhere_else():
    found = limit()
    spring = SEAT + RATE * CURVES.valve_lift
    lobe = train_loads(CURVES, SHAPE, MASSES, spring, np.atleast_1d(found.speed)).lobe[0]
    open_valve = CURVES.valve_lift > 0
    least = lobe[open_valve].min()
    assert abs(least) < 1e-3 * lobe.max()
    at = np.flatnonzero(open_valve)[np.argmin(lobe[open_valve])]
    assert found.angle == pytest.approx(ANGLE[at], abs=ANGLE[1] - ANGLE[0])
    slower = train_loads(CURVES, SHAPE, MASSES, spring, np.atleast_1d(0.98 * found.speed)).lobe[0]
    assert slower[open_valve].min() > 0


def test_finer_angles_agree():
    better = control_limit(FINE_TERMS, FINE, MASSES, SEAT, RATE)
    assert limit().speed == pytest.approx(better.speed, rel=1e-5)
    assert limit().angle == pytest.approx(better.angle, abs=5e-5)


@pytest.mark.parametrize("off", [0.3, 0.45, -0.4])
def test_a_least_between_the_angles_is_found(off):
    """Angles of one degree, laid so that the limit falls between two of them."""
    coarse = limit().angle + np.radians(np.arange(-60.0, 15.0) + off)  # opening side only
    found = control_limit(lobe_terms(curves(coarse), PAD_ARM), coarse, MASSES, SEAT, RATE)
    assert found.angle == pytest.approx(limit().angle, abs=1e-4)
    assert found.speed == pytest.approx(limit().speed, rel=1e-5)


@pytest.mark.parametrize(
    ("derivative", "name", "step"),
    [
        ("per_seat_load", "seat", 0.5),
        ("per_rate", "rate", 50.0),
        ("per_valve_mass", "valve_side", 2e-4),
        ("per_rocker_inertia", "rocker_inertia", 2e-7),
        ("per_follower_mass", "tappet", 2e-4),
        ("per_follower_mass", "pushrod", 2e-4),
    ],
)
def test_derivatives_against_differences(derivative, name, step):
    base = {"seat": SEAT, "rate": RATE, **vars(MASSES)}

    def speed(shift):
        now = {**base, name: base[name] + shift}
        masses = TrainMasses(now["valve_side"], now["rocker_inertia"], now["pushrod"], now["tappet"])
        return control_limit(FINE_TERMS, FINE, masses, now["seat"], now["rate"])

    difference = (speed(step).speed - speed(-step).speed) / (2 * step)
    assert getattr(speed(0.0), derivative) == pytest.approx(difference, rel=2e-3)
    assert (difference > 0) == (name in ("seat", "rate"))


def test_nose_load_derivatives():
    more = limit(seat=SEAT + 10.0).nose_force - limit().nose_force
    assert more / 10.0 == pytest.approx(limit().nose_per_seat_load, rel=1e-9)
    stiffer = limit(rate=RATE + 100.0).nose_force - limit().nose_force
    assert stiffer / 100.0 == pytest.approx(limit().nose_per_rate, rel=1e-9)
    spring = SEAT + RATE * CURVES.valve_lift
    slow = train_loads(CURVES, SHAPE, MASSES, spring, np.array([0.0])).lobe
    assert limit().nose_force == pytest.approx(slow.max(), rel=1e-9)


def test_scaling_with_spring_and_mass():
    """Twice the spring and twice the mass: the same speed; four times the spring alone: twice the speed."""
    double = {name: 2 * value for name, value in vars(MASSES).items()}
    assert limit(2 * SEAT, 2 * RATE, **double).speed == pytest.approx(limit().speed, rel=1e-12)
    assert limit(4 * SEAT, 4 * RATE).speed == pytest.approx(2 * limit().speed, rel=1e-12)


def test_seat_load_for_a_speed_is_the_inverse():
    speed = np.array([150.0, 200.0, 260.0])
    loads = seat_load_for(TERMS, MASSES, RATE, speed)
    back = [float(limit(seat=load).speed) for load in loads if load > 0]
    assert len(back) >= 2
    assert np.allclose(back, speed[loads > 0], rtol=1e-4)


def test_required_force_touches_the_spring_at_the_limit():
    found = limit()
    need = required_spring_force(TERMS, MASSES, found.speed)[0]
    have = SEAT + RATE * CURVES.valve_lift
    ratio = need / have
    assert ratio.max() == pytest.approx(1.0, abs=1e-4)
    assert np.all(need[CURVES.valve_lift == 0] == 0)


def test_margin_to_the_redline():
    assert np.allclose(control_margin([5700.0, 4800.0, np.inf], 5000.0), [0.14, -0.04, np.inf])
    with pytest.raises(ValueError, match="The redline is 0"):
        control_margin(5000.0, 0.0)


def test_leading_axes_and_unknowns():
    masses = replace(MASSES, valve_side=np.array([[0.19], [np.nan]]))
    found = control_limit(TERMS, ANGLE, masses, np.array([350.0, 300.0, 250.0]), RATE)
    assert found.speed.shape == (2, 3)
    assert found.speed[0, 0] == pytest.approx(limit().speed)
    assert np.all(np.isnan(found.speed[1]))
    assert np.all(np.diff(found.speed[0]) < 0)


@pytest.mark.parametrize(
    ("seat", "rate", "message"),
    [(0.0, RATE, "the spring must press on the closed valve"), (SEAT, -1.0, "Spring rate is -1 N/m")],
)
def test_a_spring_that_does_not_press_is_refused(seat, rate, message):
    with pytest.raises(ValueError, match=message):
        limit(seat, rate)


def mild_lobe(lift, half, lash_side, count=2881):
    """Cycloid-like mild lobe (invented): modified-sine rise and return with its closed-form derivatives."""
    theta = np.linspace(-np.pi, np.pi, count)
    u = np.clip(1 - np.abs(theta) / half, 0.0, 1.0)
    k = 1 / (4 + np.pi)
    first, last = u < 0.125, u > 0.875
    ends, middle = 4 * np.pi * u, (4 * np.pi * u + np.pi) / 3
    inner = ~first & ~last
    s = np.where(inner, 2 + np.pi * u - 2.25 * np.sin(middle), np.pi * u - 0.25 * np.sin(ends) + 4 * last)
    v = np.where(inner, np.pi - 3 * np.pi * np.cos(middle), np.pi - np.pi * np.cos(ends))
    a = np.where(inner, 4 * np.pi**2 * np.sin(middle), 4 * np.pi**2 * np.sin(ends))
    rise = lift * k
    flat = np.zeros_like(theta)
    ratio = 1.5
    return theta, TrainCurves(
        tappet_lift=rise * s,
        tappet_velocity=-np.sign(theta) * rise * v / half,
        tappet_acceleration=rise * a / half**2,
        valve_lift=np.maximum(0.0, ratio * rise * s - lash_side),
        ratio=flat + ratio,
        ratio_slope=flat,
        pad_angle=flat,
        pushrod_angle=flat,
    )


INCH, POUND = 0.0254, 4.4482216


def mild_engine():
    inch = INCH
    lash = 0.015 * inch
    lift = (0.37 * inch + lash) / 1.5
    half = np.radians(74.5)
    theta, mild = mild_lobe(lift, half, lash)
    step = np.degrees(theta[1] - theta[0])
    duration = 2 * step * np.sum(mild.tappet_lift > 0.020 * inch)  # crank degrees
    assert 230 < duration < 240
    assert mild.valve_lift.max() == pytest.approx(0.37 * inch)
    spring = spring_mass(0.0045, 0.031, 4.5).value
    masses = TrainMasses(
        valve_side=valve_mass(0.0087, 0.125, 0.045).value
        + retainer_mass(0.032, 0.010, 0.018, 0.0087).value
        + spring / 3,
        rocker_inertia=rocker_inertia(0.038, 0.0253, 0.014, 0.012, 0.02, 0.004, 0.03, 0.02).value,
        pushrod=pushrod_mass(0.0079, 0.0012, 0.24).value,
        tappet=tappet_mass(0.0214, 0.052, 0.0035, 0.004).value,
    )
    return theta, mild, masses, spring, lash


def test_mild_cam_with_a_usual_seat_load_is_controlled_to_a_usual_speed():
    theta, mild, masses, _, _ = mild_engine()
    found = control_limit(lobe_terms(mild, 0.038), theta, masses, 80 * POUND, 200 * POUND / INCH)
    crank_rpm = 2 * found.speed * 30 / np.pi
    # Common practice, no source: under control at such a speed, and not absurdly far above, as a rigid train
    # flatters by its lack of vibration.
    assert 4800 < crank_rpm < 8000


def test_the_same_engine_elastic():
    """With plausible stiffnesses (invented): follows at 4,400, leaves the lobe below the rigid limit."""
    theta, mild, masses, spring, lash = mild_engine()
    rigid = control_limit(lobe_terms(mild, 0.038), theta, masses, 80 * POUND, 200 * POUND / INCH)
    train = reduced_train(
        tappet_mass=masses.tappet,
        pushrod_mass=masses.pushrod,
        rocker_inertia=masses.rocker_inertia,
        pad_arm=0.038,
        valve_mass=masses.valve_side - spring / 3,
        spring_mass=spring,
        ratio=1.5,
        lobe_stiffness=6e7,
        pushrod_stiffness=3e7,
        tip_stiffness=1.5e7,
        seat_stiffness=6e7,
        spring_rate=200 * POUND / INCH,
        seat_load=80 * POUND,
        lash=lash,
    )
    rpm = np.arange(3000.0, 7001.0, 200.0)
    each = (theta.size - 1) // 720
    drop, velocity = 1.5 * mild.tappet_lift[:-1:each], 1.5 * mild.tappet_velocity[:-1:each]
    measures = elastic_measures(elastic_sweep(train, drop, velocity, rpm * np.pi / 60))
    onset = onset_speed(rpm, measures.lobe_gap, 0.2e-3)[0]
    assert 4400 < onset < 2 * rigid.speed * 30 / np.pi
    assert measures.overshoot[0, rpm <= 4400].max() < 0.2e-3
    assert measures.overshoot[0, rpm >= 6600].min() > 1e-3
