"""What a run ends with: its status and its one line, on any console, whatever happens to its output."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from valvetrain_cli.start import start

SAMPLE = Path(__file__).parents[2] / "sample_geometry" / "pump_twin"
COMMAND = [sys.executable, "-m", "valvetrain_cli"]


@pytest.fixture
def started(monkeypatch, capfd, tmp_path):
    """Run the command in this process from its very start; give its status and what it says."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["valvetrain", *map(str, arguments)])
        with pytest.raises(SystemExit) as leaving:
            start([str(each) for each in arguments])
        return leaving.value.code, *capfd.readouterr()

    return run


def planted(monkeypatch, error):
    """Let the reading of every sheet fail with this error."""

    def read_setup(path):
        raise error

    monkeypatch.setattr("valvetrain.setup.read.read_setup", read_setup)


def shell(line, **environment):
    """Run a shell's line, in which $V is the command."""
    return subprocess.run(
        ["bash", "-c", line],
        capture_output=True,
        env=os.environ | {"V": " ".join(COMMAND), "S": str(SAMPLE)} | environment,
        timeout=60,
        check=False,
    )


def test_a_fault_of_the_program_has_a_status_of_its_own_and_a_saved_report(started, monkeypatch, tmp_path):
    planted(monkeypatch, TypeError("the pad arm of 1.19234 is odd"))
    status, out, err = started("rocker", SAMPLE, "--plot", "private name.png", "--json")
    assert status == 3
    assert out == ""
    assert len(err.splitlines()) == 1
    assert "fault of the program itself (TypeError)" in err
    assert "send" in err
    (report,) = (tmp_path / "state" / "valvetrain").iterdir()
    assert str(report) in err
    text = report.read_text()
    assert f"valvetrain rocker {SAMPLE} --plot --json" in text
    assert "TypeError" in text
    assert re.search(r"valvetrain_cli/running\.py line \d+ in read_sheet", text)
    for private in ("1.19234", "private name", str(Path.home() / "x")[:-1], os.environ.get("USER") or "\0"):
        assert private not in text.replace(str(SAMPLE), "")


def test_a_report_that_cannot_be_saved_is_no_second_fault(started, monkeypatch):
    planted(monkeypatch, TypeError("odd"))
    monkeypatch.setattr(
        "valvetrain.setup.writing.write_with", lambda *_, **__: (_ for _ in ()).throw(OSError)
    )
    status, _, err = started("rocker", SAMPLE)
    assert status == 3
    assert "could not be saved" in err


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (KeyboardInterrupt(), 130, "stopped"),
        (BrokenPipeError(), 141, ""),
        (OSError(28, "No space left on device"), 2, "standard output cannot be written: no space left"),
        (MemoryError(), 3, "MemoryError"),
        (RecursionError(), 3, "RecursionError"),
    ],
)
def test_every_end_has_its_status(started, monkeypatch, error, status, words):
    planted(monkeypatch, error)
    found, _, err = started("rocker", SAMPLE)
    assert found == status
    assert words in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("check", SAMPLE), 0),
        (("chek", SAMPLE), 2),
        (("check",), 2),
        (("check", SAMPLE, "--no-such"), 2),
        (("--version",), 0),
        ((), 2),
    ],
)
def test_plain_ends(started, arguments, status):
    assert started(*arguments)[0] == status


def test_control_signs_of_an_argument_are_not_sent_to_the_terminal(started, tmp_path):
    for arguments in (("\x1b[31mcheck", "x"), ("check", "\x1b[31mx"), ("check", SAMPLE, "--\x1b[31m")):
        status, out, err = started(*arguments)
        assert status == 2
        assert "\x1b" not in out + err


@pytest.mark.parametrize("command", ["check", "check --json", "schema", "--help", "guide"])
def test_a_reader_who_leaves_is_not_an_error(command):
    done = shell(
        f'set -o pipefail; $V {command} $([[ "{command}" = check* ]] && echo $S) | head -c 1 >/dev/null'
    )
    assert done.returncode in (0, 141)
    assert done.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("command", ["check $S", "check $S --json", "schema", "--help"])
def test_an_output_that_takes_nothing_is_a_clear_error(command):
    done = shell(f"$V {command} >/dev/full")
    assert done.returncode == 2
    assert b"standard output cannot be written: no space left on device" in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_closed_streams(closed):
    done = shell(f"$V check $S {closed}")
    assert done.returncode == (0 if closed == "2>&-" else 2)
    if closed == ">&-":
        assert b"standard output is closed" in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "utf-8"])
def test_any_console_encoding(encoding):
    done = shell("$V rocker $S && $V guide pad_radius", PYTHONIOENCODING=encoding)
    assert done.returncode == 0, done.stderr
    assert done.stderr == b""
    done.stdout.decode(encoding)
    document = shell("$V rocker $S --json", PYTHONIOENCODING=encoding)
    assert json.loads(document.stdout.decode("utf-8"))["command"] == "rocker"


def test_json_is_utf8_on_any_console(sample, edited):
    folder = sample("pump_twin")
    title = re.search(r'title = "(.*)"', (folder / "setup.toml").read_text())
    assert title is not None
    edited(folder / "setup.toml", (title[0], 'title = "Stößel µ ‖"'))
    done = shell(f"$V fit {folder} --readings none.csv; $V check {folder}", PYTHONIOENCODING="ascii")
    assert b"Traceback" not in done.stderr
    document = shell(f"$V check {folder} --json", PYTHONIOENCODING="ascii", LC_ALL="C")
    json.loads(document.stdout.decode("utf-8"))


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc here")
def test_stopped_from_the_keyboard(tmp_path):
    target = tmp_path / "page.html"
    process = subprocess.Popen(
        [*COMMAND, "report", str(SAMPLE.parent / "launch_six"), "-o", str(target)],
        stderr=subprocess.PIPE,
        # Whoever runs the tests in the background has their children ignore the keyboard.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert process.stderr is not None
    wait_for_children(process)
    process.send_signal(signal.SIGINT)
    said = process.stderr.read().decode()
    process.stderr.close()
    assert process.wait(30) == 130
    assert said.strip() == "valvetrain: stopped."
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc here")
def test_no_child_outlives_a_report_that_is_killed(tmp_path):
    sheet = SAMPLE.parent / "launch_six"
    process = subprocess.Popen([*COMMAND, "report", str(sheet), "-o", str(tmp_path / "page.html"), "--quiet"])
    children = wait_for_children(process)
    process.send_signal(signal.SIGKILL)
    process.wait()
    until = time.monotonic() + 10
    while any(map(running, children)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(map(running, children))
    assert list(tmp_path.iterdir()) == []


def wait_for_children(process):
    """Wait until a report is being drawn, by copies of its process; return their numbers."""
    until = time.monotonic() + 60
    while time.monotonic() < until and process.poll() is None:
        if children := own_children(process.pid):
            return children
        time.sleep(0.02)
    raise AssertionError("the report was not drawn by copies of its process")


def own_children(parent):
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == parent:
            found.append(int(stat.parent.name))
    return found


def running(process):
    try:
        return (Path("/proc") / str(process) / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
