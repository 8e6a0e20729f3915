"""From nothing to a first verdict: `new`, `guide`, spreadsheet tables, --quiet, completion."""

import subprocess
import sys

import pytest
from click.testing import CliRunner

from valvetrain_cli.main import COMMANDS, main

# An invented engine, as one would write it into the starter sheet: section, key, value.
MEASURED = {
    "shaft": {"setback": "1.26", "height": "0.36", "reference_stem_height": "1.9", "stand_shim": "0"},
    "rocker": {
        "tip": '"pad"',
        "pad_arm": "1.27",
        "pad_radius": "0.51",
        "pad_width": "0.32",
        "socket_arm": "0.85",
        "arm_angle": "172",
    },
    "pushrod": {"length": "8.1"},
    "tappet": {"kind": '"flat"', "setback": "0.84", "angle": "0"},
    "valve.intake": {"stem_diameter": "0.341", "tip_chamfer": "0.03"},
    "valve.exhaust": {"stem_diameter": "0.341", "tip_chamfer": "0.03"},
    "spring": {
        "rate": "235",
        "free_length": "2.0",
        "solid_height": "1.12",
        "seat_load_target": "80",
        "retainer_to_seal": "0.55",
    },
    "lobe.intake": {"lift": "0.26", "durations": "["},
    "lobe.exhaust": {"lift": "0.26", "durations": "["},
    "cam": {"intake_centerline": "108", "exhaust_centerline": "110"},
    "lash": {"intake": "0.015", "exhaust": "0.017", "at": '"valve"', "state": '"cold"'},
}
ROWS = {
    "1I,,,,,,,,": "1I,0.004,0.006,1.898,1.600,0,0.015,0.2598,",
    "1E,,,,,,,,": "1E,-0.006,0.005,1.902,1.605,0,0.017,0.2599,",
    "2I,,,,,,,,": "2I,0.110,0.006,1.900,1.598,0,0.015,0.2600,",
    "2E,,,,,,,,": "2E,0.000,0.007,1.905,1.610,,0.018,,",
}


def filled_in(folder):
    """Take the # away and put values in, line by line, as a person does."""
    lines, section = [], ""
    for line in (folder / "setup.toml").read_text().splitlines():
        if line.startswith("["):
            section = line.strip("[]")
        key = line.removeprefix("#").partition(" =")[0]
        value = MEASURED.get(section, {}).get(key)
        if line.startswith("#events"):
            section = "not given"
        if line.startswith(("#    {", "#]")) and section.startswith("lobe"):
            line = line.removeprefix("#").replace(
                "duration = 0", f"duration = {262 if '0.006' in line else 206}"
            )
        elif line.startswith("#") and value is not None:
            line = f"{key} = {value}"
        lines.append(line)
    (folder / "setup.toml").write_text("\n".join(lines))
    table = (folder / "valves.csv").read_text()
    for blank, row in ROWS.items():
        assert blank in table
        table = table.replace(blank, row)
    (folder / "valves.csv").write_text(table)


def test_from_new_to_a_first_verdict(tmp_path, run, document):
    folder = tmp_path / "mine"
    made = run(
        "new", folder, "--cylinders", 2, "--units", "inch", "--instruments", "caliper,feeler,indicator"
    )
    assert made.exit_code == 0, made.output
    assert made.stdout == ""
    checks = document("check", folder)["checks"]
    assert {check["verdict"] for check in checks} == {"unmeasured"}
    listed = run("check", folder, "--tables")
    assert listed.exit_code == 0
    assert "shaft.setback" in listed.stdout
    assert "valvetrain guide" in listed.stdout
    assert run("check", folder, "--strict", "--tables").exit_code == 1

    filled_in(folder)
    result = document("check", folder)
    verdicts = {(check["id"], check["valve"]): check["verdict"] for check in result["checks"]}
    assert verdicts["sweep_width", "1I"] == "ok"
    assert verdicts["contact_share", "2I"] == "out"  # 0.110 in off the stem, planted
    assert verdicts["lobe_wear", "2E"] == "unmeasured"
    unmeasured = {key for key, verdict in verdicts.items() if verdict == "unmeasured"}
    assert unmeasured == {("lobe_wear", "2E")}


def test_what_is_advised_is_in_the_guide(run, document, tmp_path):
    """Every key that `check` asks for on an empty sheet has its page."""
    run("new", tmp_path / "mine", "--cylinders", 1, "--units", "metric")
    asked = set()
    for check in document("check", tmp_path / "mine")["checks"]:
        asked |= {word.strip(".,") for word in check["advice"].split() if "." in word.strip(".,")}
    assert len(asked) > 8
    for key in asked:
        assert run("guide", key).exit_code == 0


def test_asks_on_a_terminal(tmp_path, monkeypatch):
    monkeypatch.setattr("valvetrain_cli.new._on_terminal", lambda: True)
    result = CliRunner().invoke(
        main, ["new", str(tmp_path / "mine")], input="4\n2\n1\nmetric\ncaliper, dail\n"
    )
    assert result.exit_code == 2
    assert "dail" in result.output
    assert not (tmp_path / "mine").exists()
    result = CliRunner().invoke(main, ["new", str(tmp_path / "mine")], input="4\n2\n2\nmetric\nall\n")
    assert result.exit_code == 0, result.output
    text = (tmp_path / "mine" / "setup.toml").read_text()
    assert 'units = "metric"' in text
    assert "cylinders = 4" in text
    assert "shafts = { left = [1, 3], right = [2, 4] }" in text
    assert (tmp_path / "mine" / "springs.csv").exists()


def test_everyday_words_for_instruments_are_understood(run, tmp_path):
    result = run(
        "new",
        tmp_path / "mine",
        "--cylinders",
        8,
        "--shafts",
        2,
        "--units",
        "inch",
        "--instruments",
        "Dial, mike",
    )
    assert result.exit_code == 0
    assert "dial is taken as indicator" in result.stderr
    assert "#indicator = " in (tmp_path / "mine" / "setup.toml").read_text()
    more = run("new", tmp_path / "other", "--cylinders", 2, "--shafts", 3, "--units", "inch")
    assert more.exit_code == 2
    assert "--shafts 3: is more than the 2 cylinders" in more.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--units", "inch"], ["--cylinders"]),
        (["--cylinders", "2"], ["--units"]),
        (["--cylinders", "0", "--units", "inch"], ["0"]),
        (["--cylinders", "2", "--units", "inch", "--instruments", "calliper"], ["calliper", "'caliper'"]),
    ],
    ids=["cylinders", "units", "no cylinder", "instrument"],
)
def test_new_refuses(tmp_path, run, arguments, words):
    result = run("new", tmp_path / "mine", *arguments)
    assert result.exit_code == 2
    assert all(word in result.stderr for word in words)
    assert not (tmp_path / "mine").exists()


def test_new_writes_over_nothing(tmp_path, run):
    (tmp_path / "valves.csv").write_text("precious")
    result = run("new", tmp_path, "--cylinders", 2, "--units", "inch")
    assert result.exit_code == 2
    assert "exists already" in result.stderr
    assert [each.name for each in tmp_path.iterdir()] == ["valves.csv"]
    assert (tmp_path / "valves.csv").read_text() == "precious"
    for place, word in (
        (tmp_path / "valves.csv", "is a file"),
        (tmp_path / "no" / "where", "does not exist"),
    ):
        refused = run("new", place, "--cylinders", 2, "--units", "inch")
        assert refused.exit_code == 2
        assert word in refused.stderr


def test_key_in_the_wrong_section_and_blank_value(tmp_path, run):
    run("new", tmp_path / "mine", "--cylinders", 1, "--units", "inch")
    sheet = tmp_path / "mine" / "setup.toml"
    text = sheet.read_text()
    sheet.write_text(text.replace("#exposure =", "skew = 2 #", 1))
    assert "Move it to [rocker]" in run("check", tmp_path / "mine").stderr
    sheet.write_text(text.replace("#setback =", "setback =", 1))
    assert "put # before the line" in run("check", tmp_path / "mine").stderr


def test_guide_in_the_terminal(run):
    listed = run("guide")
    assert listed.exit_code == 0
    assert "setback" in listed.stdout
    shown = run("guide", "[shaft]", "setback").stdout
    assert "caliper; +- 0.0012 in (0.03 mm)" in shown
    assert "Usual slips" in shown
    assert "caliper reading" in shown  # words of the drawing
    assert "Caution" in run("guide", "spring_test").stdout
    assert max(map(len, run("guide", "all").stdout.splitlines())) <= 110


def test_guide_page(tmp_path, run):
    page = tmp_path / "guide.html"
    assert run("guide", "-o", page).exit_code == 0
    assert page.read_text().count("<article") > 40
    assert run("guide", "-o", page).exit_code == 2
    assert run("guide", "ink", "-o", page, "--force").exit_code == 0
    assert page.read_text().count("<article") == 1


def test_guide_refuses(tmp_path, run):
    unknown = run("guide", "setbak")
    assert unknown.exit_code == 2
    assert "'setback'" in unknown.stderr
    assert run("guide", "-o", tmp_path / "guide.txt").exit_code == 2


def test_spreadsheet_tables_give_the_same_verdicts(sample, document, edited):
    import csv

    import openpyxl

    folder = sample()
    before = document("check", folder)
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name in ("valves", "springs"):
        sheet = book.create_sheet(name)
        for row in csv.reader((folder / f"{name}.csv").read_text().splitlines()):
            sheet.append(
                [float(cell) if cell.replace(".", "").lstrip("-").isdigit() else cell for cell in row]
            )
        (folder / f"{name}.csv").unlink()
    book.save(folder / "tables.xlsx")
    edited(
        folder / "setup.toml",
        ('valves = "valves.csv"', 'valves = "tables.xlsx#valves"'),
        ('tests = "springs.csv"', 'tests = "tables.xlsx#springs"'),
    )
    after = document("check", folder)
    assert after["checks"] == before["checks"]
    assert after["results"] == before["results"]


def test_a_record_is_not_added_to_a_spreadsheet(tmp_path, sample, run):
    record = tmp_path / "log.xlsx"
    result = run(
        "log", sample(), "--log", record, "--new", "--valve", "1I", "--hours", 1, "--lash-found", "0.02"
    )
    assert result.exit_code == 2
    assert "CSV" in result.stderr
    assert not record.exists()


def test_quiet_and_progress(sample, run, monkeypatch):
    import time

    from valvetrain_cli import progress

    folder = sample("pump_twin")
    assert run("rocker", folder, "--quiet").exit_code == run("rocker", folder).exit_code
    shown = []
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(progress, "PATIENCE", 0.0)
    monkeypatch.setattr(progress._Spinner, "_show", lambda self: shown.append(self.doing))
    with progress.working("computing"):
        time.sleep(0.2)
    assert shown == ["computing"]
    shown.clear()
    with main.make_context("valvetrain", ["rocker", str(folder)]) as context, context.scope():
        context.meta[progress._QUIET] = True
        with progress.working("computing"):
            time.sleep(0.1)
        with progress.bar("draws") as tell:
            tell(0.5)
    assert shown == []


def test_completion_names_the_commands_and_imports_none(monkeypatch):
    script = (
        "import sys; from valvetrain_cli.main import main; import click;"
        "found = main.shell_complete(click.Context(main), '');"
        "print([each.value for each in found if not each.value.startswith('-')]);"
        "print([name for name in sys.modules if name in ('numpy', 'pydantic', 'valvetrain_cli.check')])"
    )
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    names, imported = out.splitlines()
    assert names == str(list(COMMANDS))
    assert imported == "[]"
