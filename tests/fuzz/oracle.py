"""What must hold of every run: its status, its words, its time, its files, its JSON."""

import json
import re
import signal
import time
import traceback
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from valvetrain_cli.main import main

SOON = 10.0
"""Seconds of this process within which every answer and every refusal must come."""

HUNG = 120
"""Seconds by the clock, on a machine that has other work too, after which a run counts as hung."""

_FAULT = re.compile(r"^  \S.*: .+[.?!)]$|^  and \d+ more: mend these first\.$")
_HEAD = re.compile(r"^valvetrain: \d+ faults? in what was given$")
# What is said beside: which files are read, and of which changes a sheet is asked.
_ASIDE = re.compile(r"which lies outside the sheet's folder$|^Asked with ")
_ORDERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029]")


class Broken(AssertionError):  # noqa: N818 - what happened to the law
    """Something that must hold did not; `kind` names it in a word or two."""

    def __init__(self, kind: str, told: str) -> None:
        super().__init__(f"{kind}: {told}")
        self.kind = kind


class Hung(BaseException):
    """The run went on and on; not an Exception, so that nothing catches it on the way."""


@dataclass(frozen=True)
class Answer:
    """What a run gave."""

    status: int
    out: str
    err: str
    seconds: float

    @property
    def document(self) -> dict[str, Any]:
        """Its JSON."""
        found: dict[str, Any] = json.loads(self.out)
        return found


@contextmanager
def _not_for_ever() -> Iterator[None]:
    def stop(*_: object) -> None:
        raise Hung

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(HUNG)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def run(line: tuple[str, ...]) -> Answer:
    """Run the command line in this process; a traceback, a warning or a hang is a broken law."""
    begun = time.process_time()
    try:
        with _not_for_ever(), warnings.catch_warnings():
            warnings.simplefilter("error")
            result = CliRunner().invoke(main, list(line))
    except Hung:
        raise Broken("hang", f"more than {HUNG} s") from None
    took = time.process_time() - begun
    error = result.exception
    if error is not None and not isinstance(error, SystemExit):
        frames = traceback.extract_tb(error.__traceback__)
        place = next(
            (f for f in reversed(frames) if "valvetrain" in f.filename and "fuzz" not in f.filename), None
        )
        where = f"{Path(place.filename).name}:{place.lineno}" if place else "?"
        kind = "warning" if isinstance(error, Warning) else "traceback"
        raise Broken(f"{kind} {type(error).__name__} {where}", str(error)[:300]) from error
    if took > SOON:
        raise Broken("slow", f"{took:.1f} s")
    return Answer(result.exit_code, result.stdout, result.stderr, took)


def hold_words(line: tuple[str, ...], answer: Answer) -> None:
    """Hold status, messages and JSON of an answer against what they must be."""
    if answer.status not in (0, 1, 2):
        raise Broken("status", str(answer.status))
    for name, text in (("stdout", answer.out), ("stderr", answer.err)):
        if (sign := _ORDERS.search(text)) is not None:
            raise Broken("raw control sign", f"{sign[0]!r} on {name}")
        if "Traceback" in text:
            raise Broken("traceback in words", text[:300])
    if answer.status == 2:
        _hold_refusal(answer)
    elif "--json" in line:
        try:
            json.loads(answer.out, parse_constant=_no_number)
        except ValueError as error:
            raise Broken("invalid JSON", str(error)) from error


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number of JSON")


def _hold_refusal(answer: Answer) -> None:
    """A refusal says on stderr alone what is wrong, a line a fault: place, fault, mend."""
    if answer.out:
        raise Broken("refusal with output", answer.out[:200])
    lines = answer.err.splitlines()
    if lines and lines[0].startswith("Usage:"):
        if not any(each.startswith("Error: ") and len(each) > 10 for each in lines):
            raise Broken("usage without a word", answer.err[:300])
        return
    lines = [each for each in lines if not _ASIDE.search(each)]
    if not lines or not _HEAD.match(lines[0]) or len(lines) < 2 or len(lines) > 22:
        raise Broken("refusal without a head", answer.err[:300])
    for each in lines[1:]:
        if not _FAULT.match(each) or len(each) > 4100:
            raise Broken("refusal in no shape", each[:300])


def contents(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Return every file below a folder with its mode and bytes."""
    return {
        str(each.relative_to(folder)): (each.stat().st_mode, each.read_bytes() if each.is_file() else b"")
        for each in sorted(folder.rglob("*"))
    }
