"""What the report says of the events: at the lash set, hot, and against lash, for a card and for tables."""

from itertools import pairwise

import pytest

from valvetrain.questions.asking import asked
from valvetrain.questions.registry import question
from valvetrain.setup.read import read_setup


@pytest.mark.parametrize(
    ("name", "step"), [("plain_six", 0.002 * 0.0254), ("pump_twin", 0.05e-3)], ids=["tables", "card"]
)
def test_hot_and_against_lash(name, step, sample):
    setup = read_setup(sample(name))
    options = question("events").report_options
    assert options is not None
    answer = asked(setup, ("events",), of_each={"events": options(setup)})["events"]
    assert answer.hot is not None
    lashes = answer.sweep.lashes
    # The usual tuning window, 0.004 in to either side of each valve's own lash.
    assert answer.sweep.changed
    assert lashes[-1] == -lashes[0] == pytest.approx(4e-3 * 0.0254, abs=0.1 * step)
    for first, second in pairwise(lashes):
        assert second - first == pytest.approx(step)


def test_the_page_shows_them(sample, run, tmp_path):
    page = tmp_path / "page.html"
    result = run("report", sample("pump_twin"), "-o", page)
    assert result.exit_code in (0, 1), result.output
    text = page.read_text()
    assert "The same hot, lift-off and seating" in text
    assert "Exhaust, each valve&#39;s own lash changed, lift-off and seating" in text
