"""Two sheets compared: what was changed is told, what it moves follows, and nothing else."""

import numpy as np
import pytest

from valvetrain.questions.compare.study import answers, compared
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.read import read_setup

IN = 0.0254


@pytest.fixture(scope="module")
def six():
    from tests.engine_folders import engine_folder

    return answers(read_setup(engine_folder("plain_six")), "inch")


def with_values(six, values):
    return answers(changed(six.setup, values), "inch")


def test_a_sheet_and_itself(six):
    found = compared(six, six)
    assert (found.changed, found.moved, found.turned) == ((), (), ())


def test_a_spring_set_lower(six):
    found = compared(six, with_values(six, {"3E.installed_height": "1.567"}))
    assert [(each.key, each.valve) for each in found.changed] == [("spring.installed_height", "3E")]
    moved = {(each.quantity, each.valve): each for each in found.moved}
    assert ("spring.seat_load", "3E") in moved
    clearance = moved[("spring.bind_clearance", "3E")]
    assert clearance.after - clearance.before == pytest.approx(-0.036 * IN, abs=1e-9)
    # numbers of the other valves move only where they are compared with the set's middle
    others = {each.quantity for each in found.moved if each.valve not in ("3E", None)}
    assert {name.split(".")[-1].removesuffix("_after") for name in others} <= {"installed_height_deviation"}
    turned = {(each.id, each.valve): (each.before, each.after) for each in found.turned}
    assert turned[("bind_clearance", "3E")] == ("ok", "out")
    assert {valve for _, valve in turned} == {"3E"}


def test_within_the_doubt_of_two_measurements_nothing_has_moved(six):
    doubt = six.setup.trains[5].spring.installed_height.uncertainty / IN
    for away, moves in ((2.0, False), (4.0, True)):
        value = 1.603 - away * doubt
        found = compared(six, with_values(six, {"3E.installed_height": f"{value:.5f}"}))
        # the height's own difference is known to sqrt(2) u: 2.83 u with k = 2
        assert (("spring.installed_height", "3E") in {(m.quantity, m.valve) for m in found.moved}) is moves


def test_a_doubt_that_both_share_hides_nothing(six):
    # every lift is known no better than the pad arm lets it; a lash of 0.003 more still takes that much of it
    found = compared(six, with_values(six, {"3E.lash": "0.0235"}))
    lift = next(each for each in found.moved if (each.quantity, each.valve) == ("rocker.net_lift", "3E"))
    assert lift.after - lift.before == pytest.approx(-0.003 * IN, rel=0.1)  # and closes earlier
    assert abs(lift.after - lift.before) < 2 * np.hypot(lift.before_uncertainty, lift.after_uncertainty)


def test_what_becomes_unknown_is_told(six):
    found = compared(six, with_values(six, {"3E.lash": None}))
    assert any(np.isnan(each.after) and np.isfinite(each.before) for each in found.moved)
    assert ("ok", "unmeasured") in {(each.before, each.after) for each in found.turned}


def test_the_command(sample, document, run, tmp_path):
    one = sample()
    other = one.rename(tmp_path / "other")
    one = sample()
    assert run("set", other, "3E.installed_height=1.567").exit_code == 0
    told = document("compare", one, other)["results"]
    (changed_,) = told["changed"]
    assert changed_["before"] == {
        "value": pytest.approx(1.603),
        "unit": "in",
        "u": pytest.approx(0.000984, rel=1e-2),
    }
    assert ("bind_clearance", "3E", "ok", "out") in {
        (each["id"], each["valve"], each["before"], each["after"]) for each in told["turned"]
    }
    back = document("compare", other, "--back", "1")["results"]
    assert back["changed"] == told["changed"]
    assert back["turned"] == told["turned"]
    text = run("compare", other).output
    assert "Verdicts that turned" in text
    assert "3E" in text
    result = run("compare", one)
    assert result.exit_code == 2
    assert "holds no change, and 1 were asked for" in result.output
    assert run("compare", one, other, "--back", "1").exit_code == 2


def test_two_engines_of_different_size(sample, document):
    told = document("compare", sample(), sample("pump_twin"))["results"]
    assert "6E" in told["left_out"]
    assert {each["valve"] for each in told["moved"]} <= {"1I", "1E", "2I", "2E", None}
