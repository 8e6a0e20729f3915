"""Degree wheel against the card: which way and how far."""

import numpy as np
import pytest

from tests.questions.lobe_sheets import CAM, LAW, NOMINAL, sheet
from valvetrain.questions.events.cam_position import as_on_card
from valvetrain.questions.events.checks import cam_checks
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


def shifted(late, *valves):
    """Lines of the wheel's table that read these valves of the plain sheet `late` crank degrees late."""
    plain = {"1I": (10.0, 40.0), "1E": (44.0, 6.0)}
    rows = ["valve,checking_lift,checked_at,opens,closes"]
    for valve in valves:
        opens, closes = plain[valve]
        rows.append(f"{valve},1.27,tappet,{opens - late},{closes + late}")
    return "\n".join(rows) + "\n"


def read_late(tmp_path, name, cam, late, *valves):
    folder = sheet(tmp_path / name, NOMINAL, LAW, cam, '[tables]\nwheel = "wheel.csv"\n')
    (folder / "wheel.csv").write_text(shifted(late, *valves))
    return read_setup(folder)


def test_events_are_where_the_wheel_found_the_cam(tmp_path):
    setup = wheel_sheet(tmp_path, 3.0)
    card, found = events_study(as_on_card(setup), 1e-3, "valve"), events_study(setup, 1e-3, "valve")
    assert np.degrees(found.opens.value - card.opens.value) == pytest.approx([-3.0, -3.0], abs=1e-9)
    assert np.degrees(found.closes.value - card.closes.value) == pytest.approx([3.0, 3.0], abs=1e-9)
    assert found.duration.value == pytest.approx(card.duration.value, rel=1e-12)
    # The card's own doubt of the center plays no part any more; the wheel's (0.5 deg at both ends) does.
    assert np.degrees(found.centerline.uncertainty) == pytest.approx([0.3525, 0.3525], abs=2e-3)


def test_the_role_that_was_not_read_moves_with_the_other(tmp_path):
    # A symmetric lobe's center is the middle of its events: 105 after the overlap, and 109 before it.
    for name, valve, late in (("i", "1I", 4.0), ("e", "1E", -2.5)):
        setup = read_late(tmp_path, name, CAM, late, valve)
        middle = np.degrees(events_study(setup, 1.27e-3, "tappet").centerline.value)
        own = {
            "1I": (105.0 + late, 112.0 - (105.0 + late - 108.0)),
            "1E": (108.0 - (109 - late - 112), 109 - late),
        }
        assert middle == pytest.approx(own[valve], abs=1e-6)
        doubt = np.degrees(events_study(setup, 1.27e-3, "tappet").centerline.uncertainty)
        read, moved = (0, 1) if valve == "1I" else (1, 0)
        assert doubt[moved] > 1.5 * doubt[read]


def test_a_wheel_tells_the_center_where_the_sheet_does_not(tmp_path):
    setup = read_late(tmp_path, "none", "", 0.0, "1I", "1E")
    assert np.degrees(events_study(setup, 1.27e-3, "tappet").centerline.value) == pytest.approx(
        [105.0, 109.0]
    )


@pytest.mark.parametrize(
    ("late", "verdict", "move"),
    [
        (3.1, "out", "Advance the cam"),
        (2.2, "unsure", "Advance the cam"),
        (0.5, "ok", ""),
        (-3.1, "out", "Retard the cam"),
    ],
)
def test_a_late_cam_is_judged_and_its_advance_is_the_cure(tmp_path, late, verdict, move):
    setup = wheel_sheet(tmp_path, late)
    (check,) = cam_checks(setup, wheel_study(setup))
    assert (check.verdict, check.valve) == (verdict, None)
    assert np.degrees(check.value) == pytest.approx(late, abs=1e-9)
    assert (f"{move} by {abs(late)} +-0.9 crank degrees" in check.advice) == bool(move)
    assert cam_checks(setup, None) == []
