"""Lift over the crank's turns: it agrees with the rocker's lifts and with the events, found by other ways."""

from math import pi

import numpy as np
import pytest

from tests.questions.plotted_samples import result_of, setup_of
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.events.lift_path import lift_path_study
from valvetrain.questions.events.study import events_study

SAMPLE_NAMES = ["plain_six", "faulted_six", "pump_twin"]


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_the_top_is_the_rockers_gross_and_net_lift(sample):
    path, rocker = result_of(sample, "path"), result_of(sample, "rocker")
    as_made = np.array([lobe_curve(train.lobe).max_lift for train in setup_of(sample).trains])
    over = rocker.lobe_lift.value - as_made
    known = ~np.isnan(rocker.net_lift.value)
    cut = known & (over <= 0)
    assert cut.sum() >= 2
    missing = (
        rocker.gross_lift.value - path.lift_at_zero_lash.max(axis=-1),
        rocker.net_lift.value - path.lift_at_set_lash.max(axis=-1),
    )
    for short in missing:
        np.testing.assert_allclose(short[cut], 0, atol=1e-9)
        # A lobe found higher than its table keeps the table's curve, and is short by that times the ratio.
        high = known & (over > 0)
        # The top may lie between two samples: a quarter of a cam degree apart.
        higher = (over * rocker.ratio_at_full_lift.value)[high]
        np.testing.assert_allclose(short[high], higher, rtol=1e-3, atol=2e-7)


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_the_lash_is_missing_wherever_the_valve_is_open(sample):
    path, rocker = result_of(sample, "path"), result_of(sample, "rocker")
    opened = path.lift_at_set_lash > 0
    assert opened.any(axis=-1).sum() >= 4
    gone = path.lift_at_zero_lash - path.lift_at_set_lash
    lash = np.broadcast_to(rocker.lash.value[:, np.newaxis], gone.shape)
    np.testing.assert_allclose(gone[opened], lash[opened], rtol=1e-12)
    shut = path.lift_at_set_lash == 0
    assert np.all(path.lift_at_zero_lash[shut] <= lash[shut])


@pytest.mark.parametrize(("lift", "at"), [(1.27e-3, "valve"), (1e-3, "tappet")])
@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_at_the_events_the_path_has_the_checking_lift(sample, lift, at):
    setup, path = setup_of(sample), result_of(sample, "path")
    events = events_study(setup, lift, at)
    curve = path.lift_at_set_lash if at == "valve" else path.tappet_lift
    checked = 0
    for index, role in enumerate(setup.roles):
        opens, closes = events.opens.value[index], events.closes.value[index]
        if np.isnan(opens):
            continue
        angles = (-opens, pi + closes) if role == "intake" else (-pi - opens, closes)
        found = np.interp(angles, path.crank_angle[index], curve[index])
        np.testing.assert_allclose(found, lift, atol=2e-6)
        checked += 1
    assert checked >= 4


def test_a_valve_without_a_lash_has_no_lift_at_the_set_lash():
    path = result_of("faulted_six", "path")
    index = path.valves.index("6E")
    assert np.isnan(path.lift_at_set_lash[index]).all()


def test_a_worn_lobe_is_cut_off_at_its_own_lift():
    path = result_of("faulted_six", "path")
    written = setup_of("faulted_six").column("lobe", "measured_lift").value
    index = path.valves.index("4I")
    assert written[index] == pytest.approx(0.2495 * 0.0254)
    assert path.tappet_lift[index].max() == pytest.approx(written[index], rel=1e-12)


def test_the_lobe_center_is_in_the_middle_at_its_centerline():
    setup = setup_of("pump_twin")
    path = lift_path_study(setup, samples=361)
    middle = np.degrees(path.crank_angle[:, 180])
    # 108 after; the lobes 110 cam degrees apart, so 2 x 110 - 108 before.
    np.testing.assert_allclose(middle, [108, -112, 108, -112], rtol=1e-12)
    assert path.crank_angle.shape == (4, 361)
    np.testing.assert_allclose(np.ptp(path.crank_angle, axis=-1), 4 * pi)
