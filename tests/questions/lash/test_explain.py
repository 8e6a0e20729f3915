"""The lash by every way: set cold or hot, measured where, grown by a pair, a path or what is usual."""

import math

import pytest

from tests.questions.explained_six import six_with, steps_give_what_is_reported
from valvetrain.answers.explanation import explained
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import explanations

LASH = 'at = "valve"\nstate = "cold"'
HOT = "[hot]\n"
PAIR = "[hot]\ncold_lash = 0.019\nhot_lash = 0.017\n"
COLD = "cold_temperature = 70\n"
TABLE = 'table = "intake_lobe.csv"\n'
LAW = 'law = "cycloidal"\nrise_angle = 70.0\n'
WAYS = {
    "set hot": [(LASH, 'at = "valve"\nstate = "hot"')],
    "set hot, at the pushrod": [(LASH, 'at = "pushrod"\nstate = "hot"')],
    "pair": [(HOT, PAIR)],
    "pair at the pushrod": [(HOT, PAIR), (LASH, 'at = "pushrod"\nstate = "cold"')],
    "construction": [(COLD, 'construction = "iron"\n')],
    "own coefficient": [(COLD, COLD + "valve_expansion = 15e-6\n")],
    "stated ramp": [(TABLE, TABLE + "ramp_height = 0.015\nclosing_ramp_height = 0.013\n")],
    "law without a ramp": [(TABLE, LAW)],
    "law with a ramp": [(TABLE, LAW + "ramp_height = 0.010\nramp_angle = 25.0\n")],
    "play and locknut": [
        ("nominal_ratio = 1.50\n", "nominal_ratio = 1.50\ntake_up = 0.001\nlocknut_gain = 0.001\n")
    ],
    "play past the ramp": [("nominal_ratio = 1.50\n", "nominal_ratio = 1.50\ntake_up = 0.019\n")],
    "no linkage": [('arm_angle = "172.0 +/- 0.4"\n', "")],
}


@pytest.fixture(params=WAYS)
def engine(request, tmp_path):
    setup = six_with(tmp_path, WAYS[request.param])
    return setup, asked(setup, ("rocker", "lash"))


def test_steps_give_what_the_study_reports(engine):
    setup, results = engine
    assert steps_give_what_is_reported(setup, "lash", results) > 100


@pytest.mark.parametrize(("state", "cold", "hot"), [("cold", {"g"}, {"g", "D"}), ("hot", {"g", "D"}, {"g"})])
def test_lash_as_set_is_not_explained_by_its_growth(state, cold, hot, tmp_path):
    setup = six_with(tmp_path, [('state = "cold"', f'state = "{state}"')])
    results = asked(setup, ("rocker", "lash"))
    for name, symbols in (("cold_lash", cold), ("hot_lash", hot)):
        answer = explained(setup, results, explanations()["lash", name], "1I", "inch")
        assert {one.symbol for one in answer.inputs} == symbols
        assert not math.isnan(answer.evaluated)
