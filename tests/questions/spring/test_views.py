"""The further views of springs: what is drawn is the result's."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

from tests.questions.plotted_samples import UNIT, line_of, result_of, setup_of, words_of
from valvetrain.questions.spring.nested_figure import spring_set_load
from valvetrain.questions.spring.plan_figure import before_and_after, spring_plan_page
from valvetrain.questions.spring.study import spring_study
from valvetrain.questions.spring.surge_figure import spring_surge_page, surge_diagram


def axes():
    return Figure().subplots()


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_before_and_after_are_the_results(system):
    setup, result = setup_of("faulted_six"), result_of("faulted_six", "spring")
    before, after = result.seat_load, result.seat_load_after
    ax = before_and_after(setup, before, after, "seat_load", axes(), system=system)
    for drawn, quantity in zip(ax.containers, (before, after), strict=True):
        loads = np.asarray(drawn.lines[0].get_ydata(), float) * UNIT[system]["force"]
        np.testing.assert_allclose(loads, quantity.value, rtol=1e-9)
    levels = [
        line.get_ydata()[0] * UNIT[system]["force"] for line in ax.lines if line.get_linestyle() == "--"
    ]
    limit = setup.limits["seat_load"]
    np.testing.assert_allclose(sorted(levels), [limit.low, limit.high])
    assert "not measured" in words_of(ax)


def test_the_page_says_which_shims_and_which_spring():
    figure = spring_plan_page(setup_of("faulted_six"), result_of("faulted_six", "spring"), "inch")
    words = "\n".join(words_of(ax) for ax in figure.axes)
    assert "shims -0.030 in" in words
    assert words.count("another spring") == 1


def test_every_spring_of_the_set_is_drawn_with_its_own_load():
    setup, result = setup_of("faulted_six"), result_of("faulted_six", "spring")
    ax = spring_set_load(setup, result, axes(), system="inch")
    assert len(ax.lines) == 11
    for index, valve in enumerate(setup.valves[:11]):
        line = line_of(ax, valve)
        height = result.installed_height.value[index] / UNIT["inch"]["length"]
        load = np.interp(height, line[::-1, 0], line[::-1, 1]) * UNIT["inch"]["force"]
        assert load == pytest.approx(result.seat_load.value[index], rel=1e-9)
    assert "weakest: 5I S9" in words_of(ax)


def test_harmonics_stand_at_the_speed_at_which_they_meet_the_spring():
    setup = setup_of("plain_six")
    result = spring_study(setup, result_of("plain_six", "rocker"), in_full=True)
    surge = result.surge["spring intake"]
    ax = surge_diagram(surge, axes(), system="inch")
    for speed, amplitude in line_of(ax, "harmonics"):
        order = 120.0 * surge.frequency / speed  # the cam turns once in two turns of the crank
        assert order == pytest.approx(round(order), abs=1e-6)
        expected = surge.amplitude[round(order) - 1] / UNIT["inch"]["length"]
        assert amplitude == pytest.approx(expected, rel=1e-9)
    assert line_of(ax, "redline")[0, 0] == pytest.approx(3800)


def test_without_wire_the_surge_page_says_what_is_missing():
    figure = spring_surge_page(setup_of("pump_twin"), result_of("pump_twin", "spring"), "metric")
    assert not figure.axes
    assert "wire_diameter" in "".join(text.get_text() for text in figure.texts)


def test_the_surge_page_names_nothing_that_is_known():
    words = []
    for name, changed in (("pump_twin", {}), ("plain_six", {"redline": None})):
        setup = setup_of(name)
        setup = replace(setup, engine=replace(setup.engine, **changed))
        figure = spring_surge_page(
            setup, spring_study(setup, result_of(name, "rocker"), in_full=True), "inch"
        )
        words.append(figure.texts[-1].get_text())
    assert words == [
        "not known: [spring] wire_diameter, coil_diameter, active_coils, material",
        "not known: [engine] redline",
    ]
