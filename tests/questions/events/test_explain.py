"""Events at other checking lifts than lift-off: the steps follow what was asked."""

import pytest

from tests.engine_folders import engine_folder
from tests.questions.explained_six import steps_give_what_is_reported
from valvetrain.questions.asking import asked
from valvetrain.questions.events.answer import events_answer
from valvetrain.setup.read import read_setup


@pytest.mark.parametrize("sample", ["plain_six", "pump_twin"])
@pytest.mark.parametrize("check", [(1.27e-3, "tappet"), (0.5e-3, "valve"), (20e-3, "valve")], ids=str)
def test_steps_give_what_the_study_reports(sample, check):
    setup = read_setup(engine_folder(sample))
    results = {**asked(setup, ("rocker",)), "events": events_answer(setup, (check,))}
    seen = steps_give_what_is_reported(setup, "events", results, without=("area", "cam_late"))
    assert seen >= 2 * len(setup.valves)
