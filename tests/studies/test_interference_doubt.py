"""The least clearances carry the sheet's uncertainties: against whole studies of changed sheets."""

import re

import numpy as np
import pytest

from valvetrain.checks.interference_checks import interference_checks
from valvetrain.setup.read import read_setup
from valvetrain.studies.interference_study import interference_study
from valvetrain.studies.rocker_study import rocker_study

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
