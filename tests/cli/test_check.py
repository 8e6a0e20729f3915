"""The main job on the three samples: every planted fault is found, and no other."""

import pytest

from valvetrain.questions.registry import QUESTIONS

PLANTED = {
    ("sweep_width", "2E"),
    ("sweep_width", "4E"),
    ("contact_share", "3I"),
    ("bind_clearance", "1E"),
    ("seat_load", "5I"),
    ("lobe_wear", "4I"),
    # The tips that stand high show in their own height too, and in the arm's place over the lift.
    *((name, valve) for name in ("tip_height", "sweep_over_least", "square_at") for valve in ("2E", "4E")),
}


def found(document, verdict):
    return {(check["id"], check["valve"]) for check in document["checks"] if check["verdict"] == verdict}


@pytest.mark.parametrize("name", ["plain_six", "pump_twin"])
def test_healthy_sample_is_ok_throughout(name, sample, document, run):
    folder = sample(name)
    answer = document("check", folder)
    assert {check["verdict"] for check in answer["checks"]} == {"ok"}
    assert run("check", folder, "--strict").exit_code == 0


def test_reground_head_shows_its_planted_faults_and_no_other(sample, document):
    answer = document("check", sample("faulted_six"))
    assert found(answer, "out") == PLANTED
    assert found(answer, "unsure") == set()
    assert {valve for _, valve in found(answer, "unmeasured")} == {"6E"}


def test_unmeasured_valve_gets_no_verdict_of_its_own(sample, document):
    answer = document("check", sample("faulted_six"))
    own = [check for check in answer["checks"] if check["valve"] == "6E"]
    assert own
    assert {check["verdict"] for check in own} == {"unmeasured"}
    assert all(check["quantity"]["value"] is None for check in own)
    assert all("Measure" in check["advice"] for check in own)


def test_exit_status(sample, run):
    bad, good = sample("faulted_six"), sample("pump_twin")
    assert run("check", bad).exit_code == 1
    assert run("center", good).exit_code == 0
    assert run("center", bad).exit_code == 1


def test_strict_counts_unmeasured_as_outside(sample, run, edited):
    folder = sample("pump_twin")
    edited(folder / "valves.csv", ("2E;0,25;0,14", "2E;;0,14"))
    assert run("center", folder).exit_code == 0
    assert run("center", folder, "--strict").exit_code == 1


def test_unsure_where_the_uncertainty_straddles_the_limit(sample, document, edited):
    folder = sample("pump_twin")
    edited(folder / "valves.csv", ("2E;0,25;0,14", "2E;0,25;0,20 +/- 0,02"))
    answer = document("center", folder)
    (check,) = [each for each in answer["checks"] if each["verdict"] == "unsure"]
    assert (check["id"], check["valve"]) == ("end_clearance", "2E")
    assert "station.end_clearance" in check["advice"]


def test_own_limit_overrides_and_is_named_as_such(sample, document, edited):
    folder = sample()
    edited(folder / "setup.toml", ("[limits]", "[limits]\nbind_clearance = { low = 0.2 }"))
    checks = [each for each in document("spring", folder)["checks"] if each["id"] == "bind_clearance"]
    assert {each["verdict"] for each in checks} == {"out"}
    assert {each["basis"] for each in checks} == {"your own limit, from the sheet"}


def test_human_output_says_verdicts_in_words_and_what_to_do(sample, run):
    text = run("check", sample("faulted_six"), "--tables").stdout
    for words in ("OUT", "not measured", "Rocker shims", "Caution", "6E"):
        assert words in text
    assert max(map(len, text.splitlines())) <= 110


def test_json_is_one_document_and_nothing_else(sample, document):
    answer = document("check", sample())
    assert answer["tool"] == "valvetrain"
    assert answer["command"] == "check"
    assert {"version", "sheet", "results", "checks", "cautions"} <= set(answer)
    check = answer["checks"][0]
    assert {"id", "valve", "quantity", "limit", "verdict", "basis", "advice"} <= set(check)


def test_every_question_is_asked_or_named_as_left_out(sample, document, run):
    folder = sample()
    asked = set(document("check", folder)["results"]) - {"shafts"}
    named = run("check", folder, "--tables").stdout.split("Asked on their own")[1].split(".")[0]
    left = {"wear", "oil"}
    assert asked == set(QUESTIONS) - left
    assert {name for name in QUESTIONS if f"valvetrain {name}" in named} == left


def test_parts_that_meet_are_found_by_check(sample, document, edited):
    folder = sample()
    edited(folder / "setup.toml", ("retainer_below_tip = 0.22", "retainer_below_tip = 0.03"))
    assert ("rocker_to_retainer", "1I") in found(document("check", folder), "out")


def test_what_is_to_be_measured_is_called_as_in_the_sheet(sample, run):
    folder = sample("faulted_six")
    told = " ".join(run("check", folder, "--tables").stdout.split())
    assert "offset, end_clearance" in told
    assert "lobe_lift" in told
    for key in ("station.", "lobe.measured_lift", "lash.lash"):
        assert key not in told


def test_remarks_on_the_figures_are_pointed_at_where_the_work_is_listed(sample, run, edited):
    folder = sample()
    assert "Remarks on the figures given" not in run("check", folder, "--tables").stdout
    table = folder / "springs.csv"
    rows = [line.split(",") for line in table.read_text().splitlines()]
    rows = [[*row[:2], f"{0.8 * float(row[2]):.1f}"] if row[0] == "S3" else row for row in rows]
    table.write_text("\n".join(map(",".join, rows)))
    edited(folder / "setup.toml", ("nominal_ratio = 1.50", "nominal_ratio = 1.40"))
    text = run("check", folder, "--tables").stdout
    assert text.index("In the figures given of the springs") < text.index("Remarks on the figures given")
    assert "look at them first: 1 under rocker, " in text


def test_check_warns_of_what_it_advises_on(run, tmp_path):
    (tmp_path / "setup.toml").write_text('[sheet]\nunits = "inch"\n[engine]\ncylinders = 1\n')
    text = " ".join(run("check", tmp_path, "--tables").stdout.split())
    assert "valve springs store enough energy to injure" in text
    assert "piston bends" not in text
    assert "licence to run" not in text
