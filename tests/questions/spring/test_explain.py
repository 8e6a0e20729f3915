"""Loads of springs of every kind: the steps follow the way that was taken."""

import math
import shutil

import pytest

from tests.engine_folders import engine_folder
from valvetrain.answers.explanation import explained
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import explanations
from valvetrain.setup.read import read_setup

SIX = engine_folder("plain_six")
TESTS = 'tests = "springs.csv"\nfree_length = 2.00\n'
INNER = """
[inner_spring]
catalog_height = 1.55
catalog_load = 30.0
catalog_open_height = 1.20
catalog_open_load = 75.0
solid_height = 1.05
seat_step = 0.06
"""
CONE = 'kind = "conical"\nsmall_coil_diameter = 0.70\nfree_length = 2.00\n'
WAYS = {
    "tests": (TESTS, TESTS, ""),
    "tests, tester known": (TESTS, TESTS, '\n[spring_tester]\nzero = "0.5 lbf"\nscale = 1.01\n'),
    "progressive": (TESTS, TESTS + 'kind = "progressive"\n', ""),
    "catalog's two loads": (
        TESTS,
        "catalog_height = 1.6\ncatalog_load = 80.0\ncatalog_open_height = 1.2\ncatalog_open_load = 160.0\n",
        "",
    ),
    "rate and load": (TESTS, "rate = 205.0\ncatalog_height = 1.6\ncatalog_load = 80.0\n", ""),
    "rate and free length": (TESTS, "rate = 205.0\nfree_length = 2.00\n", ""),
    "wire and free length": (TESTS, "free_length = 2.00\n", ""),
    "set": (TESTS, TESTS, INNER),
    "set, broken in": ("redline = 3800\n", "redline = 3800\nbreak_in_speed = 2000\n", INNER),
    "sunk": (TESTS, TESTS + "seat_recession = 0.02\ntip_ground = 0.01\ndamper_friction = 6.0\n", ""),
}


def engine(tmp_path, way):
    old, new, more = way
    folder = tmp_path / "six"
    shutil.copytree(SIX, folder)
    sheet = folder / "setup.toml"
    text = sheet.read_text()
    assert text.count(old) == 1
    sheet.write_text(text.replace(old, new) + more)
    if "springs.csv" not in text.replace(old, new):
        table = folder / "valves.csv"
        table.write_text(table.read_text().replace("valve,spring,", "valve,remarks,"))
    return read_setup(folder)


@pytest.mark.parametrize("way", WAYS)
def test_steps_give_what_the_study_reports(way, tmp_path):
    setup = engine(tmp_path, WAYS[way])
    results = asked(setup, ("spring",))
    seen = 0
    for (question, name), explanation in explanations().items():
        if question != "spring":
            continue
        for valve in setup.valves:
            answer = explained(setup, results, explanation, valve, "inch")
            if not answer.explanation.steps:
                assert name == "break_in_limit" or "single" in answer.explanation.note
                continue
            assert answer.evaluated == pytest.approx(answer.value, rel=1e-6, abs=1e-12, nan_ok=True)
            seen += not math.isnan(answer.value)
    assert seen > 200


def test_conical_spring_is_read_off_its_curve(tmp_path):
    setup = engine(tmp_path, (TESTS, CONE, ""))
    results = asked(setup, ("spring",))
    answer = explained(setup, results, explanations()["spring", "seat_load"], "1I", "inch")
    assert answer.value > 0
    assert "curve" in answer.explanation.note
    assert {"H", "d", "D", "s", "N", "G"} <= {one.symbol for one in answer.inputs}
    assert not any(math.isnan(one.value) for one in answer.inputs)


def test_springs_on_the_bench_are_explained_as_planned(tmp_path):
    folder = tmp_path / "six"
    shutil.copytree(SIX, folder)
    table = folder / "valves.csv"
    head, *rows = table.read_text().splitlines()[1:]
    names = head.split(",")
    at = names.index("spring")
    kept = [",".join(cell for n, cell in enumerate(row.split(",")) if n != at) for row in (head, *rows)]
    table.write_text("\n".join(kept) + "\n")
    setup = read_setup(folder)
    results = asked(setup, ("spring",))
    assert results["spring"].judged_as_planned
    for name in ("seat_load", "seat_load_after", "bind_clearance_after", "stress_open", "solid_stress"):
        for valve in setup.valves:
            answer = explained(setup, results, explanations()["spring", name], valve, "inch")
            assert answer.evaluated == pytest.approx(answer.value, rel=1e-6, nan_ok=True)
            assert math.isnan(answer.value) == (name == "seat_load")
