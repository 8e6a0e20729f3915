"""Runs that are killed: at every step by which a file comes about, and at any moment.

After a kill every file is the old one or the new one, whole; a sheet is new only where its tables are; the
next run of the command takes away what the killed one left.
"""

import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from tests.fuzz.oracle import Broken, contents
from tests.fuzz.sheets import SAMPLES
from valvetrain.setup.writing import LEFTOVER
from valvetrain_cli.main import main

_STEPS = ("open", "os.rename", "os.link", "os.remove", "os.rmdir", "os.mkdir", "os.chmod", "shutil.copymode")


@dataclass(frozen=True)
class Writing:
    """A command that writes: its line, in which {home} stands for its folder, and its sample."""

    line: tuple[str, ...]
    sample: str = "pump_twin"


_HOME = "{home}/sheet"
WRITING = {
    "log": Writing(
        ("log", _HOME, "--log", "{home}/log.csv", "--valve", "1I", "--hours", "9", "--lash-found", "0.3 mm")
    ),
    "lobe": Writing(("lobe", _HOME, "--role", "intake", "-o", "{home}/taken.csv", "--force")),
    "plot": Writing(("rocker", _HOME, "--plot", "{home}/new.svg")),
    "guide": Writing(("guide", "setback", "-o", "{home}/taken.html", "--force")),
    "new": Writing(("new", "{home}/begun", "--cylinders", "2", "--units", "inch")),
    "fit, a folder": Writing(
        ("fit", "{home}/sheet/bench.toml", "--readings", "readings.csv", "-o", "{home}/fitted"), "launch_six"
    ),
    "fit, over a sheet": Writing(
        (
            *("fit", "{home}/sheet/bench.toml", "--readings", "readings.csv"),
            *("-o", "{home}/sheet/setup.toml", "--force"),
        ),
        "launch_six",
    ),
    "set": Writing(("set", _HOME, "shaft.setback=36.0", "1I.lash=0.28")),
    "plan": Writing(("plan", "{home}/sheet", "-o", "{home}/planned")),
    "report": Writing(("report", _HOME, "-o", "{home}/page.html", "--quiet")),
}
SHEETS = {
    "fit, a folder": "fitted/setup.toml",
    "fit, over a sheet": "sheet/setup.toml",
    "new": "begun/setup.toml",
    "plan": "planned/setup.toml",
}
"""The file that comes last: where it is new, everything is."""


@contextmanager
def _place(writing: Writing) -> Iterator[Path]:
    home = Path(tempfile.mkdtemp(prefix="valvetrain-kill-"))
    try:
        shutil.copytree(SAMPLES / writing.sample, home / "sheet")
        (home / "log.csv").write_text("hours,valve,lash_found [mm],state\n5,1I,0.3,hot\n8,1E,0.3,hot\n")
        for name in ("taken.csv", "taken.html"):
            (home / name).write_text("taken")
        yield home
    finally:
        shutil.rmtree(home)


def _run(writing: Writing, home: Path) -> int:
    line = [each.replace("{home}", str(home)) for each in writing.line]
    if line[0] == "log":
        line += ["--state", "hot"]
    return CliRunner().invoke(main, line).exit_code


def _forked(act: Callable[[], Any]) -> int:
    """Run something in a copy of this process; return the copy's number."""
    child = os.fork()
    if child == 0:
        try:
            act()
        finally:
            os._exit(0)
    return child


def _whole(home: Path) -> dict[str, tuple[int, bytes]]:
    """Everything but what is being made, and the names of folders, which exist or not."""
    return {
        name: each
        for name, each in contents(home).items()
        if LEFTOVER not in name and not (home / name).is_dir()
    }


def _plain(home: Path, found: dict[str, tuple[int, bytes]]) -> dict[str, tuple[int, bytes]]:
    """Without the name of the folder and the time of day, which differ from run to run."""
    import re

    def plain(content: bytes) -> bytes:
        content = content.replace(str(home).encode(), b"HOME").replace(home.name.encode(), b"HOME")
        return re.sub(rb"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?(\.\d+)?(Z|\+00:00)?", b"TIME", content)

    return {name: (mode, plain(content)) for name, (mode, content) in found.items()}


def _hold(name: str, home: Path, old: dict[str, Any], new: dict[str, Any], when: str) -> str:
    """Hold what a kill leaves against the old and the new; say which it is."""
    found = _plain(home, _whole(home))
    for file, each in found.items():
        if each not in (old.get(file), new.get(file)):
            raise Broken(f"half a file by {name}", f"{file} {when}: {len(each[1])} bytes, mode {each[0]:o}")
    gone = [file for file in old if file not in found]
    if gone:
        raise Broken(f"a file lost by {name}", f"{gone} {when}")
    sheet = SHEETS.get(name)
    if sheet is not None and found.get(sheet) == new[sheet] != old.get(sheet) and found != new:
        raise Broken(f"a sheet without its tables by {name}", f"{when}: {sorted(set(new) - set(found))}")
    return "new" if found == new else "old" if found == old else "between"


def _before_and_after(writing: Writing) -> tuple[dict[str, Any], dict[str, Any], float]:
    with _place(writing) as home:
        old = _plain(home, _whole(home))
        _run(writing, home)  # whatever loads, loads here
    with _place(writing) as home:
        begun = time.monotonic()
        status = _run(writing, home)
        took = time.monotonic() - begun
        new = _plain(home, _whole(home))
    if status not in (0, 1) or new == old:
        raise Broken("the command writes nothing", f"{writing.line}: status {status}")
    return old, new, took


def at_every_step(name: str, most: int = 200) -> dict[str, int]:
    """Kill a command before its first step on its files, its second, and so on until it comes to its end."""
    writing = WRITING[name]
    old, new, _ = _before_and_after(writing)
    ends: dict[str, int] = {}
    for step in range(1, most + 1):
        with _place(writing) as home:

            def act(home: Path = home, step: int = step) -> None:
                left = step

                def hook(event: str, arguments: tuple[Any, ...]) -> None:
                    nonlocal left
                    if (
                        event in _STEPS
                        and any(str(home) in str(each) for each in arguments[:2])
                        and _writes(event, arguments)
                    ):
                        left -= 1
                        if left == 0:
                            os.kill(os.getpid(), signal.SIGKILL)

                sys.addaudithook(hook)
                _run(writing, home)

            _, status = os.waitpid(_forked(act), 0)
            end = _hold(name, home, old, new, f"at step {step}")
            ends[end] = ends.get(end, 0) + 1
            if not os.WIFSIGNALED(status):
                return ends
            _hold_next(name, writing, home, new)
    return ends


def _writes(event: str, arguments: tuple[Any, ...]) -> bool:
    if event != "open":
        return True
    flags = arguments[2]
    return bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))


def _hold_next(name: str, writing: Writing, home: Path, new: dict[str, Any]) -> None:
    """The next run comes to the same end as ever, or says that it is there; nothing is left behind."""
    os.waitpid(_forked(lambda: _run(writing, home)), 0)
    left = [each for each in contents(home) if LEFTOVER in each]
    if left:
        raise Broken(f"left behind by {name}", str(left))


def at_any_moment(name: str, times: int, seed: int) -> dict[str, int]:
    """Kill a command at moments spread over its run, a few of them after its end."""
    writing, moments = WRITING[name], random.Random(seed)
    old, new, took = _before_and_after(writing)
    ends: dict[str, int] = {}
    for _ in range(times):
        with _place(writing) as home:
            child = _forked(lambda home=home: _run(writing, home))
            delay = moments.uniform(0.0, 1.3 * took)
            time.sleep(delay)
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            end = _hold(name, home, old, new, f"after {delay:.4f} s of {took:.4f}")
            ends[end] = ends.get(end, 0) + 1
    return ends
