"""The least clearances carry the sheet's uncertainties: against whole studies of changed sheets."""

import re

import numpy as np
import pytest

from valvetrain.questions.interference.checks import interference_checks
from valvetrain.questions.interference.study import interference_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup

IN = 0.0254


def studied(folder):
    setup = read_setup(folder)
    return setup, interference_study(setup, rocker_study(setup))


def put(folder, key, value):
    path = folder / "setup.toml"
    text, count = re.subn(rf"^{key} = .*$", f"{key} = {value}", path.read_text(), count=1, flags=re.M)
    assert count == 1
    path.write_text(text)


@pytest.mark.parametrize(
    ("key", "label", "clearance", "value", "doubt"),
    [
        ("rocker_depth", "shapes.rocker_depth", "rocker_to_retainer", 0.14, 0.004),
        ("stand_top", "shapes.stand_top", "rocker_to_stand", 0.75, 0.004),
        ("seal_diameter", "shapes.seal_diameter", "retainer_to_seal", 0.50, 0.004),
        ("retainer_to_seal", "spring.retainer_to_seal", "retainer_to_seal", 0.52, 0.004),
        ("height", "shaft.height", "rocker_to_stand", 0.313, 0.004),
        # A longer arm opens the valve farther: its part in the net lift goes with it.
        ("pad_arm", "rocker.pad_arm", "retainer_to_seal", 1.270, 0.002),
        ("socket_arm", "rocker.socket_arm", "retainer_to_seal", 0.800, 0.002),
        ("height", "shaft.height", "retainer_to_seal", 0.313, 0.004),
    ],
)
def test_contribution_is_the_move_of_a_whole_study(key, label, clearance, value, doubt, sample):
    folder = sample()
    put(folder, key, f'"{value} +/- {doubt}"')
    _, base = studied(folder)
    found = getattr(base, clearance)
    put(folder, key, f'"{value + doubt} +/- {doubt}"')
    _, moved = studied(folder)
    shift = getattr(moved, clearance).value[0] - found.value[0]
    assert found.contributions[label][0] == pytest.approx(shift, abs=2e-3 * doubt * IN)


def test_seal_is_as_unsure_as_gap_and_net_lift(sample):
    # Derived: the clearance is the gap on the base circle less the net lift, with all that moves it.
    setup = read_setup(sample())
    rocker = rocker_study(setup)
    found = interference_study(setup, rocker).retainer_to_seal
    gap = setup.column("spring", "retainer_to_seal")
    assert found.value == pytest.approx(gap.value - rocker.net_lift.value)
    assert found.uncertainty == pytest.approx(np.hypot(gap.uncertainty, rocker.net_lift.uncertainty))
    for key, part in rocker.net_lift.contributions.items():
        assert found.contributions[key] == pytest.approx(-part, abs=1e-9)


def test_every_contribution_is_a_key_of_the_sheet(sample):
    _, base = studied(sample())
    for name in ("rocker_to_retainer", "retainer_to_seal", "rocker_to_stand"):
        assert all("." in key for key in getattr(base, name).contributions)


def test_an_outline_is_as_sure_as_the_caliper_of_the_sheet(sample):
    folder = sample()
    path = folder / "setup.toml"
    (folder / "seal.csv").write_text("x,y\n-0.25,-1.5\n0.25,-1.5\n0.25,-0.9\n-0.25,-0.9\n")
    path.write_text(path.read_text().replace("[shapes]", '[shapes]\nseal_outline = "seal.csv"'))
    _, base = studied(folder)
    usual = base.retainer_to_seal.contributions["shapes.seal_outline"]
    path.write_text(path.read_text() + "\n[instruments]\ncaliper = 0.005\n")
    _, coarse = studied(folder)
    own = coarse.retainer_to_seal.contributions["shapes.seal_outline"]
    assert own == pytest.approx(np.full(12, 0.005 * IN))
    assert (own > usual).all()
    assert coarse.shapes == ("retainer simple, seal by its outline, stand simple, rocker simple",) * 12


def test_uncertainty_is_the_root_of_the_squares(sample):
    _, base = studied(sample())
    for name in ("rocker_to_retainer", "retainer_to_seal", "rocker_to_stand"):
        quantity = getattr(base, name)
        total = np.sqrt(sum(part**2 for part in quantity.contributions.values()))
        assert (total > 0).all()
        assert quantity.uncertainty == pytest.approx(total)


def test_a_clearance_near_its_limit_is_unsure(sample):
    folder = sample()
    _, base = studied(folder)
    low = base.retainer_to_seal.value[0] + 0.5 * base.retainer_to_seal.uncertainty[0]
    path = folder / "setup.toml"
    path.write_text(
        path.read_text().replace("[limits]", f"[limits]\nretainer_to_seal = {{ low = {low / IN} }}")
    )
    limits = read_setup(folder).limits
    if "retainer_to_seal" not in limits:
        pytest.fail("the limit has another name")
    checks = interference_checks(read_setup(folder), base, "inch")
    own = [each for each in checks if each.id == "retainer_to_seal" and each.valve == "1I"]
    assert [each.verdict for each in own] == ["unsure"]
