"""Laws of the shaft rocker over random geometries; the constraint equations are written here anew."""

import numpy as np
import pytest
from scipy.optimize import brentq, root

from tests.laws.random_rockers import one, random_rockers
from valvetrain.mechanics.rocker.linkage import (
    closed_position,
    pad_drop,
    pad_drop_and_ratio,
    planar_length,
    pushrod_planar_length_for,
    rocker_turn,
    swung,
    tappet_lift_at_pad_drop,
)
from valvetrain.mechanics.rocker.linkage_fault import linkage_fault
from valvetrain.mechanics.rocker.pad_side import contact_at_pad_drop, valve_lift

COUNT = 600
GEOMETRY, FULL = random_rockers(COUNT, seed=41)
CLOSED = closed_position(**GEOMETRY)
LIFTS = FULL[:, np.newaxis] * np.linspace(0.0, 1.0, 9)
SWING = swung(CLOSED, LIFTS)


def lower_ball(g, position):
    """Lower ball in the valve frame: foot of the shaft's perpendicular on the line, then along the bore."""
    along = np.array([-np.sin(g["tappet_angle"]), np.cos(g["tappet_angle"])])
    # A quarter turn to the left of "up the bore" points away from the valve.
    away = np.array([-along[1], along[0]])
    shaft = np.array([-g["setback"], g["height"]])
    return shaft + g["tappet_setback"] * away + position * along


def upper_ball(g, angle):
    turned = angle + g["arm_angle"]
    return np.array(
        [
            -g["setback"] + g["socket_arm"] * np.cos(turned),
            g["height"] + g["socket_arm"] * np.sin(turned),
        ]
    )


def gap(g, angle):
    return g["height"] + g["pad_arm"] * np.sin(angle) - g["pad_radius"]


def test_every_random_rocker_goes_together():
    assert not np.isnan(SWING.pad_drop).any()


def test_closed_position_and_swing_agree_with_a_root_finder():
    for row in range(COUNT):
        g = one(GEOMETRY, row)
        rod = g["pushrod_planar_length"]

        def closed_residual(unknown, g=g, rod=rod):
            span = upper_ball(g, unknown[0]) - lower_ball(g, unknown[1])
            return [(gap(g, unknown[0]) - g["lash"]) / 0.01, (span @ span - rod**2) / rod**2]

        found = root(closed_residual, [0.0, -rod], tol=1e-14)
        assert np.abs(found.fun).max() < 1e-12
        assert CLOSED.pad_angle[row] == pytest.approx(found.x[0], abs=1e-9)
        assert CLOSED.tappet_position[row] == pytest.approx(found.x[1], abs=1e-10)
        assert [CLOSED.tappet_x[row], CLOSED.tappet_y[row]] == pytest.approx(
            lower_ball(g, found.x[1]), abs=1e-10
        )
        assert [CLOSED.socket_x[row], CLOSED.socket_y[row]] == pytest.approx(
            upper_ball(g, found.x[0]), abs=1e-10
        )

        def stretch(angle, ball, g=g, rod=rod):
            return np.hypot(*(upper_ball(g, angle) - ball)) - rod

        for column in (4, 8):
            ball = lower_ball(g, found.x[1] + LIFTS[row, column])
            angle = brentq(stretch, found.x[0] - 0.9, found.x[0], args=(ball,), xtol=1e-13, rtol=1e-15)
            assert SWING.pad_angle[row, column] == pytest.approx(angle, abs=1e-9)
            fall = gap(g, found.x[0]) - gap(g, angle)
            assert SWING.pad_drop[row, column] == pytest.approx(fall, abs=1e-11)
            assert SWING.contact_x[row, column] == pytest.approx(
                g["pad_arm"] * np.cos(angle) - g["setback"], abs=1e-11
            )


def test_ratio_is_the_derivative_of_pad_drop():
    step = 1e-6
    up, down = (pad_drop_and_ratio(CLOSED, LIFTS + sign * step)[0] for sign in (1, -1))
    np.testing.assert_allclose(SWING.ratio, (up - down) / (2 * step), rtol=1e-7)


def test_virtual_work_across_the_rocker():
    """Moments about the shaft balance; valve and tappet forces are then in the inverse ratio."""
    g = {name: values[:, np.newaxis] for name, values in GEOMETRY.items()}
    upper = upper_ball(g, SWING.pad_angle)
    lower = lower_ball(g, CLOSED.tappet_position[:, np.newaxis] + LIFTS)
    pull = (upper - lower) / g["pushrod_planar_length"]
    arm = upper - np.array([-g["setback"], g["height"]], dtype=object)
    moment = np.asarray(arm[0] * pull[1] - arm[1] * pull[0], float)
    # Tappet force per unit of force along the pushrod: its part along the bore.
    along_bore = -np.sin(g["tappet_angle"]) * pull[0] + np.cos(g["tappet_angle"]) * pull[1]
    valve_force = -moment / (SWING.contact_x + g["setback"])
    np.testing.assert_allclose(along_bore, valve_force * SWING.ratio, rtol=1e-9)


def test_lean_path_and_inverse_agree_with_swung():
    drop, ratio = pad_drop_and_ratio(CLOSED, LIFTS)
    np.testing.assert_array_equal(drop, SWING.pad_drop)
    np.testing.assert_array_equal(ratio, SWING.ratio)
    np.testing.assert_allclose(tappet_lift_at_pad_drop(CLOSED, drop), LIFTS, atol=1e-12)


def test_pad_side_alone_gives_the_same_contact():
    names = ("setback", "height", "pad_arm", "pad_radius", "lash")
    contact = contact_at_pad_drop(**{name: GEOMETRY[name] for name in names}, pad_drop=SWING.pad_drop)
    np.testing.assert_allclose(contact, SWING.contact_x, atol=1e-12)


def test_pushrod_length_to_closed_position_and_back():
    names = ("height", "pad_arm", "pad_radius", "socket_arm", "arm_angle", "lash")
    back = pushrod_planar_length_for(
        **{name: GEOMETRY[name] for name in (*names, "tappet_setback", "tappet_angle")},
        tappet_position=CLOSED.tappet_position,
    )
    np.testing.assert_allclose(back, GEOMETRY["pushrod_planar_length"], rtol=1e-13)


def test_mirror_image_moves_alike():
    """The constraint equations mirrored left to right (the other bank of a vee) give the mirrored contact."""
    g = one(GEOMETRY, 3)
    # Mirrored: shaft at +setback, arms' angles pi - angle, bore direction (+sin, cos), line on the +x side.
    shaft = np.array([g["setback"], g["height"]])
    bore = np.array([np.sin(g["tappet_angle"]), np.cos(g["tappet_angle"])])
    away = np.array([bore[1], -bore[0]])

    def mirrored(unknown):
        pad = shaft + g["pad_arm"] * np.array([np.cos(unknown[0]), np.sin(unknown[0])])
        turned = unknown[0] - g["arm_angle"]
        socket = shaft + g["socket_arm"] * np.array([np.cos(turned), np.sin(turned)])
        ball = shaft + g["tappet_setback"] * away + unknown[1] * bore
        return pad, np.hypot(*(socket - ball)) - g["pushrod_planar_length"]

    closed = root(
        lambda u: [mirrored(u)[0][1] - g["pad_radius"] - g["lash"], mirrored(u)[1]],
        [np.pi, -g["pushrod_planar_length"]],
        tol=1e-14,
    ).x
    lifted = root(lambda u: [mirrored([u[0], closed[1] + LIFTS[3, 5]])[1]], [closed[0] + 0.15], tol=1e-14).x
    pad = mirrored([lifted[0], 0.0])[0]
    assert -pad[0] == pytest.approx(SWING.contact_x[3, 5], abs=1e-11)
    assert np.pi - lifted[0] == pytest.approx(SWING.pad_angle[3, 5], abs=1e-9)


def test_valve_lift_is_continuous_where_the_lash_is_taken_up():
    lash = np.maximum(GEOMETRY["lash"], 1e-4)
    closed = closed_position(**{**GEOMETRY, "lash": lash})
    taken_up = tappet_lift_at_pad_drop(closed, lash[:, np.newaxis])
    step = 1e-9 * np.array([-1.0, 0.0, 1.0])
    lift = valve_lift(pad_drop=pad_drop_and_ratio(closed, taken_up + step)[0], lash=lash)
    np.testing.assert_array_equal(lift[:, 0], 0.0)
    np.testing.assert_allclose(lift[:, 1], 0.0, atol=1e-15)
    ratio = pad_drop_and_ratio(closed, taken_up)[1][:, 0]
    np.testing.assert_allclose(lift[:, 2], 1e-9 * ratio, rtol=1e-5)


def test_splay_in_three_dimensions():
    """The balls stay the true length apart in space, and the angles are those of the vectors."""
    splay = np.linspace(-0.03, 0.03, COUNT)
    length = np.hypot(GEOMETRY["pushrod_planar_length"], splay)
    planar = planar_length(length=length, splay=splay)
    closed = closed_position(**{**GEOMETRY, "pushrod_planar_length": planar})
    swing = swung(closed, LIFTS, splay=splay)
    for row in range(0, COUNT, 40):
        g = one(GEOMETRY, row)
        for column in (0, 8):
            ball = np.append(lower_ball(g, closed.tappet_position[row] + LIFTS[row, column]), 0.0)
            upper = np.append(upper_ball(g, swing.pad_angle[row, column]), splay[row])
            rod = upper - ball
            assert np.linalg.norm(rod) == pytest.approx(length[row], rel=1e-12)
            bore = np.array([-np.sin(g["tappet_angle"]), np.cos(g["tappet_angle"]), 0.0])
            to_bore = np.arccos(rod @ bore / length[row])
            assert swing.tappet_angle[row, column] == pytest.approx(to_bore, abs=1e-7)
            arm_angle = swing.pad_angle[row, column] + g["arm_angle"]
            normal = np.array([np.sin(arm_angle), -np.cos(arm_angle), 0.0])
            to_normal = np.arccos(abs(rod @ normal) / length[row])
            assert swing.socket_angle[row, column] == pytest.approx(to_normal, abs=1e-7)


def test_leading_shapes_broadcast_and_unknown_stays_unknown():
    g = one(GEOMETRY, 0)
    closed = closed_position(**{**g, "height": np.full((3, 1), g["height"]), "lash": [0.0, np.nan]})
    swing = swung(closed, LIFTS[0])
    assert swing.pad_drop.shape == (3, 2, 9)
    assert np.isnan(swing.pad_drop[:, 1]).all()
    alone = pad_drop_and_ratio(closed_position(**{**g, "lash": 0.0}), LIFTS[0])[0]
    np.testing.assert_allclose(swing.pad_drop[1, 0], alone, atol=1e-15)


@pytest.mark.parametrize(
    ("changes", "link", "words"),
    [
        ({"height": 0.09}, "pad arm", "high above"),
        ({"height": -0.06}, "pad arm", "low below"),
        ({"pushrod_planar_length": 0.01, "tappet_setback": 0.06}, "pushrod", "too short"),
        ({"arm_angle": np.radians(10.0), "tappet_setback": -0.01}, "rocker", "would close the valve"),
        ({"tappet_lift": 0.09}, "rocker", "hangs straight down"),
    ],
    ids=["shaft high", "shaft low", "pushrod short", "wrong way", "straight down"],
)
def test_fault_names_the_link(changes, link, words):
    g = {**one(GEOMETRY, 0), "tappet_lift": float(FULL[0])}
    assert linkage_fault(**g) is None
    fault = linkage_fault(**{**g, **changes})
    assert fault is not None
    assert fault.link == link
    assert words in fault.sentence
    assert np.isnan(
        pad_drop_and_ratio(
            closed_position(**{k: v for k, v in {**g, **changes}.items() if k != "tappet_lift"}),
            [{**g, **changes}["tappet_lift"]],
        )[0]
    ).all()


def test_true_lock_and_arm_past_straight_down_are_told_apart():
    g = {
        "setback": 0.0303,
        "height": 0.008,
        "pad_arm": 0.0305,
        "pad_radius": 0.0127,
        "socket_arm": 0.0203,
        "arm_angle": np.radians(171.0),
        "lash": 0.0005,
        "pushrod_planar_length": 0.244,
        "tappet_setback": 0.0202,
        "tappet_angle": 0.0,
    }
    fault = linkage_fault(**g, tappet_lift=0.09)
    assert "locks before full lift" in fault.sentence
    # At a lock pushrod and socket arm lie in one line: the ratio grows without bound.
    before = pad_drop_and_ratio(closed_position(**g), [0.0, fault.length * (1 - 1e-6)])[1]
    assert before[1] > 40 * before[0]


def test_long_arrays_agree_with_single_points_also_past_a_lock():
    """Long arrays skip checks that both ends make needless; single points never do."""
    lifts = np.linspace(-0.002, 0.5, 700)
    for row in range(0, 60, 6):
        closed = closed_position(**one(GEOMETRY, row))
        single = np.array([pad_drop(closed, lift)[0] for lift in lifts])
        locked = int(np.argmax(np.isnan(single)))
        assert locked > 0
        assert np.isnan(single[locked:]).all()
        for part in (lifts, lifts[:locked], lifts[: locked + 1]):
            whole, ratio = pad_drop_and_ratio(closed, part)
            np.testing.assert_allclose(whole, single[: len(part)], rtol=0, atol=1e-16)
            np.testing.assert_array_equal(whole, pad_drop(closed, part))
            np.testing.assert_array_equal(np.isnan(ratio), np.isnan(whole))
            turn, _ = rocker_turn(closed, part)
            fall = closed.pad_arm * (np.sin(closed.pad_angle) - np.sin(closed.pad_angle - turn))
            known = ~np.isnan(whole)
            np.testing.assert_allclose(whole[known], fall[known], atol=1e-15)
    assert pad_drop(closed, np.empty(0)).shape == (0,)


def test_lock_is_where_the_ratio_curve_ends():
    g = one(GEOMETRY, 0)
    fault = linkage_fault(**g, tappet_lift=0.09)
    closed = closed_position(**g)
    drop, ratio = pad_drop_and_ratio(closed, fault.length + np.array([-1e-7, 1e-7]))
    assert np.isfinite(drop[0])
    assert np.isnan(drop[1])
    assert np.isnan(ratio[1])


def test_impossible_lengths_are_refused():
    g = one(GEOMETRY, 0)
    with pytest.raises(ValueError, match=r"pad_arm is -0\.03: it must be finite and greater than zero"):
        closed_position(**{**g, "pad_arm": -0.03})
    with pytest.raises(ValueError, match="pushrod_planar_length is inf"):
        closed_position(**{**g, "pushrod_planar_length": np.inf})
