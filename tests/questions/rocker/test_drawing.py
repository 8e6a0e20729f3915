"""The rocker's drawing: what is drawn is what was computed, in the unit asked for."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

from tests.questions.plotted_samples import UNIT, line_of, own_figure, result_of, setup_of, words_of
from valvetrain.questions.rocker.drawing import rocker_drawing
from valvetrain.questions.rocker.positions import rocker_positions_study
from valvetrain.questions.rocker.study import rocker_study


def drawing(sample, valve, system="inch", ax=None):
    results = (result_of(sample, "rocker"), result_of(sample, "positions"))
    return rocker_drawing(setup_of(sample), *results, valve, ax, system=system)


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize("valve", ["1I", "2E", "4E"])
def test_arms_join_socket_shaft_and_pad(valve, system):
    ax = drawing("faulted_six", valve, system)
    positions = result_of("faulted_six", "positions")
    index = positions.valves.index(valve)
    for moment, label in enumerate(("closed", "half lift", "full lift")):
        wanted = [
            [positions.socket_x[index, moment], positions.socket_y[index, moment]],
            [positions.shaft_x[index], positions.shaft_y[index]],
            [positions.pad_x[index, moment], positions.pad_y[index, moment]],
        ]
        points = line_of(ax, label) * UNIT[system]["length"]
        np.testing.assert_allclose(points, wanted, rtol=1e-9, atol=1e-12)


def test_it_is_to_scale():
    assert drawing("plain_six", "1I").get_aspect() == 1.0


def test_the_three_positions_are_told_apart_without_color():
    ax = drawing("plain_six", "1I")
    arms = [each for each in ax.lines if each.get_label() in ("closed", "half lift", "full lift")]
    assert len({each.get_linestyle() for each in arms}) == 3
    assert {each.get_color() for each in arms} == {"black"}


def test_words_stand_beside_the_tip_of_their_own_position():
    ax = drawing("plain_six", "1I", "metric")
    tips = result_of("plain_six", "positions").tip_y[0] * 1e3
    beside = {each.get_text(): each.xy[1] for each in ax.texts}
    for tip, word in zip(tips, ("closed", "half lift", "full lift"), strict=True):
        # At the chamfer's lower edge: 0.030 in.
        assert beside[word] == pytest.approx(tip - 0.030 * 25.4)


def test_sweep_and_name_are_written_in_the_unit_asked_for():
    assert "sweep 0.040 in" in words_of(drawing("faulted_six", "2E"))
    metric = words_of(drawing("faulted_six", "2E", "metric"))
    assert "sweep 1.01 mm" in metric
    assert metric.startswith("2E\n")


def test_a_valve_that_was_not_measured_is_not_drawn_and_says_what_is_missing():
    ax = drawing("faulted_six", "6E")
    assert not ax.lines
    assert not ax.patches
    assert "not measured" in words_of(ax)
    assert "stem height" in words_of(ax)


def test_without_a_pushrods_side_the_pads_side_is_still_drawn():
    setup = setup_of("plain_six")
    without = replace(
        setup,
        trains=tuple(replace(each, rocker=replace(each.rocker, socket_arm=None)) for each in setup.trains),
    )
    dial = result_of("plain_six", "rocker")
    assert np.isnan(rocker_positions_study(without, dial).socket_x).all()
    positions = rocker_positions_study(without, dial)
    ax = rocker_drawing(without, rocker_study(without), positions, "1I", system="inch")
    arm = line_of(ax, "closed")
    assert np.isnan(arm[0]).all()
    np.testing.assert_allclose(arm[2, 0] * 0.0254, positions.pad_x[0, 0])


def test_it_draws_on_the_callers_axes_and_leaves_its_labels():
    figure = Figure()
    mine = figure.subplots()
    assert drawing("plain_six", "1I", ax=mine) is mine
    assert mine.get_xlabel() == ""
    assert "[in]" in drawing("plain_six", "1I").get_xlabel()
    assert own_figure(mine) is figure


def test_a_roller_is_drawn_whole_and_a_pad_in_part():
    setup = setup_of("plain_six")
    results = result_of("plain_six", "rocker"), result_of("plain_six", "positions")
    rollers = replace(
        setup,
        trains=tuple(replace(each, rocker=replace(each.rocker, tip="roller")) for each in setup.trains),
    )

    def highest(engine):
        ax = rocker_drawing(engine, *results, "1I", system="inch")
        arcs = [each for each in ax.lines if len(each.get_xdata()) > 20]
        assert len(arcs) == 3
        return max(arcs[0].get_ydata())

    pad_y = results[1].pad_y[0, 0] / 0.0254
    assert highest(rollers) == pytest.approx(pad_y + 0.5, abs=1e-3)
    assert highest(setup) < pad_y
