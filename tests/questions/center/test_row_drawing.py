"""The shaft from above: what is drawn stands where the row says, before and after."""

import pytest
from matplotlib.patches import Circle, Rectangle

from valvetrain.questions.center.row_sheet import shaft_sheet
from valvetrain.questions.center.study import centering_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup


def drawn(folder, system="inch"):
    setup = read_setup(folder)
    return shaft_sheet(setup, centering_study(setup, rocker_study(setup)), system)


def words(ax):
    return [text.get_text() for text in ax.texts]


def test_before_and_after_with_the_offset_under_each_stem(sample):
    before, after = drawn(sample("faulted_six")).axes
    assert before.get_title(loc="left") == "as it stands"
    assert after.get_title(loc="left") == "by the plan"
    assert "+0.071" in words(before)
    assert "+0.071" not in words(after)
    assert "+0.011" in words(after)
    # 6E was not measured: no stem, a question mark.
    assert sum(isinstance(patch, Circle) for patch in before.patches) == 11
    assert words(before).count("?") == 1


def test_stems_stay_where_they_are_and_shims_are_to_scale(sample):
    before, after = drawn(sample("faulted_six")).axes
    stems = [[p.center[0] for p in ax.patches if isinstance(p, Circle)] for ax in (before, after)]
    assert stems[0] == pytest.approx(stems[1])
    for ax in (before, after):
        shims = [p for p in ax.patches if isinstance(p, Rectangle) and p.get_width() == pytest.approx(0.060)]
        assert len(shims) == 24
        assert sum(bool(shim.get_hatch()) for shim in shims) == 1
    assert before.get_aspect() == 1.0


def test_metric_drawing_is_in_millimeters(sample):
    before, _ = drawn(sample("faulted_six"), "metric").axes
    assert "+1.80" in words(before)


def test_sheet_without_a_row_is_refused(sample):
    with pytest.raises(ValueError, match="no shaft"):
        drawn(sample("pump_twin"))


def test_stands_of_a_named_shaft_carry_their_number_only(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    with (folder / "setup.toml").open("a") as file:
        for name in ("front", "rear"):
            file.write(
                f'\n[[row]]\nshaft = "{name}"\nfront = ["stand"]\neach = ["I", "collar", "E", "stand"]\n'
                "stand_width = 20\ncollar_width = 6\n"
            )
    lines = (folder / "valves.csv").read_text().splitlines()
    names = ["", ";shaft", ";front", ";front", ";rear", ";rear"]
    (folder / "valves.csv").write_text("\n".join(a + b for a, b in zip(lines, names, strict=True)))
    axes = drawn(folder, "metric").axes
    titles = [ax.get_title(loc="left") for ax in axes]
    assert [title.split(",")[0] for title in titles] == ["shaft front"] * 2 + ["shaft rear"] * 2
    for ax in axes:
        assert {"1", "2"} <= set(words(ax))
        assert not any("front" in word or "rear" in word for word in words(ax))
