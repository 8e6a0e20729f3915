"""Spring load against height: line and marks are the result's, the tester's readings those of the sheet."""

import csv
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.patches import Rectangle

from tests.engine_folders import engine_folder
from tests.questions.plotted_samples import UNIT, line_of, result_of, setup_of, words_of
from valvetrain.questions.spring.load_figure import spring_load
from valvetrain.questions.spring.study import spring_study


def drawing(sample, valve, system="inch"):
    return spring_load(setup_of(sample), result_of(sample, "spring"), valve, system=system)


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize(("sample", "valve"), [("faulted_six", "5I"), ("pump_twin", "2E")])
def test_seat_and_open_marks(sample, valve, system):
    ax, result = drawing(sample, valve, system), result_of(sample, "spring")
    index, unit = result.valves.index(valve), UNIT[system]
    ((height, load),) = line_of(ax, "seat") * [unit["length"], unit["force"]]
    assert height == pytest.approx(result.installed_height.value[index])
    assert load == pytest.approx(result.seat_load.value[index])
    ((height, load),) = line_of(ax, "open") * [unit["length"], unit["force"]]
    net = result_of(sample, "rocker").net_lift.value[index]
    assert height == pytest.approx(result.installed_height.value[index] - net)
    assert load == pytest.approx(result.open_load.value[index])


def test_the_line_has_the_rate_and_ends_at_coil_bind():
    ax = drawing("plain_six", "1I")
    line = line_of(ax, "line")
    rate = (line[1, 1] - line[0, 1]) / (line[0, 0] - line[1, 0])
    assert rate == pytest.approx(result_of("plain_six", "spring").rate.value[0] / (4.4482216152605 / 0.0254))
    assert line[1, 0] == pytest.approx(1.165)
    (bind,) = [each for each in ax.patches if isinstance(each, Rectangle)]
    assert bind.get_x() + bind.get_width() == pytest.approx(1.165)
    assert bind.get_hatch()


def test_the_testers_readings_are_those_of_the_table():
    with (engine_folder("plain_six") / "springs.csv").open() as file:
        rows = [row for row in csv.reader(file) if row and row[0] == "S1"]
    tested = line_of(drawing("plain_six", "1I"), "tested")
    np.testing.assert_allclose(tested, [[float(row[1]), float(row[2])] for row in rows], rtol=1e-9)


def test_heights_fall_to_the_right_as_the_valve_opens():
    left, right = drawing("plain_six", "1I").get_xlim()
    assert left > right


def test_loads_and_shims_are_written():
    words = words_of(drawing("faulted_six", "1E"))
    assert "seat 83 lbf" in words
    assert "to coil bind 0.038 in" in words


def test_shims_are_told_by_their_sum():
    setup, result = setup_of("faulted_six"), result_of("faulted_six", "spring")
    index = result.valves.index("1E")
    shims = list(result.shims)
    for stack, said in (
        ((0.015,), "shims to fit 0.0150 in"),
        ((0.030, 0.015), "2 shims to fit 0.0450 in"),
    ):
        shims[index] = tuple(each * 0.0254 for each in stack)
        words = words_of(spring_load(setup, replace(result, shims=tuple(shims)), "1E", system="inch"))
        assert said in words


def test_a_valve_that_was_not_measured_is_not_drawn_and_says_what_is_missing():
    ax = drawing("faulted_six", "6E")
    assert not ax.lines
    assert not ax.patches
    assert "not measured" in words_of(ax)
    assert "installed height" in words_of(ax)


def test_an_unknown_solid_height_is_said_and_no_bind_drawn():
    setup = setup_of("pump_twin")
    trains = tuple(replace(each, spring=replace(each.spring, solid_height=None)) for each in setup.trains)
    without = replace(setup, trains=trains)
    ax = spring_load(without, spring_study(without, result_of("pump_twin", "rocker")), "1I", system="metric")
    assert not ax.patches
    assert "solid height not measured" in words_of(ax)
    assert line_of(ax, "line")[1, 0] == pytest.approx(line_of(ax, "open")[0, 0])
