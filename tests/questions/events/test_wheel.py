"""Degree wheel against the card: which way and how far."""

import numpy as np
import pytest

from tests.questions.lobe_sheets import CAM, LAW, NOMINAL, sheet
from valvetrain.questions.events.study import events_study
from valvetrain.questions.events.wheel import wheel_study
from valvetrain.setup.read import read_setup


def wheel_sheet(tmp_path, late, *, other=0.0, lobe=LAW):
    """A sheet whose wheel reads every lobe `late` crank degrees late, the exhaust's `other` more."""
    plain = events_study(read_setup(sheet(tmp_path / "plain", NOMINAL, lobe, CAM)), 1e-3, "valve")
    folder = sheet(tmp_path / "read", NOMINAL, lobe, CAM, '[tables]\nwheel = "wheel.csv"\n')
    opens, closes = np.degrees(plain.opens.value), np.degrees(plain.closes.value)
    rows = ["valve,checking_lift,checked_at,opens,closes"]
    for index, (valve, shift) in enumerate((("1I", late), ("1E", late + other))):
        rows.append(f"{valve},1.0,valve,{opens[index] - shift!r},{closes[index] + shift!r}")
    (folder / "wheel.csv").write_text("\n".join(rows).replace("np.float64(", "").replace(")", ""))
    return read_setup(folder)


@pytest.mark.parametrize("late", [-5.0, 0.0, 3.0])
def test_cam_is_advanced_by_what_it_is_late(tmp_path, late):
    result = wheel_study(wheel_sheet(tmp_path, late))
    assert np.degrees(result.advance) == pytest.approx(late, abs=1e-9)
    assert result.spread == pytest.approx(0.0, abs=1e-9)
    intake, exhaust = result.comparisons
    # Late: the intake centerline is farther after, the exhaust's nearer before top dead center.
    assert np.degrees(intake.centerline.value) == pytest.approx(late, abs=1e-9)
    assert np.degrees(exhaust.centerline.value) == pytest.approx(-late, abs=1e-9)
    assert np.degrees(intake.duration.value) == pytest.approx(0.0, abs=1e-9)
    assert not intake.from_card


def test_lobes_that_do_not_move_together_are_shown(tmp_path):
    result = wheel_study(wheel_sheet(tmp_path, 2.0, other=4.0))
    assert np.degrees(result.advance) == pytest.approx(4.0, abs=0.01)
    assert np.degrees(result.spread) == pytest.approx(2.0, abs=0.01)


def test_card_s_own_events_at_that_lift_are_taken(tmp_path):
    lobe = """
[lobe]
lift = 6.6
events = [
    { checking_lift = 1.0, checked_at = "tappet", opens = 5, closes = 40 },
    { checking_lift = 2.0, checked_at = "tappet", opens = -10, closes = 25 },
]
"""
    folder = sheet(tmp_path, NOMINAL, lobe, '[tables]\nwheel = "wheel.csv"\n')
    (folder / "wheel.csv").write_text("valve,checking_lift,checked_at,opens,closes\n1I,1.0,tappet,2,43\n")
    (one,) = wheel_study(read_setup(folder)).comparisons
    assert one.from_card
    assert np.degrees(one.opens.value) == pytest.approx(-3)
    assert np.degrees(one.closes.value) == pytest.approx(3)
    assert np.degrees(one.retarded) == pytest.approx(3)
