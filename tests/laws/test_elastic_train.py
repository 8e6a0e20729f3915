"""Laws of the elastic train: integrator, energy, convergence, closed forms, contacts, refusals."""

from dataclasses import replace

import numpy as np
import pytest

from tests.laws import elastic_example as example
from tests.laws.elastic_reference import reference
from valvetrain.mechanics.dynamics.elastic_measures import elastic_measures, lasting, onset_speed
from valvetrain.mechanics.dynamics.elastic_stepping import marched
from valvetrain.mechanics.dynamics.elastic_system import closed_contacts, elastic_system
from valvetrain.mechanics.dynamics.elastic_train import elastic_sweep
from valvetrain.mechanics.dynamics.vibration import two_mass_frequencies


def cam_speed(crank_rpm):
    return crank_rpm * np.pi / 60.0


def sweep(rpm, count=720, train=None, **more):
    drop, velocity = example.around(count)
    return elastic_sweep(train or example.train(), drop, velocity, cam_speed(np.atleast_1d(rpm)), **more)


def undamped(**changes):
    train = example.train(damping_ratio=0.0, spring_damping=0.0, **changes)
    return replace(train, tappet_weight=0.0, rocker_weight=0.0)


@pytest.mark.parametrize(("rpm", "cycles"), [(2500.0, 2), (4000.0, 3)])
def test_agrees_with_a_general_integrator(rpm, cycles):
    """The last cycle, with contacts opening and closing; a second formulation, LSODA at 1e-10.

    A third cycle at 2500 has a contact that just grazes: there two tolerances of the integrator differ from
    each other by as much as from this.
    """
    w = cam_speed(rpm)
    run = sweep(rpm, cycles=cycles)
    stride = (run.angle.size - 1) // 360
    times = np.linspace(cycles - 1, cycles, 361) * 2 * np.pi / w
    exact = reference(
        example.train(),
        example.pad_drop,
        example.pad_velocity,
        w,
        cycles,
        rtol=1e-10,
        events=False,
        t_eval=times,
    )
    error = np.abs(run.valve_lift[0, 0, ::stride] - exact.y[2]).max()
    assert error < 1e-6 * exact.y[2].max()
    speed = np.abs(run.valve_velocity[0, 0, ::stride] - exact.y[7]).max()
    assert speed < 5e-5 * np.abs(exact.y[7]).max()
    assert run.changes.step.size > 10


def still_start(train, places, modes=2):
    """A system set off from given places [3 + modes], lobe on the base circle."""
    system = elastic_system(train, modes)
    start = system.start.copy()
    start[0, : 3 + modes] = places
    return replace(system, start=start)


def energy(system, states):
    free = 3 + system.modes
    place, velocity = states[..., :free], states[..., free : 2 * free] / system.time_unit
    kinetic = 0.5 * np.einsum("...i,ij,...j->...", velocity, system.mass[0], velocity)
    spring = 0.5 * np.einsum("...i,ij,...j->...", place, system.stiffness[0], place)
    return kinetic, spring


def test_energy_is_kept_without_damping_through_contact_changes():
    """Valve dropped on its seat: it bounces, the surge modes take up energy, none is lost or made."""
    train = undamped()
    system = still_start(train, [1e-4, 4e-4, 3e-3, 0.0, 0.0])
    steps = 800
    flat = np.zeros((1, steps + 1))
    run = marched(system, flat, flat, np.array([1.0 * system.time_unit]), 1)
    states = run.states[0, 0]
    kinetic, spring = energy(system, states)
    gap = states @ system.gap[0].T
    k = np.array(
        [train.lobe_stiffness, train.pushrod_stiffness, train.tip_stiffness, train.seat_stiffness], float
    )
    total = kinetic + spring + train.seat_load * states[:, 2] + 0.5 * (k * np.maximum(gap, 0.0) ** 2).sum(-1)
    assert run.changes.step.size >= 4
    assert run.closed[0, 0, :, 3].any()
    assert not run.closed[0, 0, :, 3].all()
    assert np.ptp(total) < 1e-6 * np.ptp(kinetic)


def test_energy_only_falls_with_damping():
    system = still_start(example.train(damping_ratio=0.1), [1e-4, 4e-4, 3e-3, 0.0, 0.0])
    flat = np.zeros((1, 2001))
    run = marched(system, flat, flat, np.array([system.time_unit]), 1)
    kinetic, _ = energy(system, run.states[0, 0])
    assert kinetic[-200:].max() < 0.5 * kinetic.max()


def test_first_bounce_in_closed_form():
    """Valve dropped from a height on an undamped seat, nothing else touching it.

    It lands with the speed of the fall under the spring and rises to its height again after a stay that is
    the half wave of valve and seat; times and speeds are closed forms.
    """
    height = 2e-3
    train = replace(undamped(), spring_mass=0.0)
    mass, rate, load, seat = (
        float(v) for v in (train.valve_mass, train.spring_rate, train.seat_load, train.seat_stiffness)
    )
    system = still_start(train, [1e-4, 2e-4, height], modes=0)
    touch = load / seat  # the valve at rest is pressed in by this
    slow, mean = np.sqrt(rate / mass), load / rate
    fall = np.arccos((touch + mean) / (height + mean)) / slow
    impact = np.sqrt((slow**2) * ((height + mean) ** 2 - (touch + mean) ** 2))
    fast = np.sqrt((rate + seat) / mass)
    # On the seat the equilibrium is lift 0: from `touch` inward with `impact`, out again at the same lift.
    stay = (np.pi + 2.0 * np.arctan(fast * touch / impact)) / fast
    dt = 0.5 * system.time_unit
    steps = int(1.05 * (2 * fall + stay) / dt)
    flat = np.zeros((1, steps + 1))
    run = marched(system, flat, flat, np.array([dt]), 1)
    seat_changes = ((run.changes.before ^ run.changes.after) & 1) == 1
    times = run.changes.step[seat_changes] * dt
    speeds = run.changes.velocity[seat_changes]
    assert times[0] == pytest.approx(fall, rel=1e-6)
    assert speeds[0] == pytest.approx(-impact, rel=1e-6)
    assert times[1] - times[0] == pytest.approx(stay, rel=1e-4)
    assert speeds[1] == pytest.approx(impact, rel=1e-5)
    after = run.states[0, 0, int(times[1] / dt) :, 2]
    assert after.max() == pytest.approx(height, rel=1e-5)


def test_free_vibration_has_the_frequencies_of_two_masses():
    """Tappet side off the lobe, rocker joined to the valve by a stiff tip: the closed form of two masses."""
    train = replace(
        undamped(),
        spring_mass=0.0,
        tip_stiffness=1e12,
        lash=0.0,
    )
    system = elastic_system(train, 0)
    state = 0b0110  # pushrod and tip closed, lobe and seat open
    values = np.linalg.eigvals(system.matrices[0, state][:6, :6])
    found = np.sort(np.abs(values.imag[values.imag > 0])) / system.time_unit
    low, high = two_mass_frequencies(
        train.tappet_mass, train.rocker_mass + train.valve_mass, train.pushrod_stiffness, train.spring_rate
    )
    assert np.allclose(found[:2], [low, high], rtol=1e-4)


@pytest.mark.parametrize("modes", [1, 2, 4])
def test_surge_frequencies_of_a_held_spring(modes):
    """Both ends held: i/2 sqrt(k/m), the published surge frequency and its multiples."""
    train = example.train()
    system = elastic_system(train, modes)
    square = np.diag(system.stiffness[0])[3:] / np.diag(system.mass[0])[3:]
    expected = np.arange(1, modes + 1) / 2 * np.sqrt(train.spring_rate / train.spring_mass)
    assert np.allclose(np.sqrt(square) / (2 * np.pi), expected)


def test_rod_that_surges_has_the_frequencies_of_the_wave_equation():
    """Spring with a mass on its end: omega tan(omega sqrt(m/k)) = sqrt(m k)/M from the wave equation."""
    from scipy.optimize import brentq

    train = undamped(valve_mass=0.17, spring_mass=0.08)
    system = elastic_system(train, 8)
    keep = slice(2, None)
    squares = np.linalg.eigvals(np.linalg.solve(system.mass[0][keep, keep], system.stiffness[0][keep, keep]))
    found = np.sqrt(np.sort(squares.real))
    k, m, end = train.spring_rate, train.spring_mass, train.valve_mass
    wave = np.sqrt(m / k)

    def off(x):  # x = omega sqrt(m/k)
        return x * np.sin(x) - (m / end) * np.cos(x)

    first = brentq(off, 1e-6, np.pi / 2) / wave
    second = brentq(off, np.pi, 1.5 * np.pi) / wave
    assert found[0] == pytest.approx(first, rel=1e-4)
    assert found[1] == pytest.approx(second, rel=2e-3)


def test_static_lift_is_the_rigid_lift_less_the_deflection():
    """Turned very slowly: springs in series between lobe and valve."""
    train = example.train()
    run = sweep(60.0, count=720, cycles=1)
    series = 1 / (1 / train.lobe_stiffness + 1 / train.pushrod_stiffness + 1 / train.tip_stiffness)
    rigid = run.rigid_lift[0].max()
    lift = (series * rigid - train.seat_load) / (series + train.spring_rate)
    assert run.valve_lift[0, 0].max() == pytest.approx(lift, rel=2e-4)
    assert elastic_measures(run).peak_tip[0, 0] == pytest.approx(
        train.seat_load + train.spring_rate * lift, rel=2e-3
    )


def test_convergence_order():
    """With no contact change in the way, the lobe's cubic is the only error, of order 4."""
    system = elastic_system(undamped(lash=0.0))
    span = 40.0 * system.time_unit

    def end(steps):
        t = np.linspace(0, 1, steps + 1)
        lobe = 1e-3 * (t - np.sin(2 * np.pi * t) / (2 * np.pi))
        slope = 1e-3 * (1 - np.cos(2 * np.pi * t)) / steps
        run = marched(system, lobe[None], slope[None], np.array([span / steps]), 1)
        return run.states[0, 0, -1, :3]

    fine = end(1280)
    errors = np.array([np.abs(end(n) - fine).max() for n in (20, 40, 80)])
    order = np.log2(errors[:-1] / errors[1:])
    assert np.all(order > 3.5)


def test_finer_angles_do_not_change_the_run():
    coarse, fine = sweep(4000.0, 720), sweep(4000.0, 2880)
    a, b = ((r.angle.size - 1) // 720 for r in (coarse, fine))
    gap = np.abs(coarse.valve_lift[..., ::a] - fine.valve_lift[..., ::b]).max()
    assert gap < 1e-5 * fine.valve_lift.max()


def test_peak_between_the_samples():
    """The lobe's peak lies between coarse angles: the parabola finds it, the greatest sample misses 2 %."""
    coarse, fine = sweep(3500.0, 720), sweep(3500.0, 2880)
    exact = elastic_measures(fine).peak_lobe[0, 0]
    assert coarse.lobe.max() < 0.98 * exact
    assert elastic_measures(coarse).peak_lobe[0, 0] == pytest.approx(exact, rel=2e-3)


def test_cup_is_the_pushrod_less_its_upper_half():
    """Half its mass sits between its spring and the cup: the slope of the difference over acceleration."""
    rpm, step = 2000.0, 1e-4
    run = sweep(rpm, train=example.train(damping_ratio=0.5))
    angle = run.angle + np.pi
    rise = example.pad_velocity(angle + step) - example.pad_velocity(angle - step)
    acceleration = rise / (2 * step) / example.RATIO * cam_speed(rpm) ** 2
    open_valve = run.rigid_lift[0] > 1e-3
    between = (run.pushrod - run.cup)[0, 0]
    mass = np.polyfit(acceleration[open_valve], between[open_valve], 1)[0]
    assert mass == pytest.approx(example.PARTS["pushrod_mass"] / 2, rel=0.1)


def test_speeds_and_trains_are_independent():
    """A lane's result does not depend on its neighbors in the batch."""
    pair = example.train(seat_load=np.array([360.0, 250.0]))
    both = sweep([3000.0, 4500.0], train=pair)
    alone = sweep([3000.0, 4500.0], train=example.train(seat_load=250.0))
    assert np.allclose(both.valve_lift[1], alone.valve_lift[0], atol=1e-9)
    assert not np.allclose(both.valve_lift[0], both.valve_lift[1], atol=1e-6)


def test_no_contact_ever_pulls():
    run = sweep([2000.0, 5500.0, 7000.0])
    for name in ("lobe", "pushrod", "tip", "seat"):
        assert getattr(run, name).min() >= 0.0
    assert np.all((run.lobe == 0) | (run.lobe_gap < 0))


def test_control_is_lost_with_speed():
    """Slow: no separation, lands at once and stays nearly shut; fast: it flies off the lobe and bounces."""
    measures = elastic_measures(sweep([1500.0, 7500.0]))
    assert measures.lobe_separation[0, 0] == 0
    assert np.isnan(measures.lobe_separation_start[0, 0])
    assert measures.lobe_separation[0, 1] > np.radians(5)
    assert measures.lobe_gap[0, 1] > 1e-4
    assert measures.bounce_height[0, 1] > 10 * measures.bounce_height[0, 0]
    assert measures.seating_speed[0, 1] > measures.seating_speed[0, 0] > 0
    assert measures.overshoot[0, 1] > measures.overshoot[0, 0]
    assert measures.peak_lobe[0, 1] > measures.peak_lobe[0, 0]


def test_more_seat_load_raises_the_onset():
    rpm = np.linspace(3000, 7500, 16)
    trains = example.train(seat_load=np.array([250.0, 600.0]))
    measures = elastic_measures(sweep(rpm, train=trains))
    onset = onset_speed(rpm, measures.lobe_separation, np.radians(2.0))
    assert onset[1] > onset[0] + 300


def test_onset_between_speeds():
    measure = np.array([[0.0, 0.0, 2.0, 4.0], [0.0, 0.0, 0.0, 0.0], [5.0, 5.0, 5.0, 5.0], [np.nan, 0, 1, 3]])
    found = onset_speed([1.0, 2.0, 3.0, 4.0], measure, 1.5)
    assert np.allclose(found, [2.75, np.nan, 1.0, 3.25], equal_nan=True)
    with pytest.raises(ValueError, match="must rise"):
        onset_speed([2.0, 1.0], measure[:, :2], 1.0)


def test_what_grazes_at_one_speed_is_no_onset():
    speed = np.arange(1.0, 10.0)
    graze = np.array([0.0, 0.0, 90.0, 0.0, 0.0, 0.0, 0.5, 1.5, 3.0])
    jump = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 40.0, 70.0, 50.0, 60.0])
    found = onset_speed(speed, lasting(np.stack([graze, jump, jump / 20.0]), 1.0), 1.0)
    # the jump's height moves nothing: it lies between the two speeds
    assert np.allclose(found[1:], 5.5)
    assert 7.0 < found[0] < 8.0
    # a straight rise is found where it passes
    assert onset_speed(speed, lasting(speed / 4.0, 1.0), 1.0) == pytest.approx(4.0)
    assert np.array_equal(lasting(np.array([np.nan, 0.0, 0.0]), 1.0), np.zeros(3))


def test_progress_is_told():
    told = []
    sweep(3000.0, cycles=1, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 5


def test_at_rest_the_system_is_in_balance():
    system = elastic_system(example.train())
    closed = closed_contacts(system, system.start[:, None])[0, 0]
    number = int(closed @ np.array([8, 4, 2, 1]))
    slope = system.matrices[0, number] @ system.start[0]
    assert np.abs(slope).max() < 1e-15
    assert list(closed) == [True, True, False, True]


@pytest.mark.parametrize(
    "name",
    [
        "tappet_mass",
        "rocker_inertia",
        "valve_mass",
        "lobe_stiffness",
        "spring_rate",
        "seat_load",
        "ratio",
        "pad_arm",
    ],
)
@pytest.mark.parametrize("value", [0.0, -1.0])
def test_zero_or_negative_parts_are_refused(name, value):
    with pytest.raises(ValueError, match="must be greater than zero"):
        example.train(**{name: value})


def test_other_bad_input_is_refused():
    drop, velocity = example.around(720)
    with pytest.raises(ValueError, match="Cam speed is 0"):
        elastic_sweep(example.train(), drop, velocity, 0.0)
    with pytest.raises(ValueError, match="at least 1"):
        elastic_sweep(example.train(), drop, velocity, 100.0, cycles=0)
    with pytest.raises(ValueError, match="the valve must be closed"):
        elastic_sweep(example.train(), drop + 1e-3, velocity, 100.0)
    with pytest.raises(ValueError, match="NaN"):
        elastic_sweep(example.train(), drop * np.nan, velocity, 100.0)
    with pytest.raises(ValueError, match="finite"):
        example.train(lash=np.nan)
    with pytest.raises(ValueError, match="0 to 8"):
        elastic_sweep(example.train(), drop, velocity, 100.0, modes=9)
