"""The plan: what it writes is what it foretold, nothing gets worse, and unmeasured valves get no work."""

import json
import math

import pytest

from valvetrain.answers.verdict import Check
from valvetrain.parts.limits.limit import Limit
from valvetrain.questions.plan.probability import conformity


def planned(run, *arguments):
    result = run("plan", *arguments, "--json")
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)["results"]


def test_the_sheet_written_is_the_one_foretold(sample, run, document, tmp_path):
    folder = sample("reground_head")
    results = planned(run, folder, "-o", tmp_path / "after")
    checks = document("check", tmp_path / "after")["checks"]
    rank = ("out", "unsure", "unmeasured", "ok")
    asked = {
        valve: min((each["verdict"] for each in checks if each["valve"] == valve), key=rank.index)
        for valve in {each["valve"] for each in checks if each["valve"]}
    }
    told = {}
    for own in results["after"].values():
        for valve, verdict in own.items():
            told.setdefault(valve, []).append(verdict)
    assert asked == {valve: min(verdicts, key=rank.index) for valve, verdicts in told.items()}
    assert "out" not in asked.values()


def test_no_question_gets_worse_at_any_valve(sample, run):
    results = planned(run, sample("reground_head"))
    rank = {"ok": 0, "unmeasured": 1, "unsure": 1, "out": 2}
    # What a new spring will give is not known before it is tested.
    new = {valve for step in results["steps"] if step["kind"] == "springs" for valve in step["valves"]}
    for question, before in results["before"].items():
        for valve, verdict in before.items():
            if valve in new and results["after"][question][valve] == "unmeasured":
                continue
            assert rank[results["after"][question][valve]] <= rank[verdict], (question, valve)


def test_an_unmeasured_valve_gets_no_work_but_what_to_measure(sample, run):
    results = planned(run, sample("reground_head"))
    bare = {
        valve
        for own in results["before"].values()
        for valve, verdict in own.items()
        if verdict == "unmeasured"
    }
    assert bare
    for step in results["steps"]:
        if step["kind"] != "stand shims":
            assert not bare & set(step["valves"]), step
    assert bare <= {valve for each in results["measure_first"] for valve in each["valves"]}


def test_a_healthy_engine_is_left_alone(sample, run):
    results = planned(run, sample("pump_vee"))
    assert results["steps"] == []
    assert results["before"] == results["after"]


def test_a_folder_that_exists_is_not_touched(sample, run, tmp_path):
    (tmp_path / "there").mkdir()
    result = run("plan", sample("pump_vee"), "-o", tmp_path / "there")
    assert result.exit_code == 2
    assert "exists already" in result.stderr
    assert list((tmp_path / "there").iterdir()) == []


@pytest.mark.parametrize(
    ("value", "low", "high", "expected"),
    [
        # JCGM 106:2012, 7.3, the Zener diode: limit -5.40 V, estimate -5.47 V, u 0.05 V: Phi(1.4).
        (-5.47, -math.inf, -5.40, 0.9192433),
        # Two-sided at one standard uncertainty either way (derived): erf(1/sqrt(2)).
        (0.0, -0.05, 0.05, 0.6826895),
    ],
)
def test_probability_of_conformity(value, low, high, expected):
    limit = Limit("any", "length", low, high, "published", "what is judged")
    check = Check("any", "1I", "what", limit.dimension, value, 0.05, low, high, "ok", limit.basis, "")
    assert conformity(check) == pytest.approx(expected, abs=5e-8)
