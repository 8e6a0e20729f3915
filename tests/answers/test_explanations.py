"""Every explanation's formula gives the number that its study reports, at every valve of every sample."""

import math
import shutil
from dataclasses import fields, is_dataclass

import numpy as np
import pytest

from tests.engine_folders import engine_folder
from valvetrain.answers.explanation import explained, quantity_in
from valvetrain.answers.quantity import Quantity
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import QUESTIONS as ORDER
from valvetrain.questions.registry import explanations, question
from valvetrain.setup.read import read_setup
from valvetrain.setup.units import from_si

QUESTIONS = (*ORDER, "heights")


# What no sample has. Crooked: nothing upright, a checking pushrod, lash at the pushrod, a square crown, a
# long ledger. Bare: arms not known, one lift read with a dial. Hollow: a measured pad.
CROOKED = (
    ("stand_angle = 0.0", "stand_angle = 4.0"),
    ('angle = "0.0 +/- 0.1"\nface', "angle = 3.0\nface"),
    (
        'length = "9.620 +/- 0.005"',
        "checking_length = 9.5\nchecking_turns = 3.0\nchecking_pitch = 0.05\nsplay = 0.3",
    ),
    ("locknut_height = 0.20\n", "locknut_height = 0.20\naxis_lean = 2.0\nexposure_before = 0.19\n"),
    ("hole_bottom = 5.2", "hole_bottom = 5.2\nhole_angle = 2.0\nhole_offset = 0.17"),
    ('at = "valve"', 'at = "pushrod"'),
    ("pad_width = 0.312", "pad_width = 0.312\nskew = 2.0"),
    (
        'relief_floor = "parallel"\nvalve_angle = 0.0',
        'relief_floor = "square"\nvalve_angle = 6.0\nvalves_between = 8.0',
    ),
    ("[tables]", '[tables]\nheights = "heights.csv"'),
)
LEDGER = """item,change,valve
gasket,-0.010,
seat,-0.004,
valve,-0.006,1E
base_circle,-0.02,
stand,0.015,
head,,
"""
BARE = (('arm_angle = "172.0 +/- 0.4"\n', ""),)
HOLLOW = (('tip = "pad"', 'tip = "pad"\npad_outline = "pad.csv"'),)
MADE = {
    "crooked": ("plain_six", CROOKED),
    "bare": ("faulted_six", BARE),
    "hollow": ("plain_six", HOLLOW),
}


def made(name, folder):
    """Write an engine that is no sample."""
    base, edits = MADE[name]
    shutil.copytree(engine_folder(base), folder)
    sheet = folder / "setup.toml"
    text = sheet.read_text()
    for old, new in edits:
        assert text.count(old) == 1
        text = text.replace(old, new)
    sheet.write_text(text.replace('title = "', f'title = "{name} '))
    if name == "crooked":
        (folder / "heights.csv").write_text(LEDGER)
    if name == "hollow":
        around = -0.5 * math.pi + np.linspace(-0.6, 0.6, 61)
        x, y = 1.2 + 0.5 * np.cos(around), 0.5 * np.sin(around)
        y = y + np.where(np.abs(x - 1.2) < 0.25, 0.001 * (1 - ((x - 1.2) / 0.25) ** 2), 0.0)
        rows = [f"{a:.6f},{b:.6f}" for a, b in zip(x, y, strict=True)]
        (folder / "pad.csv").write_text("x,y\n" + "\n".join(rows))
    if name == "bare":
        table = folder / "valves.csv"
        remark, head, first, *rest = table.read_text().splitlines()
        rows = [f"{head},gross_lift", f"{first},0.386", *(f"{row}," for row in rest)]
        table.write_text("\n".join([remark, *rows]) + "\n")
    return folder


@pytest.fixture(scope="module", params=["plain_six", "pump_twin", "faulted_six", *MADE])
def engine(request, tmp_path_factory):
    name = request.param
    folder = made(name, tmp_path_factory.mktemp(name) / "engine") if name in MADE else engine_folder(name)
    setup = read_setup(folder)
    results = asked(setup, QUESTIONS)
    return setup, results


# Questions of which every number comes with steps, but for those in `WORDS`.
STEPS_WANTED: tuple[str, ...] = (
    "rocker",
    "pushrod",
    "clearance",
    "center",
    "heights",
    "interference",
    "spring",
    "lash",
    "events",
    "control",
    "wear",
    "oil",
)

# Numbers without steps, and why.
WORDS: dict[str, str] = {
    "events.area": "integral of the lift curve",
    "spring.break_in_limit": "least over the nose, in steps as control.limit_speed",
    "oil.rocker_pressure": "all passages solved together",
    "oil.rocker_flow": "all passages solved together",
    "rocker.stand_shim_change_for_centered_sweep": "root without a closed form; proved instead",
    "center.offset_limit": "root without a closed form where the pad is askew; proved instead",
    "center.turning_arm": "mean over the lift",
    "center.area_on_tip": "area of two plane figures",
    "events.cam_late": "mean of the degree wheel's readings",
    "clearance.at_angle": "least over a path with kinks",
    "clearance.valve_gap": "distance of two polygons where the stems lean",
    "clearance.gap_angle": "where that distance is least",
    "clearance.measured_angle": "least of a spline through readings",
}


@pytest.mark.parametrize("key", sorted(explanations()), ids=".".join)
def test_formula_gives_the_number_reported(key, engine):
    setup, results = engine
    explanation = explanations()[key]
    wordless = key[0] in STEPS_WANTED and ".".join(key) not in WORDS
    if setup.title.startswith("hollow") and key == ("rocker", "gross_lift"):
        wordless = False  # a measured pad is followed point by point
    for valve in setup.valves:
        answer = explained(setup, results, explanation, valve, "inch")
        steps, value = answer.explanation.steps, answer.value
        if not math.isnan(value) and answer.proof:
            assert answer.proof[-1].outcome == pytest.approx(0.0, abs=1e-8)
        if not steps:
            assert math.isnan(value) or not wordless
            assert math.isnan(value) or answer.proof or "proved" not in WORDS.get(".".join(key), "")
            continue
        assert answer.evaluated == pytest.approx(value, rel=1e-6, abs=1e-12, nan_ok=True)
        if math.isnan(value):
            continue
        # The steps as printed, in inches and pounds-force, end in the number as printed.
        dimension = quantity_in(results[key[0]], key[1], len(setup.valves)).dimension
        plain = answer.explanation.in_si or dimension in ("angle", "fraction", "ratio")
        printed = value if plain else from_si(value, dimension, "inch")
        assert answer.lines[-1].outcome == pytest.approx(printed, rel=1e-6, abs=1e-11)


def test_what_is_left_in_words_is_a_number_of_its_question():
    assert {tuple(key.split(".")) for key in WORDS} <= explanations().keys()


@pytest.mark.parametrize("key", sorted(explanations()), ids=".".join)
def test_explanation_names_a_quantity_reported_and_inputs_of_the_sheet(key, engine):
    setup, results = engine
    explanation = explanations()[key]
    if setup.title.startswith(("Plain six", "Launch six")):
        assert np.isfinite(quantity_in(results[key[0]], key[1], 12).value).any() or key[1] in SILENT
    assert explanation.publication
    assert not explanation.check or explanation.check in setup.limits
    answer = explained(setup, results, explanation, setup.valves[0], setup.units)
    assert answer.explanation.steps or answer.explanation.note
    if key[0] in STEPS_WANTED:
        assert answer.inputs
    for one in answer.inputs:
        assert one.source
        source = answer.explanation.symbols[one.symbol]
        if not math.isnan(one.value) and isinstance(source, str) and "." in source:
            assert "toml" in one.source or "csv" in one.source or "left out" in one.source


# quantities that the plain six has no cause to know
SILENT = (
    "break_in_seat_load",
    "break_in_open_load",
    "break_in_rate",
    "break_in_limit",
    "break_in_margin",
    "guide_clearance",
    "open_load_following",
    "measured",
    "measured_angle",
    "gap_angle",
    "tappet_hardness",
    "bore_clearance",
    "stem_in_guide",
    "exposure_change",
    "unknown_reach",
    "unknown_rise",
    "own_part",
    "pushrod_change",
    "stand_shim_change",
)


def reported(result, depth=0):
    """Yield the name of every quantity of a result and of its parts."""
    for field in fields(result):
        value = getattr(result, field.name)
        if isinstance(value, Quantity):
            yield field.name
        elif is_dataclass(value) and depth == 0:
            yield from reported(value, 1)


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_number_of_every_question_is_explained(question, engine):
    known = {name for asked_of, name in explanations() if asked_of == question}
    assert set(reported(engine[1][question])) <= known


def test_every_check_of_the_samples_is_explained(engine):
    setup, results = engine
    named = frozenset().union(*(each.names for each in explanations().values()))
    judged = {check.id for each in ORDER for check in question(each).checks(setup, results, setup.units)}
    assert judged <= named
