"""Positions of the rocker: every part keeps its measured length, and the pad stands where the valve is."""

import numpy as np
import pytest

from tests.questions.plotted_samples import result_of, setup_of

SAMPLE_NAMES = ["plain_six", "faulted_six", "pump_twin"]


def column(sample, section, key):
    return setup_of(sample).column(section, key).value


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_the_pad_stands_lash_above_the_closed_tip_and_on_the_moved_one(sample):
    positions, rocker = result_of(sample, "positions"), result_of(sample, "rocker")
    above = positions.pad_y - column(sample, "rocker", "pad_radius")[:, np.newaxis]
    lash, net = rocker.lash.value, rocker.net_lift.value
    np.testing.assert_allclose(above, np.stack([lash, -net / 2, -net], axis=-1), atol=1e-12)
    np.testing.assert_allclose(positions.tip_y, np.stack([0 * net, -net / 2, -net], axis=-1), atol=1e-12)


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_arms_and_pushrod_keep_their_lengths(sample):
    positions = result_of(sample, "positions")
    shaft_x, shaft_y = positions.shaft_x[:, np.newaxis], positions.shaft_y[:, np.newaxis]
    known = ~np.isnan(positions.pad_x).any(axis=-1)
    assert known.sum() >= 4
    pad_arm = np.hypot(positions.pad_x - shaft_x, positions.pad_y - shaft_y)
    socket_arm = np.hypot(positions.socket_x - shaft_x, positions.socket_y - shaft_y)
    rod = np.hypot(positions.socket_x - positions.tappet_x, positions.socket_y - positions.tappet_y)
    for drawn, section, key in (
        (pad_arm, "rocker", "pad_arm"),
        (socket_arm, "rocker", "socket_arm"),
        (rod, "pushrod", "length"),
    ):
        measured = np.repeat(column(sample, section, key)[:, np.newaxis], 3, axis=1)
        np.testing.assert_allclose(drawn[known], measured[known], rtol=1e-12)


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_the_lower_ball_stays_on_the_tappets_line_and_rises(sample):
    positions = result_of(sample, "positions")
    # These samples' tappets stand parallel to the stems.
    assert np.all(column(sample, "tappet", "angle") == 0)
    line = -column(sample, "shaft", "setback") - column(sample, "tappet", "setback")
    known = ~np.isnan(positions.pad_x).any(axis=-1)
    np.testing.assert_allclose(positions.tappet_x[known] - line[known, np.newaxis], 0, atol=1e-12)
    lift = positions.tappet_y - positions.tappet_y[:, :1]
    assert np.all(np.diff(lift[known], axis=-1) > 0)
    lobe = result_of(sample, "rocker").lobe_lift.value
    np.testing.assert_allclose(lift[known, 2], lobe[known], rtol=1e-9)


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_the_contact_is_that_of_the_rocker_study(sample):
    positions, rocker = result_of(sample, "positions"), result_of(sample, "rocker")
    np.testing.assert_allclose(positions.contact_x[:, 0], rocker.contact_closed.value, atol=1e-12)
    np.testing.assert_allclose(positions.contact_x[:, 2], rocker.contact_full.value, atol=1e-12)
    inner = np.abs(positions.contact_x[:, 1] - rocker.sweep_middle.value)
    known = ~np.isnan(inner)
    assert np.all(inner[known] <= 0.5 * rocker.sweep_width.value[known] + 1e-12)
    # A contact lies below the pad's center.
    np.testing.assert_allclose(positions.contact_x[:, 1:], positions.pad_x[:, 1:], atol=1e-12)


def test_a_valve_that_was_not_measured_has_no_position():
    positions = result_of("faulted_six", "positions")
    index = positions.valves.index("6E")
    for name in ("tip_y", "pad_x", "pad_y", "contact_x"):
        assert np.isnan(getattr(positions, name)[index]).all(), name
