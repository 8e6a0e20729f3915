"""One case: a sheet and a command line in folders of their own, held against everything that must hold."""

import difflib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from tests.fuzz.asked import arguments
from tests.fuzz.changes import sheets
from tests.fuzz.oracle import Answer, Broken, contents, hold_words, run
from tests.fuzz.sheets import Sheet, Table, sample, toml_text

TAKEN = "taken.png"


@dataclass
class Case:
    """A sheet, and what is asked of it."""

    sheet: Sheet
    line: tuple[str, ...]

    def told(self) -> str:
        """Say what was asked, and where the sheet differs from its sample."""
        lines = [" ".join(self.line), f"of {self.sheet.name}, but"]
        if self.sheet.raw is not None:
            lines.append(f"setup.toml ends {self.sheet.raw[-80:]!r}")
        was = sample(self.sheet.name)
        lines += _differences(toml_text(was.toml), toml_text(self.sheet.toml))
        for name, table in self.sheet.tables.items():
            if table.written() != was.tables[name].written():
                shown = f"{table.raw[:100]!r}" if table.raw is not None else f"{table.encoding} {table.end!r}"
                lines.append(f"{name}: {shown}")
                before, after = (Table(each.header, each.rows) for each in (was.tables[name], table))
                lines += _differences(
                    *(each.written().decode("utf-8", "replace") for each in (before, after))
                )
        return "\n  ".join(line[:300] for line in lines[:60])


def _differences(before: str, after: str) -> list[str]:
    kept = list(difflib.unified_diff(before.split("\n"), after.split("\n"), n=0, lineterm=""))
    return [line for line in kept[2:] if not line.startswith("@@")]


@st.composite
def cases(draw: Any) -> Case:
    """Draw a case."""
    return Case(draw(sheets()), draw(arguments()))


@contextmanager
def places() -> Iterator[tuple[Path, Path]]:
    """Give a folder for the sheet, and another to write into, in which a file is already."""
    home = Path(tempfile.mkdtemp(prefix="valvetrain-fuzz-"))
    try:
        out = home / "out"
        out.mkdir()
        (out / TAKEN).write_bytes(b"taken")
        (home / "outside.csv").write_text("valve,secret-4711\n1I,secret-4711\n")
        yield home / "sheet", out
    finally:
        shutil.rmtree(home)


def hold(case: Case) -> Answer:
    """Run a case; raise `Broken` where something does not hold."""
    with places() as (folder, out):
        case.sheet.write(folder)
        line = tuple(each.replace("{sheet}", str(folder)).replace("{out}", str(out)) for each in case.line)
        before, before_out = contents(folder.parent), contents(out)
        here = Path.cwd()
        os.chdir(out)
        try:
            answer = run(line)
        finally:
            os.chdir(here)
        hold_words(line, answer)
        after = contents(folder.parent)
        for name, was in before.items():
            if (
                after.get(name) != was
                and not ("--force" in line and name == f"out/{TAKEN}")
                and name != "out"
            ):
                raise Broken("a file changed", f"{name} by {' '.join(case.line)}")
        if answer.status == 2 and set(contents(out)) != set(before_out):
            raise Broken("written though refused", str(sorted(set(contents(out)) - set(before_out))))
        if any(Path(name).name.startswith(".valvetrain-") for name in after):
            raise Broken("left behind", str(sorted(after)))
        if "secret-4711" in answer.out + answer.err:
            raise Broken("a foreign line shown", answer.err[:300])
        return answer
