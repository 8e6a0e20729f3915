"""The contact on the tip from above: lines, band, offset and allowance are those of the results."""

import numpy as np
import pytest
from matplotlib.patches import Circle, Polygon

from tests.questions.plotted_samples import UNIT, line_of, result_of, setup_of, words_of
from valvetrain.questions.center.tip_contact import tip_contact


def drawing(sample, valve, system="inch"):
    results = [result_of(sample, each) for each in ("rocker", "center", "positions")]
    return tip_contact(setup_of(sample), *results, valve, system=system)


def index_of(sample, valve):
    return setup_of(sample).valves.index(valve)


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize("valve", ["1E", "2E", "3I"])
def test_pad_lines_stand_at_contact_and_offset(valve, system):
    ax = drawing("faulted_six", valve, system)
    index, unit = index_of("faulted_six", valve), UNIT[system]["length"]
    offset = result_of("faulted_six", "center").offset_before.value[index]
    half = 0.5 * 0.312 * 0.0254
    contact = result_of("faulted_six", "positions").contact_x[index]
    for x, label in zip(contact, ("closed", "half lift", "full lift"), strict=True):
        wanted = [[x, offset - half], [x, offset + half]]
        np.testing.assert_allclose(line_of(ax, label) * unit, wanted, rtol=1e-9)


@pytest.mark.parametrize("valve", ["1I", "2E"])
def test_the_band_is_the_sweep(valve):
    ax = drawing("faulted_six", valve, "metric")
    index, rocker = index_of("faulted_six", valve), result_of("faulted_six", "rocker")
    (band,) = [each for each in ax.patches if isinstance(each, Polygon)]
    across = band.get_xy()[:, 0]
    assert np.ptp(across) == pytest.approx(rocker.sweep_width.value[index] * 1e3)
    assert 0.5 * (across.min() + across.max()) == pytest.approx(rocker.sweep_middle.value[index] * 1e3)
    assert band.get_hatch()


def test_the_tip_is_its_stem_less_its_chamfer():
    circles = [each for each in drawing("plain_six", "1I").patches if isinstance(each, Circle)]
    assert sorted(each.radius for each in circles) == pytest.approx([0.1405, 0.1705])


def test_offset_allowance_and_offset_after_shims():
    ax = drawing("faulted_six", "3I", "metric")
    index, center = index_of("faulted_six", "3I"), result_of("faulted_six", "center")
    assert center.moved[index]
    allowed = [each for each in ax.lines if len(each.get_ydata()) == 2 and each.get_marker() == "_"]
    limit = center.offset_limit.value[index] * 1e3
    np.testing.assert_allclose(allowed[0].get_ydata(), [-limit, limit])
    diamonds = [each for each in ax.lines if each.get_marker() == "D"]
    drawn = {each.get_markerfacecolor(): each.get_ydata()[0] for each in diamonds}
    assert drawn["black"] == pytest.approx(0.071 * 25.4)
    assert drawn["white"] == pytest.approx(center.offset_after.value[index] * 1e3)


def test_a_rocker_that_stays_has_no_mark_after_shims():
    ax = drawing("plain_six", "1I")
    assert [each.get_markerfacecolor() for each in ax.lines if each.get_marker() == "D"] == ["black"]


def test_the_whole_pad_of_every_valve_is_in_view():
    ax = drawing("faulted_six", "1I")
    assert ax.get_ylim()[1] > 0.071 + 0.5 * 0.312
    assert ax.get_aspect() == 1.0


def test_a_valve_that_was_not_measured_is_not_drawn_and_says_what_is_missing():
    ax = drawing("faulted_six", "6E")
    assert not ax.lines
    assert not ax.patches
    assert "not measured" in words_of(ax)
    assert "offset" in words_of(ax)
