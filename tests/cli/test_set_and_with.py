"""`--with` on every question, and `set`: the same answers, the files only where they are to change."""

import json

import pytest

from valvetrain.questions.registry import ASKED
from valvetrain_cli.main import COMMANDS

OF_NO_SHEET = ("log", "new", "guide", "schema", "set", "compare", "bench", "plan", "fit")


def files_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("command", [*ASKED, "check", "next"])
def test_asked_with_is_asked_of_the_sheet_written_so(command, sample, run, edited):
    folder = sample()
    files = files_of(folder)
    options = [
        "--with",
        "3E.installed_height=1.567",
        "--with",
        "1I.lash=0.0175",
        "--with",
        "oil.grade=20W-50",
    ]
    asked = run(command, folder, *options, "--json")
    assert files_of(folder) == files
    edited(
        folder / "valves.csv",
        ("1.900,1.603,1.164", "1.900,1.567,1.164"),
        ("1.165,0.0185,0.2596", "1.165,0.0175,0.2596"),
    )
    edited(folder / "setup.toml", ("15W-40", "20W-50"))
    wanted = run(command, folder, "--json")
    assert asked.exit_code == wanted.exit_code
    told = json.loads(asked.stdout)
    assert told.pop("with") == {"3E.installed_height": "1.567", "1I.lash": "0.0175", "oil.grade": "20W-50"}
    assert told == json.loads(wanted.stdout)


def test_every_command_that_reads_a_sheet_takes_it(run):
    for command in COMMANDS:
        if command not in OF_NO_SHEET:
            assert "--with" in run(command, "--help").output, command


def test_said_on_stderr_in_words(sample, run):
    result = run("rocker", sample(), "--with", "3E.lash=0.022")
    assert result.exit_code == 0
    assert "Asked with 3E.lash=0.022; nothing is written." in result.stderr


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["3E.lash"], "is not KEY=VALUE"),
        (["=3"], "is not KEY=VALUE"),
        (["3E.lash=0.02", "--with", "3E.lash=0.021"], "given twice: 0.02 and 0.021"),
        (["9E.lash=0.02"], "9E is not a valve of this engine"),
        (["spring.installed_height=1.5"], "makes no difference"),
        (["3E.lash=wide"], "is not a value"),
    ],
)
def test_bad_with(given, words, sample, run):
    result = run("check", sample(), "--with", *given)
    assert result.exit_code == 2
    assert words in result.stderr
    assert not result.stdout


def test_fit_writes_nothing_asked_with(sample, run, tmp_path):
    folder = sample()
    result = run("fit", folder / "bench.toml", "--readings", "readings.csv", "-o", tmp_path / "new",
                 "--with", "rocker.nominal_ratio=1.5")  # fmt: skip
    assert result.exit_code == 2
    assert "Use valvetrain set" in result.stderr
    assert not (tmp_path / "new").exists()


def test_set_undo_redo_and_the_journal(sample, run):
    folder = sample()
    files = files_of(folder)
    result = run("set", folder, "3E.installed_height=1.567", "cam.intake_centerline=108")
    assert result.exit_code == 0
    assert "3E.installed_height: 1.603 -> 1.567" in result.stdout
    assert "cam.intake_centerline: 107 -> 108" in result.stdout
    assert "intake_centerline = 108      # crank degrees after" in (folder / "setup.toml").read_text()
    assert "already" in run("set", folder, "3E.installed_height=1.567").stderr
    assert "1.567 -> 1.603 (taken back)" in run("set", folder, "--undo").stdout
    left = files_of(folder)
    assert {name: left[name] for name in files} == files
    assert "1.603 -> 1.567 (done again)" in run("set", folder, "--redo").stdout
    assert len(run("set", folder, "--journal").stdout.splitlines()) == 6


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([], "give KEY=VALUE"),
        (["--undo", "3E.lash=0.02"], "give KEY=VALUE, or one of"),
        (["--undo"], "no change stands"),
        (["3E.lash=0.022", "9E.lash=0.02"], "9E is not a valve"),
        (["stock.stand_shims=0.03"], "stand_shims"),
        (["3E.lash=0.02", "3e.lash=0.022"], "given twice"),
        (["3E.installed_height=1.1"], "not below its installed height"),
    ],
)
def test_bad_set_writes_nothing(given, words, sample, run):
    folder = sample()
    files = files_of(folder)
    result = run("set", folder, *given)
    assert result.exit_code == 2
    assert words in result.stderr
    assert files_of(folder) == files
