"""Worked cases of cam events, lash and ramps from public writing of the trade.

Status: common practice, no source; each answer is arithmetic on the facts given.
"""

import numpy as np
import pytest

from valvetrain.mechanics.cam.event_placement import (
    centerline_from_placed,
    duration_from_placed,
    lobe_separation,
    overlap,
    placed_events,
)
from valvetrain.mechanics.cam.events import sampled_pad_drop_inverse, tappet_lift_at
from valvetrain.mechanics.cam.lash_ramp import ramp_left

# At 0.020 in of tappet lift, crank degrees: intake opens 13 after TDC, closes 21 after BDC; exhaust opens 39
# before BDC, closes 6 before TDC.
CARD = {"intake": (-13.0, 21.0, 188.0, 107.0), "exhaust": (39.0, -6.0, 213.0, 112.5)}


@pytest.mark.parametrize("role", CARD)
def test_durations_and_centerlines(role):
    opens, closes, duration, centerline = CARD[role]
    events = np.radians([opens, closes])
    assert np.degrees(duration_from_placed(*events)) == pytest.approx(duration, abs=1e-12)
    assert np.degrees(centerline_from_placed(*events, role)) == pytest.approx(centerline, abs=1e-12)


@pytest.mark.parametrize("role", CARD)
def test_events_from_duration_and_centerline(role):
    opens, closes, duration, centerline = CARD[role]
    half = np.radians(duration / 4)
    placed = placed_events(-half, half, np.radians(centerline), role)
    assert np.degrees([placed.opens, placed.closes]) == pytest.approx([opens, closes], abs=1e-12)


def test_overlap_and_separation():
    found = np.degrees(overlap(np.radians(CARD["intake"][0]), np.radians(CARD["exhaust"][1])))
    assert found == pytest.approx(-19, abs=1e-12)
    assert np.degrees(lobe_separation(np.radians(107), np.radians(112.5))) == pytest.approx(109.75, abs=1e-12)


@pytest.mark.parametrize(
    ("ramp_end", "take_up", "ratio", "lash"), [(0.010, 0.003, 1.5, 0.0105), (0.0147, 0.002, 1.0, 0.0127)]
)
def test_lash_at_the_end_of_the_ramp(ramp_end, take_up, ratio, lash):
    assert ramp_left(ramp_end, 0.0, ratio, take_up) == pytest.approx(lash, abs=1e-12)
    assert ramp_left(ramp_end, lash, ratio, take_up) == pytest.approx(0.0, abs=1e-12)
    assert ramp_left(ramp_end, lash + 0.001, ratio, take_up) < 0


def test_checking_lift_at_the_valve_and_at_the_tappet():
    """0.016 in at the valve is 0.0128 at the tappet for a ratio of 1.25."""
    samples = np.linspace(0, 0.3, 50)
    inverse = sampled_pad_drop_inverse(samples, 1.25 * samples)
    assert tappet_lift_at(0.016, 0.0, inverse) == pytest.approx(0.0128, abs=1e-12)


def test_net_lift():
    """Gross 0.500 in with 0.020 lash leaves 0.480: the net lift whose tappet lift is the full one."""
    samples = np.linspace(0, 0.5 / 1.6, 50)
    inverse = sampled_pad_drop_inverse(samples, 1.6 * samples)
    assert tappet_lift_at(0.480, 0.020, inverse) == pytest.approx(0.5 / 1.6, abs=1e-12)
    assert np.isnan(tappet_lift_at(0.4801, 0.020, inverse))
