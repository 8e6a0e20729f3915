"""`wear`, `oil` and `log` on the command line: the sample's answers, bad input by name, nothing lost."""

import json

import pytest

from tests.cli.test_contract import with_own_units
from valvetrain.questions.wear.contact_figure import over_lobe


def rejected(result, *words):
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in result.stderr, (word, result.stderr)


def test_record_names_the_worn_lobe_and_the_recessed_seat_and_nothing_else(sample, document):
    folder = sample()
    answer = document("wear", folder, "--log", folder / "log.csv")
    assert {check["valve"] for check in answer["checks"] if check["verdict"] == "out"} == {"2I", "4E"}
    # 2I has gone so far that its lash, too, is near its limit; no other valve is named or doubted.
    others = {check["verdict"] for check in answer["checks"] if check["valve"] not in ("2I", "4E")}
    assert others == {"ok"}
    found = {row["valve"]: [each["name"] for each in row["found"]] for row in answer["results"]["valves"]}
    assert found["2I"] == ["seat recession"]
    assert found["4E"] == ["lobe nose wear"]
    assert {name for valve, names in found.items() if valve not in ("2I", "4E") for name in names} == {
        "no change found"
    }


def test_record_by_date_says_a_date(sample, run):
    folder = sample()
    result = run("wear", folder, "--log", folder / "log.csv", "--by", "date")
    assert result.exit_code == 1
    assert "counted in date" in result.stdout
    assert "202" in result.stdout


@pytest.mark.parametrize(("command", "status"), [("wear", 0), ("oil", 0)])
def test_sample_is_healthy(sample, run, command, status):
    result = run(command, sample())
    assert result.exit_code == status
    assert "Outside" not in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 110


def test_what_is_not_measured_is_never_ok(run, tmp_path):
    (tmp_path / "setup.toml").write_text('[sheet]\nunits = "metric"\n[engine]\ncylinders = 1\n')
    result = run("wear", tmp_path)
    assert result.exit_code == 0
    assert "lobe.base_radius" in result.stdout
    assert " ok " not in result.stdout


def test_oil_says_who_starves_and_what_each_cure_changes(sample, run):
    text = " ".join(run("oil", sample()).stdout.split())
    assert "Worn bushings as built: 5E, 6I, 6E starve." in text
    assert "separate feed line: feeds 5E, 6I, 6E again; takes 2.0 times as much oil." in text
    assert "jets added: starves 4I, 4E, 5I" in text


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_no_quotes_of_si_in_advice_and_both_systems_agree(sample, run, units):
    folder = sample()
    result = run("wear", folder, "--log", folder / "log.csv", "--units", units)
    assert (" mm" in result.stdout) == (units == "metric")


def quantities(node, path=()):
    if isinstance(node, dict):
        if "unit" in node and "value" in node:
            yield path, node
        for key, each in node.items():
            yield from quantities(each, (*path, key))
    elif isinstance(node, list):
        for index, each in enumerate(node):
            yield from quantities(each, (*path, index))


FACTOR = {
    "in": 25.4, "lbf": 4.4482216152605, "psi": 6.894757293168361e-3, "uin": 0.0254, "ft/s": 0.3048, "": 1.0,
    "%": 1.0, "deg": 1.0, "h": 1.0, "delta_degF": 5 / 9, "cSt": 1.0, "in3/min": 16.387064,
    "psi*ft/s": 6.894757293168361e-3 * 0.3048,
}  # fmt: skip


@pytest.mark.parametrize(
    "arguments", [("wear",), ("oil",), ("wear", "--log", "log.csv")], ids=["wear", "oil", "record"]
)
def test_units_option_shows_the_same_results(sample, document, arguments):
    folder = sample()
    command, *options = [folder / each if each == "log.csv" else each for each in arguments]
    inch = dict(quantities(document(command, folder, *options)["results"]))
    metric = dict(quantities(document(command, folder, *options, "--units", "metric")["results"]))
    assert len(inch) > 50
    for path, one in inch.items():
        if one["value"] is None:
            assert metric[path]["value"] is None
            continue
        factor = FACTOR[one["unit"]] * (1e3 if metric[path]["unit"] == "kPa" else 1.0)
        assert metric[path]["value"] == pytest.approx(one["value"] * factor, rel=1e-9, abs=1e-9), path


@pytest.mark.parametrize(
    "arguments", [("wear",), ("oil",), ("wear", "--log", "log.csv")], ids=["wear", "oil", "record"]
)
def test_inch_and_metric_sheets_give_the_same(sample, document, arguments):
    folder = sample()
    command, *options = [folder / each if each == "log.csv" else each for each in arguments]
    inch = dict(quantities(document(command, folder, *options)["results"]))
    with_own_units(folder)
    answer = document(command, folder, *options)
    assert answer["units"] == "metric"
    metric = dict(quantities(answer["results"]))
    assert set(inch) == set(metric)
    for path, one in inch.items():
        factor = FACTOR[one["unit"]] * (1e3 if metric[path]["unit"] == "kPa" else 1.0)
        for key in ("value", "u"):
            if one.get(key) is None:
                assert metric[path].get(key) is None, path
                continue
            assert metric[path][key] == pytest.approx(one[key] * factor, rel=1e-9, abs=1e-9), (path, key)


def test_plots_are_written_and_show_the_result(sample, run, tmp_path):
    folder = sample()
    for number, arguments in enumerate([("wear",), ("oil",), ("wear", "--log", folder / "log.csv")]):
        target = tmp_path / f"{number}.svg"
        command, *options = arguments
        assert run(command, folder, *options, "--plot", target).exit_code in (0, 1)
        assert target.stat().st_size > 10_000


def test_plotted_stress_is_the_studys(sample):
    import numpy as np

    from valvetrain.questions.rocker.study import rocker_study
    from valvetrain.questions.spring.study import spring_study
    from valvetrain.questions.wear.study import wear_study
    from valvetrain.setup.read import read_setup

    setup = read_setup(sample())
    rocker = rocker_study(setup)
    result = wear_study(setup, rocker, spring_study(setup, rocker))
    ax = over_lobe(result, "3E", "stress", system="metric")
    drawn = np.nanmax([np.nanmax(line.get_ydata()) for line in ax.lines])
    assert drawn == pytest.approx(result.peak_stress.value[5] / 1e6, rel=1e-12)
    assert [line.get_label() for line in ax.lines] == [f"{rpm:.0f} rpm" for rpm in result.rpm]


SHEET_FAULTS = {
    "crown radius of zero": (
        'crown_radius = "66 +/- 3"', "crown_radius = 0", ["[tappet] crown_radius", "range"],
    ),
    "negative viscosity": ("viscosity_100 = 14.2", "viscosity_100 = -14.2", ["[oil] viscosity_100", "range"]),
    "viscosities mixed up": (
        "viscosity_40 = 105", "viscosity_40 = 10", ["[oil]", "not thicker at 40 degC"],
    ),
    "no such network file": ("oil_passages.csv", "oil.csv", ["oil.csv", "cannot be read"]),
}  # fmt: skip


@pytest.mark.parametrize("command", ["wear", "oil"])
@pytest.mark.parametrize(("old", "new", "words"), SHEET_FAULTS.values(), ids=SHEET_FAULTS.keys())
def test_bad_sheets_are_named(sample, run, edited, command, old, new, words):
    folder = sample()
    edited(folder / "setup.toml", (old, new))
    rejected(run(command, folder), *words)


def test_unknown_grade_is_named(sample, run, edited):
    folder = sample()
    edited(
        folder / "setup.toml",
        ('grade = "15W-40"\nviscosity_40 = 105\nviscosity_100 = 14.2\n', 'grade = "15W-45"\n'),
    )
    rejected(run("oil", folder), "[oil]", "15W-45", "J300")


NETWORK_FAULTS = {
    "unknown kind": (
        ",hole,gallery,riser foot",
        ",hoel,gallery,riser foot",
        ["line 4, column kind", "'hole'"],
    ),
    "negative diameter": ("riser foot,0.090", "riser foot,-0.090", ["line 4, column diameter", "range"]),
    "doubled name": ("\nriser,", "\ncam bearing feed,", ["line 5", "stands twice"]),
    "island": ("riser,pipe,riser foot,shaft 1,", "riser,pipe,riser foot,nowhere,", ["island"]),
    "no length": ("shaft 1,0.187,7.5", "shaft 1,0.187,", ["line 5, column length", "empty"]),
    "unknown column": (",clearance [in],", ",clearence [in],", ["'clearance'"]),
}


@pytest.mark.parametrize(("old", "new", "words"), NETWORK_FAULTS.values(), ids=NETWORK_FAULTS.keys())
def test_bad_networks_are_named(sample, run, edited, old, new, words):
    folder = sample()
    edited(folder / "oil_passages.csv", (old, new))
    rejected(run("oil", folder), "oil_passages.csv", *words)


@pytest.mark.parametrize(("options", "words"), [
    (("--rpm", "fast"), ["--rpm", "fast"]),
    (("--rpm", "nan"), ["--rpm", "nan"]),
    (("--rpm", "1500,-3"), ["--rpm", "-3"]),
    (("--by", "date"), ["--by", "--log"]),
    (("--log", "none.csv"), ["none.csv", "cannot be read"]),
])  # fmt: skip
def test_bad_options_of_wear(sample, run, options, words):
    rejected(run("wear", sample(), *options), *words)


def test_another_engines_record_is_refused(sample, run, edited):
    folder = sample()
    log = folder / "log.csv"
    log.write_text(log.read_text().replace("plain six,2025", "pump twin,2025"))
    rejected(run("wear", folder, "--log", log), "log.csv line", "'pump twin'", "'plain six'")


ENTRY = ("--date", "2026-11-02", "--hours", "1300", "--valve", "4E", "--lash-found", "0.021")


def test_log_adds_one_line_and_wear_reads_it(sample, run, document):
    folder = sample()
    log = folder / "log.csv"
    before = log.read_text()
    result = run(
        "log", folder, "--log", log, *ENTRY, "--lobe-lift", "0.2531", "--turned", "no", "--state", "cold"
    )
    assert result.exit_code == 0, result.output
    assert log.read_text().startswith(before)
    assert log.read_text()[len(before) :].strip() == "plain six,2026-11-02,1300,4E,0.021,,cold,0.2531,no,"
    rows = document("wear", folder, "--log", log)["results"]["valves"]
    row = next(row for row in rows if row["valve"] == "4E")
    assert row["readings"] == 12
    assert row["turned"] is False


def test_log_begins_a_record_and_takes_a_file_of_rows(sample, run):
    folder = sample()
    log = folder / "mine.csv"
    assert run("log", folder, "--log", log, "--new", *ENTRY, "--state", "cold").exit_code == 0
    rows = folder / "rows.csv"
    rows.write_text(
        "date;hours;valve;lash_found [mm];state\n2026-12-01;1310;1I;0,48;cold\n2026-12-01;1310;1E;0.53;cold\n"
    )
    result = run("log", folder, "--log", log, "--from", rows)
    assert result.exit_code == 0, result.output
    lines = log.read_text().splitlines()
    assert lines[0].startswith("engine,date,hours [h],valve,lash_found [in]")
    assert len(lines) == 4
    assert "0.53 mm" in lines[3]
    assert '"0,48 mm"' in lines[2]


LOG_FAULTS = {
    "no valve": (("--hours", "1300"), ["--valve"]),
    "another valve": (("--hours", "1300", "--date", "2026-11-02", "--valve", "9E"), ["'9E' is not a valve"]),
    "a lash that cannot be": ((*ENTRY[:-1], "0.21"), ["lash_found", "0.21 in", "range"]),
    "negative lash": ((*ENTRY[:-1], "-0.021"), ["lash_found", "range"]),
    "NaN": ((*ENTRY[:-1], "nan"), ["lash_found", "finite"]),
    "earlier than the last": (("--hours", "900", *ENTRY[:2], *ENTRY[4:]), ["hours", "out of order"]),
    "no time": (("--valve", "4E", "--lash-found", "0.02"), ["hours", "empty"]),
    "begins what is there": (("--new", *ENTRY), ["exists already"]),
    "a line break": ((*ENTRY, "--remarks", "one\ntwo"), ["line break"]),
    "no column": ((*ENTRY, "--distance", "5"), ["no column 'distance'"]),
}


@pytest.mark.parametrize(("options", "words"), LOG_FAULTS.values(), ids=LOG_FAULTS.keys())
def test_log_refuses_and_changes_nothing(sample, run, options, words):
    folder = sample()
    log = folder / "log.csv"
    before, names = log.read_bytes(), sorted(each.name for each in folder.iterdir())
    rejected(run("log", folder, "--log", log, *options), *words)
    assert log.read_bytes() == before
    assert sorted(each.name for each in folder.iterdir()) == names


def test_log_twice_the_same_is_refused(sample, run):
    folder = sample()
    log = folder / "log.csv"
    assert run("log", folder, "--log", log, *ENTRY).exit_code == 0
    rejected(run("log", folder, "--log", log, *ENTRY), "4E stands twice")


def test_log_that_is_not_there_is_not_begun_by_a_slip(sample, run):
    folder = sample()
    rejected(run("log", folder, "--log", folder / "lgo.csv", *ENTRY), "does not exist", "--new")
    assert not (folder / "lgo.csv").exists()


def test_json_of_the_contacts_is_one_document(sample, run):
    answer = json.loads(run("wear", sample(), "--rpm", "1500", "--json").stdout)
    assert answer["results"]["rpm"] == [200.0, 800.0, 1500.0]
    series = answer["results"]["over_lobe"]["series"]
    assert len(series) == 36
    assert len(series[0]["stress"]["values"]) == len(answer["results"]["over_lobe"]["cam_angle"]["values"])


def test_what_a_record_proves_does_not_stand_beside_cannot_tell(sample, run, tmp_path):
    record = tmp_path / "log.csv"
    rows = ["hours,valve,lash_found,lash_left,state,lobe_lift,turned"]
    for step in range(6):
        for valve in [f"{cylinder}{role}" for cylinder in range(1, 7) for role in "IE"]:
            worn = 0.004 * step if valve == "3E" else 0.0
            lash = 0.019 + (0.003 if (step + ord(valve[0])) % 2 else -0.003)  # too rough to tell
            turned = "no" if valve == "3E" else "yes"
            rows.append(f"{100 * step},{valve},{lash:.3f},0.019,cold,{0.26 - worn:.4f},{turned}")
    record.write_text("\n".join(rows) + "\n")
    printed = run("wear", sample(), "--log", record).stdout
    row = printed.split("│ 3E ")[1].split("│ 4I ")[0]
    said = " ".join(line.split("│")[-3] for line in row.splitlines() if line.count("│") > 5)
    assert "lobe nose" in " ".join(said.split())
    assert "tell" not in said
    assert "seen to turn at the last look: no, wanted yes" in " ".join(printed.split())


def test_a_plugged_layout_shows_no_negative_share(sample, run, edited):
    folder = sample()
    edited(folder / "oil_layouts.csv", ("bypass plugged,bypass,remove,", "cut,shaft 3-4,remove,"))
    assert "-0" not in run("oil", folder).stdout


def test_what_a_record_would_prove_is_as_fine_as_the_limits_beside_it(sample, run):
    folder = sample("plain_six")
    printed = " ".join(run("wear", folder, "--log", folder / "log.csv", "--units", "metric").stdout.split())
    told = printed.split("would prove a change of ")[1].split(",")[0]
    lift = told.split(" and ")[1].removesuffix(" of lift")
    assert f"allowed -{lift} to {lift}" in printed


def test_what_has_no_doubt_of_its_own_is_said_to_have_none(sample, run):
    printed = " ".join(run("wear", sample()).stdout.split())
    assert "Film and heat are single model values without a doubt of their own" in printed


def test_record_shows_to_what_its_changes_are_known(sample, run):
    folder = sample()
    printed = run("wear", folder, "--log", folder / "log.csv").stdout
    last = next(line for line in printed.splitlines() if line.startswith("│ +-"))
    known = [float(cell) for cell in last.replace("│", " ").split()[1:]]
    assert len(known) == 2
    assert all(0 < each < 0.005 for each in known)


def test_a_pushrod_that_did_not_turn_is_told_in_words(sample, run):
    folder = sample()
    log = folder / "log.csv"
    assert run("log", folder, "--log", log, *ENTRY, "--state", "cold", "--turned", "no").exit_code == 0
    printed = " ".join(run("wear", folder, "--log", log).stdout.split())
    assert "marked pushrod seen to turn at the last look: no, wanted yes." in printed


def test_limits_are_written_exactly_and_without_idle_zeros(sample, run, edited):
    folder = sample("pump_twin")
    # A crown and a lobe too near their limits to tell.
    crown = ('crown_radius = "2000 +/- 120"', "crown_radius = 1500")
    edited(folder / "setup.toml", crown, ("base_radius = 20.0", "base_radius = 13.0"))
    printed = " ".join(run("wear", folder).stdout.split())
    assert "allowed 1498.6 mm to 2540 mm" in printed
    assert "at least 0 mm" in printed
    assert "only 1 mm from the limit" in printed
    assert "hollow" not in printed


FROM = (
    "date,hours,valve,lash_found,state,engine\n"
    "2026-12-01,1310,1I,0.019,cold,{}\n"
    "2026-12-01,1310,9E,0.02,cold,{}\n"
)


def test_faults_of_a_file_of_rows_are_named_in_that_file(sample, run):
    folder = sample()
    rows = folder / "rows.csv"
    rows.write_text(FROM.format("", ""))
    before = (folder / "log.csv").read_bytes()
    rejected(run("log", folder, "--log", folder / "log.csv", "--from", rows), "rows.csv line 3", "'9E'")
    assert (folder / "log.csv").read_bytes() == before


def test_rows_of_another_engine_are_not_added_even_where_the_record_has_no_such_column(sample, run, edited):
    folder = sample()
    log, rows = folder / "mine.csv", folder / "rows.csv"
    log.write_text("date,hours,valve,lash_found,state\n2026-11-02,1300,1I,0.019,cold\n")
    rows.write_text(FROM.format("pump twin", "").replace("9E", "1E"))
    before = log.read_bytes()
    rejected(
        run("log", folder, "--log", log, "--from", rows), "rows.csv line 2", "'pump twin'", "'plain six'"
    )
    edited(folder / "setup.toml", ('engine = "plain six"', ""))
    rejected(run("log", folder, "--log", log, "--from", rows), "rows.csv line 2", "the sheet names none")
    assert log.read_bytes() == before


def test_a_record_beside_the_sheet_is_found(sample, run):
    assert run("wear", sample(), "--log", "log.csv").exit_code == 1


def test_a_sheet_without_a_name_says_that_the_record_may_be_anyones(sample, run, edited):
    folder = sample()
    assert "names no engine" not in run("wear", folder, "--log", folder / "log.csv").stdout
    edited(folder / "setup.toml", ('engine = "plain six"', ""))
    printed = " ".join(run("wear", folder, "--log", folder / "log.csv").stdout.split())
    assert "The sheet names no engine ([record] engine)" in printed
