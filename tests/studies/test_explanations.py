"""Every explanation's formula gives the number that its study reports, at every valve of every sample."""

import math
from pathlib import Path

import pytest

from valvetrain.setup.read import read_setup
from valvetrain.studies.explanation import explained, explanations
from valvetrain.studies.quantity import Quantity
from valvetrain_cli.asking import asked

SAMPLES = Path(__file__).parents[2] / "sample_geometry"
QUESTIONS = ("rocker", "center", "spring", "pushrod", "events")


@pytest.fixture(scope="module", params=["launch_six", "pump_twin", "reground_head"])
def engine(request):
    setup = read_setup(SAMPLES / request.param)
    results = {}
    for question in QUESTIONS:
        results |= asked(setup, (question,))
    return setup, results


EVALUATED = sorted(key for key, each in explanations().items() if each.steps)


@pytest.mark.parametrize("key", EVALUATED, ids=".".join)
def test_formula_gives_the_number_reported(key, engine):
    setup, results = engine
    explanation = explanations()[key]
    known = 0
    for valve in setup.valves:
        answer = explained(setup, results, explanation, valve, "inch")
        if explanation.name == "gross_lift":
            index = setup.valves.index(valve)
            if results["rocker"].lift_from[index] != "linkage":
                continue
        if math.isnan(answer.value):
            assert math.isnan(answer.evaluated)
            continue
        known += 1
        assert answer.evaluated == pytest.approx(answer.value, rel=1e-9, abs=1e-12)
    if setup.title.startswith("Launch six"):
        assert known == 12


@pytest.mark.parametrize("key", sorted(explanations()), ids=".".join)
def test_explanation_names_a_quantity_reported_and_inputs_of_the_sheet(key, engine):
    setup, results = engine
    explanation = explanations()[key]
    assert isinstance(getattr(results[key[0]], key[1]), Quantity)
    assert explanation.publication
    assert explanation.steps or explanation.note
    assert not explanation.check or explanation.check in setup.limits
    answer = explained(setup, results, explanation, setup.valves[0], setup.units)
    for one in answer.inputs:
        assert one.source
        if not math.isnan(one.value) and "." in explanation.symbols[one.symbol]:
            assert "toml" in one.source or "csv" in one.source or "left out" in one.source
