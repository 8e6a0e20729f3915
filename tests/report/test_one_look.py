"""The engine in one look: it fits the width, says each cause once, action first, and no blank is right."""

import re

import pytest

from valvetrain.questions.asking import asked
from valvetrain.questions.registry import QUESTIONS, question
from valvetrain.report.one_look import one_look
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.read import read_setup

SAMPLES = "sample_geometry"


def looked(setup, width=80):
    names = tuple(name for name in QUESTIONS if question(name).in_check)
    results = asked(setup, names)
    checks = {name: question(name).checks(setup, results, setup.units) for name in names}
    return [each.text for each in one_look(setup, results, checks, setup.units, width)], checks


@pytest.mark.parametrize("sample", ["pump_vee", "reground_head", "launch_six", "pump_twin"])
@pytest.mark.parametrize("width", [60, 80, 132])
def test_no_line_is_wider_than_the_terminal_nor_a_word_broken(sample, width):
    lines, _ = looked(read_setup(f"{SAMPLES}/{sample}"), width)
    assert max(map(len, lines)) <= width
    wide, _ = looked(read_setup(f"{SAMPLES}/{sample}"), 1000)
    assert set(" ".join(lines).split()) <= set(" ".join(wide).split()) | {"..."}


def test_the_grid_says_the_worst_verdict_of_every_question_at_every_valve():
    setup = read_setup(f"{SAMPLES}/reground_head")
    lines, checks = looked(setup)
    head = next(line for line in lines if line.split()[:2] == ["1I", "1E"]).split()
    for name, own in checks.items():
        row = next((line.split() for line in lines if line.startswith(f"{name} ")), None)
        if not own or row is None:
            continue
        for valve, cell in zip(head, row[1:], strict=True):
            verdicts = {each.verdict for each in own if each.valve == valve}
            assert (cell == "OUT") == ("out" in verdicts)
            assert (cell == "ok") == (verdicts == {"ok"})


def test_every_fault_is_told_once_and_begins_with_what_to_do():
    setup = read_setup(f"{SAMPLES}/reground_head")
    lines, checks = looked(setup, 1000)
    out = {each.valve for own in checks.values() for each in own if each.verdict == "out"}
    numbered = [line for line in lines if re.match(r" *\d+  ", line)]
    told = " ".join(line.split(":")[0] for line in numbered)
    shafts = {train.shaft.name: train.name for train in setup.trains if getattr(train.shaft, "name", None)}
    for valve in out:
        own_shaft = any(name and f"{name} shaft" in told for name in shafts)
        assert valve in told or own_shaft, valve
    assert len({line.partition("  ")[2] for line in numbered}) == len(numbered)


def test_a_low_shaft_is_one_finding_for_all_its_valves():
    healthy = read_setup(f"{SAMPLES}/pump_vee")
    before = {valve: healthy.trains[k].shaft.height for k, valve in enumerate(healthy.valves)}
    low = {
        f"{valve}.shaft.height": f"{(before[valve].value / 0.0254 - 0.17):.4f} in"
        for valve, train in zip(healthy.valves, healthy.trains, strict=True)
        if train.cylinder % 2 == 1
    }
    lines, _ = looked(changed(healthy, low), 1000)
    shaft = [line for line in lines if re.match(r" *\d+  left shaft", line)]
    assert len(shaft) == 1
    assert "too low" in shaft[0]
    assert "under its stands" in shaft[0]


def test_what_is_not_measured_is_named_once_and_never_right():
    setup = changed(read_setup(f"{SAMPLES}/pump_vee"), {"7E.installed_height": ""})
    lines, _ = looked(setup)
    text = " ".join(" ".join(lines).split())
    assert "1 not measured" in lines[0] + lines[1]
    assert "Not measured: 7E (installed height" in text
    row = next(line for line in lines if line.startswith("spring "))
    assert row.split()[1:].count("-") == 1
