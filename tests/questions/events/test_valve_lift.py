"""Valve lift against crank angle: curves and marks are those of the results."""

import re

import numpy as np
import pytest

from tests.questions.plotted_samples import UNIT, line_of, result_of, setup_of, words_of
from valvetrain.questions.events.study import events_study
from valvetrain.questions.events.valve_lift import valve_lift


def drawing(sample, valve, system="inch", events=None):
    found = events or result_of(sample, "events")
    return valve_lift(setup_of(sample), found, result_of(sample, "path"), valve, system=system)


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize(("sample", "valve"), [("plain_six", "3E"), ("pump_twin", "1I")])
def test_curves(sample, valve, system):
    ax, path = drawing(sample, valve, system), result_of(sample, "path")
    index = path.valves.index(valve)
    for label, lift in (
        ("at zero lash", path.lift_at_zero_lash[index]),
        ("at the lash set", path.lift_at_set_lash[index]),
    ):
        angle, drawn = line_of(ax, label).T
        np.testing.assert_allclose(angle, path.crank_angle[index] * 180 / np.pi, rtol=1e-12)
        np.testing.assert_allclose(drawn * UNIT[system]["length"], lift, rtol=1e-9)


@pytest.mark.parametrize("valve", ["1I", "1E"])
def test_marks_stand_at_the_events_where_the_valve_leaves_its_seat(valve):
    ax, events = drawing("pump_twin", valve), result_of("pump_twin", "events")
    index = events.valves.index(valve)
    opens, closes = np.degrees(events.opens.value[index]), np.degrees(events.closes.value[index])
    # The overlap's top dead center is 0; the bottom dead centers are half a turn to either side.
    wanted = (-opens, 180 + closes) if valve == "1I" else (-180 - opens, closes)
    for label, angle in zip(("opens", "closes"), wanted, strict=True):
        ((at, lift),) = line_of(ax, label)
        assert at == pytest.approx(angle)
        assert lift == pytest.approx(0.0, abs=2e-4)


def test_marks_stand_at_the_checking_lift_on_the_curve():
    events = events_study(setup_of("plain_six"), 0.050 * 0.0254, "valve")
    ax = drawing("plain_six", "2I", events=events)
    for label in ("opens", "closes"):
        assert line_of(ax, label)[0, 1] == pytest.approx(0.050, abs=1e-4)


def test_angles_are_written_as_the_trade_counts_them():
    words, events = words_of(drawing("pump_twin", "1I")), result_of("pump_twin", "events")
    for quantity, side in ((events.opens, "BTDC"), (events.closes, "ABDC")):
        written = re.search(rf"(\d+(?:\.\d+)?)°\n{side}", words)
        assert written is not None
        angle, doubt = np.degrees(quantity.value[0]), np.degrees(quantity.uncertainty[0])
        # To the digits that the doubt of a card's lobe leaves.
        digits = len(written[1].partition(".")[2])
        assert float(written[1]) == pytest.approx(angle, abs=0.5 * 10.0**-digits + 1e-9)
        assert (digits == 0) == (doubt >= 1)


def test_an_event_beyond_its_dead_center_is_counted_from_the_other_side():
    # At a high checking lift the intake opens after top and closes before bottom dead center.
    events = events_study(setup_of("pump_twin"), 4e-3, "valve")
    assert events.opens.value[0] < 0
    words = words_of(drawing("pump_twin", "1I", events=events))
    opens, closes = abs(np.degrees(events.opens.value[0])), np.degrees(events.closes.value[0])
    assert f"{opens:.1f}°\nATDC" in words or f"{opens:.0f}°\nATDC" in words
    assert ("\nBBDC" if closes < 0 else "\nABDC") in words


def test_a_checking_lift_that_is_never_reached_is_said():
    events = events_study(setup_of("pump_twin"), 20e-3, "valve")
    ax = drawing("pump_twin", "1I", events=events)
    assert words_of(ax).count("not\nknown") == 2
    assert not [each for each in ax.lines if each.get_label() in ("opens", "closes")]


def test_dead_centers_within_the_plot_are_named():
    words = words_of(drawing("plain_six", "1E"))
    assert "TDC" in words.split("\n")
    assert "BDC" in words.split("\n")


def test_a_valve_that_was_not_measured_is_not_drawn_and_says_what_is_missing():
    ax = drawing("faulted_six", "6E")
    assert not ax.lines
    assert "not measured" in words_of(ax)
    assert "lash" in words_of(ax)
