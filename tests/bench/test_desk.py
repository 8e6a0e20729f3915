"""A sheet on the bench: entries go into its files, and what others write is taken up."""

import pytest

from valvetrain.bench.desk import Desk
from valvetrain.bench.measurables import allowed_key
from valvetrain.bench.view import state
from valvetrain.questions.compare.study import answers
from valvetrain.setup.faults import SheetError
from valvetrain.setup.read import read_setup

IN = 0.0254


@pytest.fixture
def desk(sample):
    desk = Desk(sample())
    desk.refresh()
    return desk


def files_of(desk):
    return {path.name: path.read_bytes() for path in desk.path.iterdir()}


def test_a_value_goes_into_the_file_and_the_answer_follows(desk):
    before = state(desk)
    assert desk.write("3E.installed_height", ["1.567"], "1.603", sure=True).conflict is None
    assert read_setup(desk.path).trains[5].spring.installed_height.value == pytest.approx(1.567 * IN)
    after = state(desk)
    assert after["version"] > before["version"]
    row = next(each for each in after["grid"] if each["name"] == "spring")
    assert row["cells"][5] == "out"
    assert any("3E" in each["valves"] for each in after["findings"])
    assert after["journal"]["entries"][0]["words"] == "3E installed height 1.603 -> 1.567"


def test_an_unlikely_value_is_asked_about_first(desk):
    files = files_of(desk)
    found = desk.write("3E.installed_height", ["1.063"], "1.603")
    assert found.unlikely.meant == "1.603"
    assert files_of(desk) == files
    desk.write("3E.installed_height", ["1.40"], "1.603", sure=True)
    assert "1.40" in (desk.path / "valves.csv").read_text()


def test_two_edits_of_one_value(desk, edited):
    edited(desk.path / "valves.csv", ("1.603", "1.605"))
    found = desk.write("3E.installed_height", ["1.601"], "1.603")
    assert (found.conflict.now, found.conflict.yours) == ("1.605", "1.601")
    assert "1.605" in (desk.path / "valves.csv").read_text()
    assert desk.write("3E.installed_height", ["1.601"], "1.605").conflict is None
    # both mean the same: nothing to ask
    assert desk.write("3E.installed_height", ["1.601"], "1.603").conflict is None


def test_an_edit_elsewhere_is_taken_up_and_kept(desk, edited):
    edited(desk.path / "valves.csv", ("0.0210,0.2598", "0.0225,0.2598"), ("# Invented", "# Mine, invented"))
    desk.write("3E.offset", ["0.004"], "-0.007")
    text = (desk.path / "valves.csv").read_text()
    assert "0.0225,0.2598" in text
    assert "# Mine, invented" in text
    assert desk.setup.trains[1].lash.lash.value == pytest.approx(0.0225 * IN)


def test_while_the_files_have_faults_nothing_is_written(desk, edited):
    sheet = desk.path / "setup.toml"
    whole = sheet.read_text()
    sheet.write_text(whole[: len(whole) // 2] + "\n[shaft")
    told = state(desk)
    assert told["faults"]
    assert told["grid"]  # the last answers, which say that they may be old
    files = files_of(desk)
    with pytest.raises(SheetError):
        desk.write("3E.lash", ["0.02"], "0.0205")
    assert files_of(desk) == files
    sheet.write_text(whole)
    assert state(desk)["faults"] == []


def test_could_not_measure_leaves_a_blank(desk):
    desk.write("3E.lash", None, "0.0205")
    assert desk.setup.trains[5].lash.lash is None
    row = next(each for each in state(desk)["grid"] if each["name"] == "lash")
    assert row["cells"][5] == "unmeasured"


FILES = ("tables.valves", "lobe.intake.table", "spring.tests", "rocker.pad_outline", "oil.network")
OTHERS = ("sheet.units", "engine.cylinders", "row.1.front", "3E.valve", "3E.nothing", "nothing.nothing")


@pytest.mark.parametrize("key", [*FILES, *OTHERS])
def test_no_file_is_named_from_the_page(desk, key):
    assert not allowed_key(key)
    files = files_of(desk)
    for act in (lambda: desk.write(key, ["../../etc/passwd"], None), lambda: desk.keep({key: "x"}),
                lambda: desk.tried({key: "x"})):  # fmt: skip
        with pytest.raises(SheetError, match="is not changed at the bench"):
            act()
    assert files_of(desk) == files


def test_tried_and_kept(desk):
    files = files_of(desk)
    found = desk.tried({"3E.installed_height": "1.567"})
    assert ("bind_clearance", "3E") in {(each.id, each.valve) for each in found.turned}
    assert files_of(desk) == files
    desk.keep({"3E.installed_height": "1.567"})
    assert state(desk)["journal"]["entries"][0]["words"] == "3E installed height 1.603 -> 1.567"


def test_a_stand_shim_kept_answers_as_it_was_tried(desk):
    tried = desk.tried({"shaft.stand_shim": "0.030"})
    desk.keep({"shaft.stand_shim": "0.030"})
    assert desk.setup.trains[0].shaft.height.value == pytest.approx(0.343 * IN, abs=1e-7)
    sweep = next(each for each in tried.moved if each.quantity == "rocker.sweep_width")
    index = desk.setup.valves.index(sweep.valve)
    # but for the adjuster, whose place in the rocker is not written
    assert desk.answers.results["rocker"].sweep_width.value[index] == pytest.approx(sweep.after, rel=0.06)
    assert abs(sweep.after - sweep.before) > 0.2 * sweep.before


def test_answered_at_once_and_then_as_check_does(sample):
    desk = Desk(sample(), quick=True)
    desk.refresh()
    assert desk.settled
    desk.write("3E.installed_height", ["1.609"], "1.603", sure=True)
    assert not state(desk)["settled"]
    at_once = desk.answers
    version = desk.version
    desk.settle(after=60.0)  # it was changed just now
    assert desk.answers is at_once
    desk.settle()
    assert desk.settled
    assert desk.version == version + 1
    wanted = answers(read_setup(desk.path), "inch")
    for name, own in wanted.checks.items():
        found = desk.answers.checks[name]
        assert [(each.id, each.valve, each.verdict, each.advice) for each in found] == [
            (each.id, each.valve, each.verdict, each.advice) for each in own
        ]
    # to first order the values are the same already
    for name, own in at_once.checks.items():
        for one, other in zip(own, wanted.checks[name], strict=True):
            assert one.value == pytest.approx(other.value, nan_ok=True, rel=1e-12)


def test_back_and_forth(desk):
    files = files_of(desk)
    desk.write("3E.offset", ["0.004"], "-0.007")
    desk.write("3E.lash", ["0.0215"], "0.0205")
    desk.take_back()
    desk.take_back()
    left = files_of(desk)
    assert {name: left[name] for name in files} == files
    desk.make_again()
    assert desk.setup.trains[5].station.offset.value == pytest.approx(0.004 * IN)
