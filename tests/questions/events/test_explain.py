"""Events at other checking lifts than lift-off: the steps follow what was asked."""

from pathlib import Path

import pytest

from tests.questions.explained_six import steps_give_what_is_reported
from valvetrain.questions.asking import asked
from valvetrain.questions.events.answer import events_answer
from valvetrain.setup.read import read_setup

SAMPLES = Path(__file__).parents[3] / "sample_geometry"


@pytest.mark.parametrize("sample", ["launch_six", "pump_twin"])
@pytest.mark.parametrize("check", [(1.27e-3, "tappet"), (0.5e-3, "valve"), (20e-3, "valve")], ids=str)
def test_steps_give_what_the_study_reports(sample, check):
    setup = read_setup(SAMPLES / sample)
    results = {**asked(setup, ("rocker",)), "events": events_answer(setup, (check,))}
    seen = steps_give_what_is_reported(setup, "events", results, without=("area", "cam_late"))
    assert seen >= 2 * len(setup.valves)
