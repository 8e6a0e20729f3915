"""Events at other checking lifts than lift-off: the steps follow what was asked."""

import math
from pathlib import Path

import pytest

from valvetrain.setup.read import read_setup
from valvetrain.studies.events_answer import events_answer
from valvetrain.studies.explanation import explained, explanations
from valvetrain_cli.asking import asked

SAMPLES = Path(__file__).parents[2] / "sample_geometry"


@pytest.mark.parametrize("sample", ["launch_six", "pump_twin"])
@pytest.mark.parametrize("check", [(1.27e-3, "tappet"), (0.5e-3, "valve"), (20e-3, "valve")], ids=str)
def test_steps_give_what_the_study_reports(sample, check):
    setup = read_setup(SAMPLES / sample)
    results = {**asked(setup, ("rocker",)), "events": events_answer(setup, (check,))}
    seen = 0
    for (question, name), explanation in explanations().items():
        if question != "events" or name == "area":
            continue
        for valve in setup.valves:
            answer = explained(setup, results, explanation, valve, "inch")
            if answer.explanation.steps or not math.isnan(answer.value):
                assert answer.evaluated == pytest.approx(answer.value, rel=1e-6, abs=1e-12, nan_ok=True)
            if answer.proof and not math.isnan(answer.value):
                assert answer.proof[-1].outcome == pytest.approx(0.0, abs=1e-8)
            seen += not math.isnan(answer.value)
    assert seen >= 2 * len(setup.valves)
