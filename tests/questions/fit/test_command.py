"""`valvetrain fit` and `next`, as a shop uses them. The bench sample's readings are invented.

Truth behind the readings (it is in no file of the sample): shaft 0.185 in above a tip of stem height 1.900,
pad arm 1.200, pad radius 0.500, socket arm 0.800, setback 1.192 in. The arm is square to the stem 0.13 in too
low, so the stand shim for the least sweep is 0.130 in: pad radius - half the net lift - height.
"""

import json
import shutil
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.engine_folders import engine_folder
from valvetrain_cli.main import main

CLOSED = "3E,closed mark,,0.137,rim\n"
SHIM = 0.500 - 0.5 * 0.3665 - 0.185


@pytest.fixture
def bench(sample):
    return sample() / "bench.toml"


def with_closed_mark(folder):
    table = folder / "readings.csv"
    table.write_text(table.read_text() + CLOSED)
    return folder / "bench.toml"


@pytest.fixture
def marked(bench):
    return with_closed_mark(bench.parent)


def asked(*arguments):
    """Run the command line and read its document."""
    result = CliRunner().invoke(main, [str(each) for each in (*arguments, "--json")])
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)


def fitted(document, bench, *more):
    return document("fit", bench, "--readings", "readings.csv", *more)["results"]


@pytest.fixture(scope="module")
def two_answers():
    """The sample as it stands."""
    return fitted(asked, engine_folder("plain_six") / "bench.toml")


@pytest.fixture(scope="module")
def decided(tmp_path_factory):
    """With a closed mark added: the old sheet, what was found, and the new sheet."""
    folder = Path(shutil.copytree(engine_folder("plain_six"), tmp_path_factory.mktemp("fit") / "plain_six"))
    sheet = with_closed_mark(folder)
    new = folder.parent / "new"
    return sheet, fitted(asked, sheet, "-o", new), new


def test_two_answers_reach_the_user_with_what_decides(two_answers, bench, run):
    found = two_answers
    assert len(found["shafts"][0]["answers"]) == 2
    assert sum(one["probability"] for one in found["shafts"][0]["answers"]) == pytest.approx(1.0)
    assert "closed_mark" in found["shafts"][0]["ambiguity"]
    right = [
        one
        for one in found["shafts"][0]["answers"]
        if abs(one["stand_shim_change"]["value"] - SHIM) < 2 * one["stand_shim_change"]["u"]
    ]
    assert len(right) == 1
    assert "with the valve closed" in found["next"][0]["measure"]
    text = run("fit", bench, "--readings", "readings.csv").stdout
    for words in ("Two answers fit", "Measure next: a mark made with the valve closed", "answer 2"):
        assert words in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 110


def test_the_transposed_reading_is_named(two_answers):
    (one,) = two_answers["set_aside"]
    assert one["reading"] == "net lift 3E"
    assert one["likely"] == "two digits are transposed"
    assert one["read"]["value"] == pytest.approx(0.213)
    assert one["predicted"]["value"] == pytest.approx(0.231, abs=0.001)


def test_a_closed_mark_decides_and_the_shim_holds_the_truth(decided):
    _, found, _ = decided
    (answer,) = found["shafts"][0]["answers"]
    shim = answer["stand_shim_change"]
    assert abs(shim["value"] - SHIM) < 2 * shim["u"]
    assert shim["u"] < 0.02
    assert answer["from_stock"]
    assert found["shafts"][0]["ambiguity"] is None
    truth = {
        "rocker.pad_arm": 1.2,
        "rocker.pad_radius": 0.5,
        "rocker.socket_arm": 0.8,
        "shaft.setback": 1.192,
    }
    truth["shaft.height"] = 0.185
    for one in found["parameters"]:
        if one["key"] in truth:
            assert abs(one["value"] - truth[one["key"]]) < 2.6 * one["u"], one["key"]
    assert any("shaft height and pad radius" in sentence for sentence in found["not_separable"])
    foretold = [one["u_after"]["stand_shim_change_for_least_sweep"]["value"] for one in found["next"]]
    assert foretold
    assert all(value < shim["u"] * 1.3 for value in foretold)


def test_the_new_sheet_keeps_comments_and_gives_the_same_answers(decided, document, tmp_path):
    _, found, written = decided
    new = Path(shutil.copytree(written, tmp_path / "new"))
    text = (new / "setup.toml").read_text()
    assert "# crank degrees after top dead center" in text
    assert text.index("[engine]") < text.index("[shaft]") < text.index("[stock]")
    assert text.count("# inferred") >= 9
    assert "measured 1.196 +/- 0.010" in text
    assert not (new / "readings.csv").exists()
    rows = {row["valve"]: row for row in document("rocker", new)["results"]["valves"]}
    for row in found["valves"]:
        for name in ("net_lift", "mean_ratio", "sweep_middle", "sweep_width"):
            mine, sheet = row[name], rows[row["valve"]][name]
            assert sheet["value"] == pytest.approx(mine["value"], abs=0.6 * mine["u"]), name
            if name in ("net_lift", "mean_ratio"):  # the dial knows its own rocker better than the set
                assert 0.85 * mine["u"] < sheet["u"] < 2 * mine["u"]
                continue
            # The correlations go with it: without them the sweep's middle would be ten times less sure.
            assert sheet["u"] == pytest.approx(mine["u"], rel=0.15), name
    text = (new / "setup.toml").read_text().replace('correlation = "fitted_correlation.csv"', "")
    (new / "setup.toml").write_text(text)
    alone = document("rocker", new)["results"]["valves"][0]["sweep_middle"]["u"]
    assert alone > 5 * rows["1I"]["sweep_middle"]["u"]


def test_a_fitted_sheet_fitted_again_does_not_count_its_values_as_measured(decided):
    sheet, first, new = decided
    again = asked("fit", new, "--readings", sheet.parent / "readings.csv")["results"]
    assert not [one for one in again["parameters"] if one["measured"]]
    spread = {one["key"]: one["u"] for one in first["parameters"]}
    for one in again["parameters"]:
        assert one["u"] > 0.9 * spread[one["key"]], one["key"]


def test_a_lash_that_nobody_measured_is_not_taken_as_known(marked, document):
    table = marked.parent / "valves.csv"
    measured = {row["valve"]: row["net_lift"]["u"] for row in fitted(document, marked)["valves"]}
    table.write_text(table.read_text().replace(",lash,", ",remarks,"))
    wanted = {row["valve"]: row["net_lift"]["u"] for row in fitted(document, marked)["valves"]}
    assert wanted["2I"] > 0.0018  # in: as well as a feeler sets it, 0.05 mm
    assert measured["2I"] < 0.0014  # its rocker is like the others, not the same
    assert wanted["1I"] < 0.0012  # the dial saw that valve's lash


def test_second_answer_can_be_written(bench, document, tmp_path):
    found = fitted(document, bench, "-o", tmp_path / "second", "--answer", 2)
    sheet = tomllib.loads((tmp_path / "second" / "setup.toml").read_text())
    height, doubt = sheet["shaft"]["height"].split(" +/- ")
    expected = found["shafts"][0]["answers"][1]["shaft_height"]
    assert float(height) == pytest.approx(expected["value"], abs=1e-5)
    assert float(doubt) == pytest.approx(expected["u"], rel=0.03)  # one is from draws


def test_without_stem_heights_the_height_stands_at_every_valve(marked, document, tmp_path):
    table = marked.parent / "valves.csv"
    table.write_text(table.read_text().replace("stem_height", "remarks"))
    new = tmp_path / "new"
    found = fitted(document, marked, "-o", new)
    rows = {row["valve"]: row for row in document("rocker", new)["results"]["valves"]}
    sheet = tomllib.loads((new / "setup.toml").read_text())
    assert "height" not in sheet["shaft"]
    assert "reference_stem_height" not in sheet["shaft"]
    for row in found["valves"]:
        mine = row["sweep_width"]
        assert rows[row["valve"]]["sweep_width"]["value"] == pytest.approx(mine["value"], abs=0.6 * mine["u"])


def test_what_is_taken_for_granted_of_ink_and_tips_is_said(bench, run):
    # Common practice of ink: 0.1 +- 0.05 mm beyond the contact, at each edge.
    stated = run("fit", bench, "--readings", "readings.csv", "--units", "metric").stdout
    assert "ink reaches 0.100 mm, +-0.1 mm, beyond the contact" in " ".join(stated.split())
    assert "tips stand level" not in stated  # the sample has its stem heights
    table = bench.parent / "readings.csv"
    table.write_text(table.read_text() + "3E,closed mark width,,0.009,\n")
    assert "ink reaches" not in run("fit", bench, "--readings", "readings.csv").stdout


def test_units_show_the_same_fit(decided):
    sheet, inch, _ = decided
    metric = fitted(asked, sheet, "--units", "metric")
    for one, other in zip(inch["parameters"], metric["parameters"], strict=True):
        factor = 25.4 if one["unit"] == "in" else 1.0
        assert other["value"] == pytest.approx(one["value"] * factor, rel=1e-9)
        assert other["u"] == pytest.approx(one["u"] * factor, rel=1e-9)


def test_two_castings_on_one_shaft_share_it(marked, document):
    found = fitted(document, marked, "--by-role")
    of = {
        key: [one["of"] for one in found["parameters"] if one["key"] == key]
        for key in ("rocker.pad_arm", "shaft.height")
    }
    assert of == {"rocker.pad_arm": ["intake", "exhaust"], "shaft.height": [None]}
    # The closed mark is on an exhaust valve; the intake rockers hear of it through the shaft.
    assert len(found["shafts"][0]["answers"]) == 1


def test_crank_angle_readings_and_their_slip(marked, document, edited):
    table = marked.parent / "readings.csv"
    lines = table.read_text().splitlines()
    head = next(index for index, line in enumerate(lines) if line.startswith("valve,"))
    lines[head] += ",crank_angle"
    lines = [line + "," if index > head else line for index, line in enumerate(lines)]
    # The second is written in cam degrees.
    from valvetrain.parts.lobe_curve import lobe_curve
    from valvetrain.setup.read import read_setup

    setup = read_setup(marked)
    curve = lobe_curve(setup.trains[0].lobe)
    for row, degrees in enumerate((-80.0, -60.0, -40.0)):
        lift = float(curve.lift(0.5 * degrees * 3.141592653589793 / 180.0)) / 0.0254
        read = 1.491 * lift - 0.0185
        written = 0.5 * degrees if row == 1 else degrees
        lines.append(f"1I,net lift,,{read:.4f},,{written}")
    table.write_text("\n".join(lines) + "\n")
    slips = {one["likely"] for one in fitted(document, marked)["set_aside"]}
    assert "cam degrees were given for crank" in slips


def test_plot_and_no_file_is_written_over(marked, run, tmp_path):
    new, picture = tmp_path / "new", tmp_path / "fit.png"
    arguments = ("fit", marked, "--readings", "readings.csv", "-o", new, "--plot", picture)
    assert run(*arguments).exit_code == 0
    assert picture.stat().st_size > 50_000
    before = (new / "setup.toml").read_text()
    again = run("fit", marked, "--readings", "readings.csv", "-o", new)
    assert again.exit_code == 2
    assert "--force" in again.stderr
    assert (new / "setup.toml").read_text() == before
    old = marked.read_text()
    assert run("fit", marked, "--readings", "readings.csv", "-o", marked).exit_code == 2
    assert marked.read_text() == old
    assert run("fit", marked, "--readings", "readings.csv", "-o", new, "--force").exit_code == 0


HEAD = "valve,reading,tappet_lift,value,from\n"
BAD = {
    "too few": ("1I,net lift,0.05,0.054,\n", "too few"),
    "negative lift": (
        "1I,net lift,0.05,-0.054,\n1E,near edge,,0.131,rim\n1E,far edge,,0.182,rim\n",
        "negative",
    ),
    "swapped columns": (
        "1I,net lift,0.054,0.050,\n1I,net lift,0.233,0.170,\n1I,net lift,0.354,0.250,\n",
        "exchanged",
    ),
    "mark wider than the tip": (
        "1I,near edge,,-0.250,axis\n1I,far edge,,0.250,axis\n1I,net lift,0.1,0.13,\n",
        "off the tip",
    ),
    "edges exchanged": (
        "1I,near edge,,0.10,axis\n1I,far edge,,-0.10,axis\n1I,net lift,0.1,0.13,\n",
        "beyond the far one",
    ),
    "contradictory": (
        "".join(f"1I,net lift,0.2,{lift},\n" for lift in (0.15, 0.28, 0.41, 0.55, 0.66, 0.79)),
        "contradict",
    ),
    "unknown reading": ("1I,nett lift,0.2,0.28,\n", "Did you mean 'net_lift'?"),
    "unknown valve": ("9I,net lift,0.2,0.28,\n", "not a valve"),
    "no place": ("1I,net lift,,0.28,\n", "tappet lift"),
    "no number": ("1I,net lift,0.2,abc,\n", "not a value"),
    "unknown origin": ("1I,near edge,,0.13,edge\n", "rim"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_readings_are_one_clear_error(name, bench, run, tmp_path):
    rows, words = BAD[name]
    (bench.parent / "readings.csv").write_text(HEAD + rows)
    result = run("fit", bench, "--readings", "readings.csv", "-o", tmp_path / "new")
    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "1I,net lift,0.130,0.173,",
            "1I,net lift,0.130,4.39,",
            ["4.39 in", "if it was read in mm, write 4.39 mm"],
        ),
        (
            "1I,net lift,0.210,",
            "1I,net lift,0.310,",
            ["line 9, column tappet_lift", "0.3100 in", "lobe of 1I"],
        ),
    ],
    ids=["millimeters in a table in inches", "tappet lift beyond the lobe"],
)
def test_a_reading_that_cannot_be_asks_for_the_slip(bench, run, edited, old, new, words):
    edited(bench.parent / "readings.csv", (old, new))
    result = run("fit", bench, "--readings", "readings.csv")
    assert result.exit_code == 2
    for word in words:
        assert word in result.stderr


def test_an_answer_that_there_is_not_is_refused(bench, run, tmp_path):
    result = run("fit", bench, "--readings", "readings.csv", "-o", tmp_path / "third", "--answer", "3")
    assert result.exit_code == 2
    assert "answer" in result.stderr
    assert "2" in result.stderr
    assert not (tmp_path / "third").exists()


def test_all_readings_at_one_lift_is_said(bench, document):
    rows = "".join(f"1I,net lift,0.2,{lift},\n" for lift in (0.279, 0.280, 0.281))
    rows += "1I,near edge,,0.131,rim\n1I,far edge,,0.182,rim\n"
    (bench.parent / "readings.csv").write_text(HEAD + rows)
    assert any("one tappet lift" in sentence for sentence in fitted(document, bench)["warnings"])


def test_next_names_measurements_with_instruments(bench, document, sample, run, tmp_path):
    found = document("next", bench)["results"]["measurements"]
    keys = [{one["key"] for one in each["measure"]} for each in found]
    assert {"rocker.pad_arm", "rocker.pad_radius", "shaft.height"} in keys
    assert all(one["instrument"] for each in found for one in each["measure"])
    assert run("next", bench).exit_code == 0
    # After the end clearance of one valve is known badly, measuring that is what decides.
    folder = bench.parent
    table = folder / "valves.csv"
    table.write_text(table.read_text().replace("1I,S1,0.000,0.0056", "1I,S1,0.000,0.0075 +/- 0.001"))
    first = document("next", folder)["results"]["measurements"][0]
    assert [one["key"] for one in first["measure"]] == ["station.end_clearance"]
    assert first["valves"] == ["1I"]
    assert first["verdicts_decided"] > 0.3
    after = first["after"][0]
    assert after["after"]["u"] < 0.5 * after["now"]["u"]


@pytest.mark.parametrize("command", ["rocker", "center", "spring", "events"])
def test_samples_and_budget_on_every_question(command, sample, document, run):
    folder = sample("pump_twin")
    plain = document(command, folder)
    drawn = document(command, folder, "--samples", 3000, "--seed", 4, "--budget")
    assert (drawn["samples"], drawn["seed"]) == (3000, 4)
    assert drawn["budget"]
    assert "budget" not in plain
    again = document(command, folder, "--samples", 3000, "--seed", 4)
    assert json.dumps(again["results"]) == json.dumps(drawn["results"])
    text = run(command, folder, "--budget").stdout
    assert "Where the doubt comes from" in text
    assert max(map(len, text.splitlines())) <= 110


def test_a_correlation_table_that_cannot_be_is_refused(decided, run, tmp_path):
    new = Path(shutil.copytree(decided[2], tmp_path / "new"))
    table = new / "fitted_correlation.csv"
    table.write_text(table.read_text().replace("1.000000000", "1.9", 1))
    result = run("rocker", new)
    assert result.exit_code == 2
    assert "fitted_correlation.csv" in result.stderr


def test_a_fitted_sheet_is_answered_from_draws(decided, run, document):
    _, found, new = decided
    by_fit = {row["valve"]: row["sweep_width"]["u"] for row in found["valves"]}
    answer = document("rocker", new)
    assert answer["samples"] == 2000
    for row in answer["results"]["valves"]:
        # The fit draws from its posterior, the rocker study from the sheet that it wrote.
        assert row["sweep_width"]["u"] == pytest.approx(by_fit[row["valve"]], rel=0.15)
    assert "draws of every measurement" in run("check", new).stdout
