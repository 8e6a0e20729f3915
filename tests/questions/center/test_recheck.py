"""The shaft measured again after assembly: done, one small change, or what does not fit (by hand)."""

import pytest

from valvetrain.parts.measured import Measured
from valvetrain.questions.center.recheck import recheck_study
from valvetrain.questions.center.study import centering_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup
from valvetrain.setup.tables.recheck import Reading, read_recheck

IN = 0.0254


def rechecked(folder, readings):
    setup = read_setup(folder)
    rocker = rocker_study(setup)
    first = centering_study(setup, rocker)
    return setup, first, recheck_study(setup, rocker, first, readings)


def read(offset, spread=30e-6, gap=None):
    gap = None if gap is None else Measured(gap * IN, 10e-6, "test")
    return Reading(Measured(offset * IN, spread, "test"), gap)


def test_done_when_the_readings_agree(sample):
    setup, first, again = rechecked(sample("faulted_six"), {"3I": read(0.0115)})
    assert again.done
    assert again.now.shafts.plan.changes == 0
    # The estimate is the mean of forecast and reading, weighted by 1/u^2.
    index = setup.valves.index("3I")
    u = first.offset_after.uncertainty[index]
    expected = (0.011 / u**2 + 0.0115 / 30e-6**2) / (1 / u**2 + 1 / 30e-6**2) * IN
    assert again.now.offset_before.value[index] == pytest.approx(expected, rel=1e-9)
    assert again.now.offset_before.uncertainty[index] == pytest.approx((1 / u**2 + 1 / 30e-6**2) ** -0.5)


def test_one_small_change_where_one_rocker_does_not_agree(sample):
    setup, _, again = rechecked(sample("faulted_six"), {"2E": read(0.056), "3I": read(0.011)})
    assert not again.done
    index = setup.valves.index("2E")
    assert again.agrees[index] is False
    assert again.agrees[setup.valves.index("3I")] is True
    assert again.now.offset_before.value[index] == pytest.approx(0.056 * IN)
    assert [v for v, moved in zip(setup.valves, again.now.moved, strict=True) if moved] == ["2E"]
    assert again.now.offset_after.value[index] == pytest.approx((0.056 - 0.060) * IN)


@pytest.mark.parametrize(
    ("offset", "side", "kind"), [(0.056, "in front", "moved"), (-0.034, "behind", "extra")]
)
def test_shim_on_the_wrong_side_or_one_too_many_is_told(sample, offset, side, kind):
    # Forecast of 2E: -0.004. A shim t on the other side moves it by t, one too many in front by t / 2.
    _, _, again = rechecked(sample("faulted_six"), {"2E": read(offset)})
    (suspect,) = again.suspects
    assert (suspect.valve, suspect.side, suspect.kind) == ("2E", side, kind)
    assert suspect.shim == pytest.approx(0.060 * IN)


def test_new_gap_takes_the_place_of_the_old_one(sample):
    setup, _, again = rechecked(sample("faulted_six"), {"3I": read(0.011, gap=0.0050)})
    index = setup.valves.index("3I")
    assert again.now.end_clearance_before.value[index] == pytest.approx(0.0050 * IN)
    # What was not read again stays as foretold.
    assert again.now.end_clearance_before.value[0] == pytest.approx(0.0056 * IN)


def test_drawer_is_emptied_by_the_first_plan(sample, edited):
    folder = sample("faulted_six")
    edited(
        folder / "setup.toml",
        ('each = ["shim 0.060", "I", "shim 0.060"', 'each = ["spacer 0.060", "I", "spacer 0.060"'),
        ("spacing = [1.625] ", "# spacing = [1.625] "),
        ("[0.005, 0.010, 0.015, 0.020, 0.030, 0.060]", "[{ thickness = 0.060, count = 1 }]"),
    )
    edited(folder / "valves.csv", ("3I,S5,0.071,0.0036", "3I,S5,-0.071,0.0636"))
    setup, first, again = rechecked(folder, {"3I": read(-0.041), "5I": read(-0.071, gap=0.0645)})
    assert [d.taken for d in first.shafts.drawn] == [1]
    # 5I would need the shim that is used up.
    assert again.now.reason[setup.valves.index("5I")].startswith("Bay stand 5 to collar 5: no plan")


def test_sheet_without_a_row_is_rechecked_rocker_by_rocker(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "valves.csv", ("1I;0,12;0,11", "1I;1,90;1,20"))
    setup, first, _ = rechecked(folder, {"2I": read(0.0)})
    assert first.moved[0]
    offset = first.offset_after.value[0] / IN
    _, _, again = rechecked(folder, {"1I": read(offset, gap=first.end_clearance.value[0] / IN)})
    assert not again.now.moved[0]
    assert again.done
    assert setup.shaft_rows == ()


def test_gaps_that_contradict_each_other_name_the_bay(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    with (folder / "setup.toml").open("a") as file:
        file.write(
            '\n[[row]]\nfront = ["stand"]\neach = ["I", "spacer 10", "E", "stand"]\nstand_width = 20\n'
        )
    edited(folder / "valves.csv", ("2E;0,25;0,14", "2E;0,25;0,11"))
    with pytest.raises(SheetError, match=r"bay stand 1 to stand 2.*contradict"):
        rechecked(folder, {"1I": read(0.0, gap=0.004), "1E": read(0.0, gap=0.009)})


def test_table_as_a_spreadsheet_writes_it(tmp_path):
    path = tmp_path / "again.csv"
    path.write_text("\ufeffvalve;offset [mm];end_clearance\n1I;0,25;\n1E;;0,10\n")
    found = read_recheck(path, ("1I", "1E"), "metric")
    assert found["1I"].offset.value == pytest.approx(0.25e-3)
    assert found["1I"].end_clearance is None
    assert found["1E"].offset is None
