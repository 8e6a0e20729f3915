"""The commands of the cam: events at many lifts and lashes, lash, clearance, lobe; and their bad input."""

import csv
import json
import re

import numpy as np
import pytest


def rejected(result, *words):
    """Assert a clean refusal whose message holds these words."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in result.stderr, (word, result.stderr)


def lobe_table(folder, change=lambda rows: rows, header=None):
    """Change the rows of the sample's intake lobe."""
    path = folder / "intake_lobe.csv"
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    rows = change([line.split(",") for line in lines[1:]])
    path.write_text("\n".join([header or lines[0], *(",".join(row) for row in rows)]) + "\n")


BAD_TABLES = {
    "gap on the flank": (lambda rows: rows[:60] + rows[64:], None, ["gap"]),
    "doubled row": (lambda rows: [*rows[:80], rows[79], *rows[80:]], None, ["doubled row"]),
    "decreasing angles": (lambda rows: rows[::-1], None, ["fall"]),
    "one angle that falls": (lambda rows: [*rows[:40], rows[42], rows[41], *rows[43:]], None, ["must rise"]),
    "crank degrees as cam degrees": (
        lambda rows: [[str(2 * float(a)), b] for a, b in rows],
        None,
        ["more than one turn"],
    ),
    "cam degrees as crank degrees": (lambda rows: rows, "crank_angle [deg],tappet_lift [in]", ["lobe"]),
    "base circle that does not close": (
        lambda rows: [[a, f"{float(b) + 0.0002 * float(a):.4f}"] for a, b in rows],
        None,
        ["not closed"],
    ),
    "valve lift as tappet lift": (
        lambda rows: [[a, f"{1.48 * float(b):.4f}"] for a, b in rows],
        None,
        ["rocker", "valve_lift"],
    ),
    "valve lift of nobody knows which valve": (
        lambda rows: rows,
        "cam_angle [deg],valve_lift [in]",
        ["at which valve", "read_at_valve"],
    ),
}


@pytest.mark.parametrize("name", BAD_TABLES)
def test_fault_of_a_lift_table_is_named(name, sample, run):
    folder = sample()
    change, header, words = BAD_TABLES[name]
    lobe_table(folder, change, header)
    rejected(run("events", folder), *words)


@pytest.mark.parametrize(
    ("add", "words"),
    [
        ('read_at_valve = "1I"', ["gross or net", "table_lift"]),
        ('read_at_valve = "1I"\ntable_lift = "net"', ["table_lash"]),
        ('read_at_valve = "1E"\ntable_lift = "gross"', ["'1E'", "1I, 2I"]),
    ],
)
def test_what_a_table_at_the_valve_is_is_asked_for(sample, run, edited, add, words):
    folder = sample()
    lobe_table(folder, header="cam_angle [deg],valve_lift [in]")
    edited(folder / "setup.toml", ("[lobe.intake]", f"[lobe.intake]\n{add}"))
    rejected(run("events", folder), *words)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            'checked_at = "tappet", duration = 262',
            'checked_at = "valve", duration = 262',
            ["lash", "card_ratio"],
        ),
        ("duration = 262 }", "duration = 200 }", ["shorter at the higher lift"]),
        ("lift = 6.00\nbase_radius = 20.0", "base_radius = 20.0", ["lobe lift"]),
        ("lift = 6.00\nbase", "card_valve_lift = 8.6\nbase", ["card_lift_is", "card_ratio"]),
        ("checking_lift = 1.00", "checking_lift = 6.50", ["not below the lobe lift"]),
    ],
)
def test_card_that_is_ambiguous_or_contradicts_itself(sample, run, edited, old, new, words):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", (old, new))
    rejected(run("events", folder), "[lobe.", *words)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--lash", "0.012:0.024"], ["FIRST:LAST:STEP"]),
        (["--lash", "0.024:0.012:0.002"], ["does not rise"]),
        (["--lash", "0.012:0.024:0"], ["does not rise"]),
        (["--lash", "0.001:0.2:0.01"], ["range"]),
        (["--lash", "0.001:0.1181:0.0000011"], ["200 is the most"]),
        (["--lash", "nan"], ["finite"]),
        (["--lash", "-0.01"], ["range"]),
        (["--checking-lift", "0.006,x", "--at", "tappet"], ["'x'"]),
        (["--checking-lift", "0.006"], ["--at"]),
        (["--checking-lift", "0,0.01", "--at", "tappet"], ["above 0"]),
        (["--picture", "lash"], ["--lash"]),
    ],
)
def test_bad_options_of_events(sample, run, options, words):
    rejected(run("events", sample(), *options), *words)


@pytest.mark.parametrize("advance", ["nan", "inf", "45"])
def test_bad_advance(sample, run, advance):
    rejected(run("clearance", sample(), "--advance", advance), "--advance")


def test_checking_lift_above_full_lift_is_an_absent_event(sample, document, run):
    folder = sample()
    answer = document("events", folder, "--checking-lift", "0.5", "--at", "valve")["results"]
    assert {row["duration"]["value"] for row in answer["lobes"]} == {None}
    assert {row["absent"] for row in answer["lobes"]} == {True}
    printed = run("events", folder, "--checking-lift", "0.5", "--at", "valve").stdout
    assert "No such event: 1I" in printed


def test_every_case_has_its_rows(sample, document):
    folder = sample()
    answer = document(
        "events", folder, "--checking-lift", "0.006,0.050", "--at", "tappet", "--lash", "0.012:0.024:0.002"
    )["results"]
    assert len(answer["lobes"]) == 24
    lifts = [case["checking_lift"]["value"] for case in answer["by_checking_lift"]]
    assert lifts == pytest.approx([0.006, 0.05])
    lash = answer["against_lash"]["lash"]["values"]
    assert lash == pytest.approx(np.arange(0.012, 0.0241, 0.002))
    lift_off = [row for row in answer["against_lash"]["lobes"] if row["checking_lift"]["value"] == 0]
    assert len(lift_off) == 12
    series = lift_off[0]["duration"]
    assert len(series["values"]) == len(series["u"]) == 7
    assert all(early > late for early, late in zip(series["values"], series["values"][1:], strict=False))
    # Where the lash set in the sheet is asked, the sweep gives the study's own figure.
    plain = document("events", folder, "--lash", "0.018")["results"]["lobes"][0]["duration"]["value"]
    assert series["values"][3] == pytest.approx(plain, rel=1e-9)


def test_a_lash_may_carry_its_unit(sample, document):
    folder = sample()
    inch = document("events", folder, "--lash", "0.018")["results"]["lobes"][0]["duration"]["value"]
    metric = document("events", folder, "--lash", "0.4572 mm")["results"]["lobes"][0]["duration"]["value"]
    assert metric == pytest.approx(inch, rel=1e-9)


def test_synthesised_lobes_say_so(sample, document, run):
    folder = sample("pump_twin")
    assert {row["synthesised"] for row in document("events", folder)["results"]["lobes"]} == {True}
    assert "synthesised" in run("events", folder).stdout
    lobe = document("lobe", folder, "--role", "intake")["results"]
    assert lobe["synthesised"]
    # A card of three lifts leaves the shape of the flanks open.
    assert lobe["peaks"]["acceleration"]["u"] > 0.16 * lobe["peaks"]["acceleration"]["value"]
    assert "u" not in lobe["peaks"]["jerk"]


def test_degree_wheel_says_which_way_to_move_the_cam(sample, document, run, edited):
    folder = sample()
    edited(folder / "wheel.csv", ("-12.5,21.0", "-16.5,25.0"), ("29.5,-15.0", "25.5,-11.0"))
    wheel = document("events", folder)["results"]["degree_wheel"]
    assert wheel["advance_cam"]["value"] == pytest.approx(3.8, abs=0.3)
    assert "advance it by" in run("events", folder).stdout
    plan = document("plan", folder)["results"]
    (step,) = [each for each in plan["steps"] if each["kind"] == "cam"]
    assert step["do"].startswith("advance the cam by 3.9 +-0.9 crank degrees")
    assert plan["left"] == []
    edited(folder / "wheel.csv", ("0.050,tappet,-16.5", "0.050,lifter,-16.5"))
    rejected(run("events", folder), "wheel.csv line 3", "'lifter'", "tappet or valve")


def test_exported_lobe_is_read_again_as_a_table(sample, run, document, edited, tmp_path):
    folder = sample("pump_twin")
    target = folder / "lobe.csv"
    assert run("lobe", folder, "--role", "intake", "-o", target).exit_code == 0
    with target.open() as file:
        rows = [row for row in csv.reader(file) if not row[0].startswith("#")]
    assert len(rows) == 361
    assert max(float(row[1]) for row in rows[1:]) == pytest.approx(6.0, abs=1e-6)
    # The derivatives are those of the lift: central differences a degree apart.
    lift = np.array([float(row[1]) for row in rows[1:]])
    velocity = np.array([float(row[2]) for row in rows[1:]])
    assert velocity[1:-1] == pytest.approx(0.5 * (lift[2:] - lift[:-2]), abs=1e-3)
    before = document("events", folder, "--checking-lift", "1", "--at", "tappet")["results"]["lobes"][0]
    edited(folder / "setup.toml", ("[lobe.intake]\n", '[lobe.intake]\ntable = "lobe.csv"\n'))
    after = document("events", folder, "--checking-lift", "1", "--at", "tappet")["results"]["lobes"][0]
    assert after["lobe_source"] == "table"
    assert after["duration"]["value"] == pytest.approx(before["duration"]["value"], abs=0.1)


def test_export_writes_over_nothing(sample, run, tmp_path):
    target = tmp_path / "there.csv"
    target.write_text("mine")
    rejected(run("lobe", sample(), "--role", "intake", "-o", target), "exists already")
    assert target.read_text() == "mine"
    assert run("lobe", sample("pump_twin"), "--role", "intake", "-o", target, "--force").exit_code == 0
    rejected(run("lobe", sample("faulted_six"), "--role", "intake", "-o", tmp_path / "a.txt"), ".csv")


def test_lobe_that_is_not_there_and_a_step_that_cannot_be(sample, run):
    folder = sample("pump_twin")
    for step in ("0", "nan", "50"):
        rejected(run("lobe", folder, "--role", "intake", "--step", step), "0.1 to 20")
    path = folder / "setup.toml"
    path.write_text(re.sub(r"durations = \[.*?\n\]\n", "", path.read_text(), flags=re.S))
    rejected(run("lobe", folder, "--role", "intake"), "no intake lobe")


def test_lash_says_how_the_lobe_s_ramps_are_used(sample, document, run):
    folder = sample()
    rows = document("lash", folder)["results"]["valves"]
    assert len(rows) == 12
    for row in rows:
        for name in ("opening_left", "closing_left", "least_lash", "greatest_lash", "hot_lash", "turns"):
            assert row[name]["value"] is not None, name
        assert row["growth_from"] == "expansion path"
        total = sum(part["value"] for part in row["growth_parts"])
        assert total == pytest.approx(row["growth"]["value"], rel=1e-9)
    printed = run("lash", folder, "--lash", "0.012:0.024:0.004").stdout
    assert "Against lash" in printed
    assert "Growth of 1E" in printed
    # Both units of the same sheet agree.
    metric = document("lash", folder, "--units", "metric")["results"]["valves"][0]
    inch = rows[0]["greatest_lash"]["value"]
    assert metric["greatest_lash"]["value"] == pytest.approx(25.4 * inch, rel=1e-12)


def test_check_asks_for_the_lash_window(sample, document, run, edited):
    checks = [each for each in document("check", sample())["checks"] if each["id"] == "ramp_left"]
    assert [each["verdict"] for each in checks] == ["ok"] * 12
    faulty = sample("faulted_six")
    assert "and the lash as set against the cam's ramps" in run("check", faulty, "--tables").stdout
    # Past the ramps' 0.018 in times a ratio of about 1.45.
    edited(faulty / "setup.toml", ("intake = 0.019\n", "intake = 0.032\n"))
    table = faulty / "valves.csv"
    head, *rows = [line for line in table.read_text().splitlines() if not line.startswith("#")]
    column = head.split(",").index("lash")
    cells = [row.split(",") for row in rows]
    for row in cells:
        if row[0].endswith("I"):
            row[column] = "0.032"
    table.write_text("\n".join([head, *(",".join(row) for row in cells)]) + "\n")
    found = {each["valve"]: each for each in document("check", faulty)["checks"] if each["id"] == "ramp_left"}
    assert {valve for valve, each in found.items() if each["verdict"] == "out"} == {
        f"{n}I" for n in range(1, 7)
    }
    assert "stay on the ramps with a running lash" in found["1I"]["advice"]
    # The ramps are known from the table: only the lash is wanting.
    assert found["6E"]["advice"] == "Measure lash.lash."


def test_check_says_in_one_line_that_no_lash_window_is_known(sample, document, run):
    folder = sample("pump_twin")
    path = folder / "setup.toml"
    text = re.sub(r"\[hot\.intake\].*?(?=# Clearance)", "", path.read_text(), flags=re.S)
    path.write_text(re.sub(r"ramp_height = .*\n", "", text))
    assert not [
        each for each in document("check", folder)["checks"] if each["id"] in ("ramp_left", "hot_lash")
    ]
    lines = " ".join(run("check", folder, "--tables").stdout.split())
    assert lines.count("Lash window: not asked") == 1


def test_card_has_no_ramps_to_judge(sample, run, document):
    folder = sample("pump_twin")
    # With the ramp's height from the card the window is known: (0.35 mm x ratio - lash) is what is left.
    checks = document("lash", folder)["checks"]
    assert {check["id"] for check in checks} == {"hot_lash", "ramp_left"}
    path = folder / "setup.toml"
    path.write_text(re.sub(r"ramp_height = .*\n", "", path.read_text()))
    assert {check["id"] for check in document("lash", folder)["checks"]} == {"hot_lash"}
    assert "a cam card does not show them" in run("lash", folder).stdout


def test_clearance_out_of_its_limit_says_what_to_do(sample, document, edited):
    folder = sample()
    edited(folder / "setup.toml", ("relief_depth = 0.060", "relief_depth = 0.0"))
    edited(folder / "setup.toml", ("valve_recess = 0.080", "valve_recess = -0.010"))
    checks = document("clearance", folder)["checks"]
    out = [check for check in checks if check["verdict"] == "out" and check["id"].startswith("intake")]
    assert len(out) == 6
    assert "retard the cam" in out[0]["advice"]
    assert "in" in out[0]["advice"]


def test_clearance_asks_for_what_is_missing_only(sample, document, run, edited):
    folder = sample()
    edited(folder / "setup.toml", ("deck_clearance = 0.020\n", ""))
    checks = document("clearance", folder)["checks"]
    waiting = [check for check in checks if check["verdict"] == "unmeasured"]
    assert len(waiting) == 12
    assert "piston.deck_clearance" in waiting[0]["advice"]
    result = run("clearance", sample("faulted_six"))
    assert result.exit_code == 0
    assert "no [piston] section" in result.stdout


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("0;4,2\n5;3,8\n10;3,7\n", ["3 readings", "4 are needed"]),
        ("0;4,2\n5;3,8\n5;3,7\n10;3,9\n", ["line 4", "does not rise"]),
        ("0;4,2\n5;\n10;3,7\n15;3,9\n", ["line 3", "empty"]),
    ],
)
def test_bad_clearance_readings(sample, run, rows, words):
    folder = sample("pump_twin")
    (folder / "intake_clearance.csv").write_text(f"crank_angle;clearance\n{rows}")
    rejected(run("clearance", folder), "intake_clearance.csv", *words)


@pytest.mark.parametrize(
    "arguments",
    [
        ["events", "--picture", "ring"],
        ["events", "--lash", "0.2:0.4:0.1"],
        ["lash", "--lash", "0.2:0.4:0.1"],
        ["lobe", "--role", "exhaust"],
        ["clearance"],
    ],
)
def test_pictures_are_drawn_whole(sample, run, tmp_path, arguments):
    target = tmp_path / "picture.svg"
    folder = sample("pump_twin")
    result = run(arguments[0], folder, *arguments[1:], "--plot", target)
    assert result.exit_code == 0, result.output
    assert target.read_text().rstrip().endswith("</svg>")
    rejected(run(arguments[0], folder, *arguments[1:], "--plot", target), "exists already")


def test_widths_fit_a_terminal(sample, run):
    folder = sample()
    for arguments in (
        ["events", "--lash", "0.012:0.024:0.004"],
        ["lash", "--lash", "0.012:0.024:0.004"],
        ["clearance"],
        ["lobe", "--role", "intake"],
    ):
        printed = run(arguments[0], folder, *arguments[1:]).stdout
        assert max(len(line.rstrip()) for line in printed.splitlines()) <= 110, arguments


def test_events_hot_are_those_at_the_hot_lash(sample, document, run):
    folder = sample()
    answer = document("events", folder)["results"]
    cold, hot = answer["lobes"], answer["hot"]["lobes"]
    lash = {row["valve"]: row["hot_lash"] for row in document("lash", folder)["results"]["valves"]}
    for before, after in zip(cold, hot, strict=True):
        assert after["lash"]["value"] == pytest.approx(lash[after["valve"]]["value"], rel=1e-12)
        # This engine's lash closes as it warms: longer duration, more lift, and less sure of both.
        assert after["duration"]["value"] > before["duration"]["value"]
        assert after["duration"]["u"] > before["duration"]["u"]
    one = document("events", folder, "--lash", repr(hot[1]["lash"]["value"]))["results"]["lobes"][1]
    assert one["duration"]["value"] == pytest.approx(hot[1]["duration"]["value"], rel=1e-9)
    assert "The same hot" in run("events", folder).stdout
    assert "hot" not in document("check", folder)["results"]["events"]


def test_lash_says_which_lash_a_row_is_and_that_a_card_knows_no_seating_speed(run, sample):
    folder = sample("pump_twin")
    path = folder / "setup.toml"
    printed = " ".join(run("lash", folder).stdout.split())
    assert "is a guess" not in printed  # the card states its ramps
    text = re.sub(r"ramp_height = .*\n", "", path.read_text())
    # Without the ramps, and without the lift of 0.15 mm that stands on them, nothing of the card tells.
    path.write_text(re.sub(r"0\.15, (.*), duration = \d+ }", r"0.50, \1, duration = 231 }", text))
    printed = " ".join(run("lash", folder, "--lash", "0.2:0.3:0.1").stdout.split())
    assert "Against lash as set; judged at the hot lash" in printed
    assert "A cam card does not show how fast the ramps are: seating speed is a guess" in printed
    table = run("lash", sample("plain_six")).stdout
    assert "is a guess" not in " ".join(table.split())


def test_events_without_a_lash_say_how_to_ask(run, sample, edited):
    folder = sample("pump_twin")
    table = (folder / "valves.csv").read_text().splitlines()
    header = next(line for line in table if line.startswith("valve"))
    place = [name.split(" ")[0] for name in header.split(";")].index("lash")
    rows = [line.split(";") for line in table if line and not line.startswith("#")]
    for row in rows[1:]:
        row[place] = ""
    # A column that is blank from top to bottom says nothing, and [lash] counts: that must not say it either.
    sheet = folder / "setup.toml"
    sheet.write_text(re.sub(r"(?m)^(intake|exhaust) = 0\.3[05]\n", "", sheet.read_text()))
    (folder / "valves.csv").write_text("\n".join(";".join(row) for row in rows) + "\n")
    printed = " ".join(run("events", folder).stdout.split())
    assert "The lash is not known at any valve" in printed
    assert "ask with --lash" in printed
    assert "The lash is not known" not in run("events", folder, "--lash", "0.3").stdout


def test_events_at_the_tappet_are_not_shown_again_hot(run, sample):
    folder = sample("plain_six")
    assert "The same hot" not in run("events", folder, "--checking-lift", "0.05", "--at", "tappet").stdout
    assert "The same hot" in run("events", folder, "--checking-lift", "0.05", "--at", "valve").stdout


@pytest.mark.parametrize("command", ["clearance", "events", "check"])
def test_a_rod_shorter_than_its_crank_is_refused(run, sample, edited, command):
    folder = sample("plain_six")
    text = (folder / "setup.toml").read_text()
    line = next(line for line in text.splitlines() if line.startswith("rod_length"))
    edited(folder / "setup.toml", (line, "rod_length = 1.6"))
    result = run(command, folder)
    assert result.exit_code == 2
    assert "[engine] rod_length: 1.6000 in is not above half the stroke" in result.stderr
    assert "Traceback" not in result.output


def test_a_motion_law_that_is_none_is_told_the_ones_there_are(run, sample, edited):
    folder = sample("pump_twin")
    text = (folder / "setup.toml").read_text()
    edited(folder / "setup.toml", ("[lobe.intake]\n", '[lobe.intake]\nlaw = "sinus"\n'))
    assert text != (folder / "setup.toml").read_text()
    result = run("events", folder)
    assert result.exit_code == 2
    assert "'cycloidal'" in result.stderr
    assert "cycloidal" in run("guide", "law").stdout


def test_effective_compression_moves_with_the_cam_and_says_how_sure_it_is(run, sample):
    folder = sample()
    found = []
    for turn in ("0", "6"):
        printed = " ".join(run("clearance", folder, "--advance", turn).stdout.split())
        found.append(float(printed.split("effective compression ")[1].split(" +- ")[0]))
    assert found[1] > found[0] + 0.1


def test_clearance_says_that_the_cam_was_moved(run, sample):
    folder = sample()
    for turn, said in (
        ("3", "cam advanced by 3 crank degrees"),
        ("-2.5", "cam retarded by 2.5 crank degrees"),
    ):
        assert said in " ".join(run("clearance", folder, "--advance", turn).stdout.split())
    assert "what a dial read" not in run("clearance", folder).stdout


def test_a_dial_does_not_judge_a_cam_that_is_moved(run, sample):
    folder = sample("pump_twin")
    rows = json.loads(run("clearance", folder, "--json").stdout)["checks"]
    moved = json.loads(run("clearance", folder, "--advance", "15", "--json").stdout)["checks"]
    for found, verdict in ((rows, "ok"), (moved, "unmeasured")):
        assert {each["verdict"] for each in found} == {verdict}


def test_lobe_over_time_is_in_the_sheet_s_units(sample, document, run):
    folder = sample()
    inch, metric = (
        document("lobe", folder, "--role", "intake", "--units", units)["results"]["peaks"]
        for units in ("inch", "metric")
    )
    degrees_a_second = 0.5 * 3800.0 * 6.0  # of the cam, at the sample's redline
    for name, order in (("velocity", 1), ("acceleration", 2), ("jerk", 3)):
        power = f"^{order}" if order > 1 else ""
        assert inch[name]["per_second"]["unit"] == f"ft/s{power}"
        assert metric[name]["per_second"]["unit"] == f"m/s{power}"
        per_second = inch[name]["per_second"]["value"]
        assert per_second == pytest.approx(metric[name]["per_second"]["value"] / 0.3048, rel=1e-9)
        assert per_second == pytest.approx(inch[name]["value"] * degrees_a_second**order / 12.0, rel=1e-9)
    assert "m/s" not in run("lobe", folder, "--role", "intake").stdout


def test_a_change_of_lash_and_a_lash_exclude_each_other(sample, run):
    folder = sample()
    for command in ("events", "lash", "clearance"):
        rejected(run(command, folder, "--lash", "0.018", "--lash-change", "0.002"), "one of them")
    printed = run("events", folder, "--lash-change", "-0.004:0.004:0.004").stdout
    assert "each valve's own lash changed" in " ".join(printed.split())
    assert "spread" not in printed
