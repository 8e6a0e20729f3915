"""Whole pages: a panel a valve, readable, saved in every format, without a window or global state."""

import subprocess
import sys
from dataclasses import replace

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from tests.questions.plotted_samples import result_of, setup_of
from valvetrain.answers.page import saved
from valvetrain.questions.center.panels_page import centering_sheet
from valvetrain.questions.events.panels_page import events_sheet
from valvetrain.questions.rocker.panels_page import rocker_sheet
from valvetrain.questions.spring.panels_page import spring_sheet

SHEETS = ["rocker", "center", "spring", "events"]


def sheet(sample, name, system, setup=None):
    setup = setup or setup_of(sample)
    if name == "center":
        return centering_sheet(setup, result_of(sample, "rocker"), result_of(sample, "center"), system)
    make = {"rocker": rocker_sheet, "spring": spring_sheet, "events": events_sheet}[name]
    return make(setup, result_of(sample, name), system)


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("sample", ["faulted_six", "pump_twin"])
def test_every_valve_has_its_panel_in_order(sample, name):
    figure = sheet(sample, name, "metric")
    assert isinstance(figure, Figure)
    assert [ax.get_title("left") for ax in figure.axes] == list(setup_of(sample).valves)
    assert setup_of(sample).title in figure.get_suptitle()
    for ax in figure.axes:
        measured = ax.get_title("left") != "6E"
        assert bool(ax.lines) == measured
        assert any("not measured" in each.get_text() for each in ax.texts) == (not measured)


@pytest.mark.parametrize("name", SHEETS)
def test_units_follow_the_system(name):
    for system, length in (("inch", "[in]"), ("metric", "[mm]")):
        figure = sheet("pump_twin", name, system)
        written = [figure.get_supxlabel(), figure.get_supylabel()]
        written += [each.get_title().get_text() for each in figure.legends]
        assert any(length in each for each in written)


@pytest.mark.parametrize("name", SHEETS)
def test_twelve_valves_fit_a_landscape_page_in_letters_of_nine_points(name):
    figure = sheet("plain_six", name, "inch")
    width, height = figure.get_size_inches()
    # Letter is 8.5 by 11 in, A4 8.27 by 11.69 in.
    assert width <= 11
    assert height <= 8.27
    figure.draw_without_rendering()
    for ax in figure.axes:
        written = [each for each in ax.findobj(Text) if each.get_text()]
        assert len(written) >= 2
        assert min(each.get_fontsize() for each in written) >= 9


@pytest.mark.parametrize("name", SHEETS)
def test_no_panels_words_leave_the_page_or_meet_another_panel(name):
    figure = sheet("plain_six", name, "inch")
    figure.draw_without_rendering()
    page = figure.bbox
    boxes = [ax.get_tightbbox() for ax in figure.axes]
    for box in boxes:
        assert box.x0 >= page.x0 - 1
        assert box.x1 <= page.x1 + 1
        assert box.y0 >= page.y0 - 1
        assert box.y1 <= page.y1 + 1
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            along = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert min(across, along) <= 1


@pytest.mark.parametrize("name", ["rocker", "center", "spring"])
def test_valves_are_drawn_on_one_scale(name):
    axes = [ax for ax in sheet("faulted_six", name, "inch").axes if ax.lines]
    assert len({(ax.get_xlim(), ax.get_ylim()) for ax in axes}) == 1


@pytest.mark.parametrize(
    ("ending", "start"),
    [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")],
    ids=["png", "svg", "pdf"],
)
def test_it_is_saved_the_same_each_time(tmp_path, ending, start):
    first, second = tmp_path / f"first{ending}", tmp_path / f"second{ending}"
    for path in (first, second):
        saved(sheet("pump_twin", "events", "metric"), path)
    assert first.read_bytes().startswith(start)
    assert first.read_bytes() == second.read_bytes()


def titled(title):
    return sheet("pump_twin", "spring", "metric", replace(setup_of("pump_twin"), title=title))


def test_a_long_title_is_wrapped_to_the_page():
    figure = titled("An engine of many words " * 10)
    assert "\n" in figure.get_suptitle()
    figure.draw_without_rendering()
    assert figure._suptitle.get_window_extent().width <= figure.bbox.width


def test_a_dollar_sign_in_a_title_is_a_dollar_sign(tmp_path):
    # As a formula this would not parse.
    saved(titled(r"Bought for $5 \each{ and $6"), tmp_path / "dollars.png")


def test_nothing_global_is_touched():
    code = (
        "import sys, valvetrain.questions.rocker.panels_page; "
        "assert 'matplotlib.pyplot' not in sys.modules; assert 'tkinter' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=120)
