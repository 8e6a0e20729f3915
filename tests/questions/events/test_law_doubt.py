"""Doubt of a law's figures reaches the durations: against the cycloidal law solved here by itself."""

import numpy as np
import pytest
from scipy.optimize import brentq

from tests.questions.lobe_sheets import CAM, LINKAGE, sheet
from valvetrain.questions.events.law_doubt import law_lift_doubt
from valvetrain.questions.events.study import events_study
from valvetrain.setup.read import read_setup

LEVEL = 1e-3


def law(lift, rise):
    return f'[lobe]\nlaw = "cycloidal"\nlift = "{lift}"\nrise_angle = "{rise}"\n'


def duration(lift, rise, level=LEVEL):
    """Crank degrees above a lift of a cycloidal lobe: lift L (x - sin(2 pi x)/(2 pi)), x from 0 to 1."""
    at = brentq(lambda x: lift * (x - np.sin(2 * np.pi * x) / (2 * np.pi)) - level, 0.0, 1.0, xtol=1e-14)
    return 2 * 2 * rise * (1 - at)


@pytest.mark.parametrize(
    ("lift", "rise", "moved"),
    [
        ("6.6 +/- 0.15", "60 +/- 0", lambda way: duration(6.6e-3 + way * 0.15e-3, 60)),
        ("6.6 +/- 0", "60 +/- 0.5", lambda way: duration(6.6e-3, 60 + way * 0.5)),
    ],
)
def test_duration_at_the_tappet(lift, rise, moved, tmp_path):
    setup = read_setup(sheet(tmp_path, LINKAGE, law(lift, rise), CAM))
    found = events_study(setup, LEVEL, "tappet")
    assert np.degrees(found.duration.value[0]) == pytest.approx(duration(6.6e-3, 60), abs=1e-6)
    expected = 0.5 * abs(moved(1) - moved(-1))
    assert expected > 0.05
    assert np.degrees(found.duration.uncertainty[0]) == pytest.approx(expected, rel=0.01)


def test_doubt_grows_with_that_of_the_lift(tmp_path):
    doubts = []
    for number, spread in enumerate((1e-4, 0.15, 0.3)):
        folder = tmp_path / str(number)
        folder.mkdir()
        setup = read_setup(sheet(folder, LINKAGE, law(f"6.6 +/- {spread}", "60 +/- 0"), CAM))
        doubts.append(events_study(setup, LEVEL, "tappet").duration.uncertainty[0])
    assert doubts[0] < 0.01 * doubts[1]
    assert doubts[2] == pytest.approx(2 * doubts[1], rel=0.02)


def test_lift_at_an_angle(tmp_path):
    setup = read_setup(sheet(tmp_path, LINKAGE, law("6.6 +/- 0.15", "60 +/- 0"), CAM))
    lobe = setup.trains[0].lobe
    angle = np.radians([-30.0, 0.0])
    # Every lift of a law goes with its greatest.
    assert law_lift_doubt(lobe, angle) == pytest.approx([0.075e-3, 0.15e-3], rel=1e-6)
