"""The lash by every way: set cold or hot, measured where, grown by a pair, a path or what is usual."""

import math
import shutil
from pathlib import Path

import pytest

from valvetrain.setup.read import read_setup
from valvetrain.studies.explanation import explained, explanations
from valvetrain_cli.asking import asked

SAMPLES = Path(__file__).parents[2] / "sample_geometry"
LASH = 'at = "valve"\nstate = "cold"'
HOT = "[hot]\n"
PAIR = "[hot]\ncold_lash = 0.019\nhot_lash = 0.017\n"
COLD = "cold_temperature = 70\n"
TABLE = 'table = "intake_lobe.csv"\n'
LAW = 'law = "cycloidal"\nrise_angle = 70.0\n'
WAYS = {
    "set hot": [(LASH, 'at = "valve"\nstate = "hot"')],
    "set hot, at the pushrod": [(LASH, 'at = "pushrod"\nstate = "hot"')],
    "state not told": [(LASH, 'at = "valve"')],
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
    folder = tmp_path / "six"
    shutil.copytree(SAMPLES / "launch_six", folder)
    sheet = folder / "setup.toml"
    text = sheet.read_text()
    for old, new in WAYS[request.param]:
        assert text.count(old) == 1
        text = text.replace(old, new)
    sheet.write_text(text)
    setup = read_setup(folder)
    return setup, asked(setup, ("rocker", "lash"))


def test_steps_give_what_the_study_reports(engine):
    setup, results = engine
    seen = 0
    for (question, _), explanation in explanations().items():
        if question != "lash":
            continue
        for valve in setup.valves:
            answer = explained(setup, results, explanation, valve, "inch")
            if answer.explanation.steps or not math.isnan(answer.value):
                assert answer.evaluated == pytest.approx(answer.value, rel=1e-6, abs=1e-12, nan_ok=True)
            if answer.proof and not math.isnan(answer.value):
                assert answer.proof[-1].outcome == pytest.approx(0.0, abs=1e-8)
            seen += not math.isnan(answer.value)
    assert seen > 100


@pytest.mark.parametrize(("state", "cold", "hot"), [("cold", {"g"}, {"g", "D"}), ("hot", {"g", "D"}, {"g"})])
def test_lash_as_set_is_not_explained_by_its_growth(state, cold, hot, tmp_path):
    folder = tmp_path / "six"
    shutil.copytree(SAMPLES / "launch_six", folder)
    sheet = folder / "setup.toml"
    sheet.write_text(sheet.read_text().replace('state = "cold"', f'state = "{state}"'))
    setup = read_setup(folder)
    results = asked(setup, ("rocker", "lash"))
    for name, symbols in (("cold_lash", cold), ("hot_lash", hot)):
        answer = explained(setup, results, explanations()["lash", name], "1I", "inch")
        assert {one.symbol for one in answer.inputs} == symbols
        assert not math.isnan(answer.evaluated)
