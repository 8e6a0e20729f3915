"""A kill of a command that writes, before every single step on its files, leaves the old or the new."""

import pytest

from tests.fuzz import kills
from tests.fuzz.kills import WRITING, at_any_moment, at_every_step
from tests.fuzz.oracle import Broken

QUICK = [name for name in WRITING if name not in ("plot", "report", "plan", "fit, a folder")]


@pytest.mark.parametrize("name", QUICK)
def test_a_kill_leaves_old_or_new(name):
    ends = at_every_step(name)
    assert ends["old"] + ends.get("between", 0) > 2
    assert ends["new"] >= 1


def test_a_kill_at_any_moment_leaves_old_or_new():
    ends = at_any_moment("log", 12, seed=1)
    assert sum(ends.values()) == 12


def test_a_half_file_is_seen(monkeypatch):
    def write_with(path, write, *, force=False):
        path.write_text("half")
        write(path)

    monkeypatch.setattr("valvetrain.setup.tables.log_file.write_with", write_with)
    with pytest.raises(Broken, match="half a file"):
        kills.at_every_step("log")
