"""Files come whole or not at all, never over another unasked, and nothing is left behind."""

import errno
import os
import signal
import stat
import subprocess
import sys
import time

import pytest

from valvetrain.setup import writing
from valvetrain.setup.writing import LEFTOVER, write_file, write_files, write_with


def leftovers(folder):
    return [each.name for each in folder.iterdir() if each.name.startswith(LEFTOVER)]


def test_text_is_written_as_utf8_with_the_line_ends_it_has(tmp_path):
    write_file(tmp_path / "a.csv", "stößel\n1\n")
    assert (tmp_path / "a.csv").read_bytes() == "stößel\n1\n".encode()
    assert leftovers(tmp_path) == []


def test_a_file_that_exists_is_kept_unless_told_otherwise(tmp_path):
    target = tmp_path / "a.csv"
    target.write_text("mine")
    with pytest.raises(FileExistsError):
        write_file(target, "new")
    assert target.read_text() == "mine"
    write_file(target, "new", force=True)
    assert target.read_text() == "new"
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_appears_while_writing_is_kept(tmp_path, monkeypatch, links):
    if not links:

        def refused(*_):
            raise OSError(errno.EPERM, "no links here")

        monkeypatch.setattr(os, "link", refused)
    target = tmp_path / "a.csv"

    def write(beside):
        beside.write_text("new")
        target.write_text("appeared")

    with pytest.raises(FileExistsError):
        write_with(target, write)
    assert target.read_text() == "appeared"
    target.unlink()
    write_file(target, "new")
    assert target.read_text() == "new"
    assert leftovers(tmp_path) == []


def test_force_through_a_link_writes_the_file_it_leads_to(tmp_path):
    (tmp_path / "there").mkdir()
    real = tmp_path / "there" / "real.csv"
    real.write_text("old")
    link = tmp_path / "link.csv"
    link.symlink_to(real)
    write_file(link, "new", force=True)
    assert link.is_symlink()
    assert real.read_text() == "new"


@pytest.mark.parametrize("force", [True, False])
def test_a_link_that_leads_nowhere_is_kept(tmp_path, force):
    link = tmp_path / "link.csv"
    link.symlink_to(tmp_path / "nowhere.csv")
    with pytest.raises(OSError, match=r"does not exist|exists"):
        write_file(link, "new", force=force)
    assert link.is_symlink()
    assert not (tmp_path / "nowhere.csv").exists()


def test_a_fifo_is_no_place_for_a_file(tmp_path):
    os.mkfifo(tmp_path / "a.csv")
    with pytest.raises(OSError, match="not a regular file"):
        write_file(tmp_path / "a.csv", "new", force=True)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_mode_is_kept(tmp_path, mode):
    target = tmp_path / "a.csv"
    target.write_text("old")
    target.chmod(mode)
    write_file(target, "new", force=True)
    assert stat.S_IMODE(target.stat().st_mode) == mode


@pytest.mark.parametrize(("mask", "mode", "folder"), [(0o022, 0o644, 0o755), (0o077, 0o600, 0o700)])
def test_new_files_are_readable_as_the_umask_says(tmp_path, mask, mode, folder):
    before = os.umask(mask)
    try:
        write_file(tmp_path / "a.csv", "new")
        write_files(tmp_path / "new", {"a.csv": "a", "setup.toml": "s"})
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a.csv").stat().st_mode) == mode
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == folder
    assert stat.S_IMODE((tmp_path / "new" / "a.csv").stat().st_mode) == mode


def test_a_failure_leaves_all_as_it_was(tmp_path):
    (tmp_path / "a.csv").write_text("old")

    def write(beside):
        beside.write_text("half")
        raise OSError(errno.ENOSPC, "no space left on device")

    with pytest.raises(OSError, match="no space"):
        write_with(tmp_path / "a.csv", write, force=True)
    assert (tmp_path / "a.csv").read_text() == "old"
    assert leftovers(tmp_path) == []


def test_several_files_come_all_or_none(tmp_path):
    files = {"tables/a.csv": "a", "b.csv": "b", "setup.toml": "s"}
    write_files(tmp_path / "new", files)
    assert (tmp_path / "new" / "tables" / "a.csv").read_text() == "a"
    there = tmp_path / "there"
    there.mkdir()
    (there / "setup.toml").write_text("mine")
    with pytest.raises(FileExistsError):
        write_files(there, files)
    assert [each.name for each in there.iterdir()] == ["setup.toml"]
    assert (there / "setup.toml").read_text() == "mine"
    write_files(there, files, force=True)
    assert (there / "setup.toml").read_text() == "s"
    with pytest.raises(FileExistsError):  # only the last one may be written over
        write_files(there, files, force=True)
    assert leftovers(there) == leftovers(tmp_path) == []


KILLED = """
import os, sys, time
from pathlib import Path
from valvetrain.setup.writing import write_with, write_files, _folder_beside
def write(beside):
    beside.write_text("half")
    print("writing", flush=True)
    time.sleep(60)
if sys.argv[2] == "file":
    write_with(Path(sys.argv[1]) / "a.csv", write)
else:
    with _folder_beside(Path(sys.argv[1])) as folder:
        write(folder / "a.csv")
"""


@pytest.mark.parametrize("what", ["file", "folder"])
def test_what_a_kill_leaves_is_taken_away_by_the_next_run_and_not_before(tmp_path, what):
    process = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(tmp_path), what], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    with process.stdout:
        assert process.stdout.readline() == "writing\n"
        write_file(tmp_path / "b.csv", "b")
        assert len(leftovers(tmp_path)) == 1, "what another run is still writing is left alone"
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert len(leftovers(tmp_path)) == 1
    write_file(tmp_path / "c.csv", "c")
    assert leftovers(tmp_path) == []
    assert not (tmp_path / "a.csv").exists()


def test_without_locks_only_what_is_old_is_taken_away(tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "fcntl", None)
    for name, age in (("old", 7200), ("young", 60)):
        path = tmp_path / f"{LEFTOVER}{name}"
        path.write_text("half")
        os.utime(path, (time.time() - age,) * 2)
    write_file(tmp_path / "a.csv", "a")
    write_files(tmp_path / "new", {"a.csv": "a"})
    assert leftovers(tmp_path) == [f"{LEFTOVER}young"]
