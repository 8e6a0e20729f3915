"""Symbolic sensitivities against finite differences of the whole linkage."""

import numpy as np
import pytest

from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop_and_ratio, swung
from valvetrain.mechanics.rocker.stand_shims import shim_effect
from valvetrain.questions.fit.linkage_partials import PARAMETERS
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.questions.sensitivity.study import STEPS, sensitivity_study
from valvetrain.setup.read import read_setup


@pytest.fixture
def leaning(sample, edited):
    """The sample with a leaning stand and tappet."""
    folder = sample("plain_six")
    edited(
        folder / "setup.toml", ("stand_angle = 0.0", "stand_angle = 8.0"), ("angle = 0.0\n", "angle = 4.0\n")
    )
    setup = read_setup(folder)
    rocker = rocker_study(setup)
    return rocker, sensitivity_study(setup, rocker)


def test_stand_shim_against_the_whole_linkage(leaning):
    rocker, result = leaning
    side, step, row = rocker.side, 2e-6, list(STEPS).index("stand_shim")
    up, down = (
        shim_effect(side.closed, way * step, tappet_lift=side.rows["lobe.lift"], stand_angle=side.stand_angle)
        for way in (1.0, -1.0)
    )
    assert result.gross_lift[row] == pytest.approx((up.gross_lift - down.gross_lift) / (2 * step), rel=1e-5)
    slope = (up.sweep.at_full_lift - down.sweep.at_full_lift) / (2 * step)
    assert result.contact[row] == pytest.approx(slope, rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("name", [name for name in STEPS if name in PARAMETERS])
def test_dimension_against_finite_differences(name, leaning):
    rocker, result = leaning
    closed, lift = rocker.side.closed, rocker.side.rows["lobe.lift"][:, np.newaxis]
    inputs = {key: getattr(closed, key) for key in PARAMETERS}
    step = 1e-6
    found = []
    for way in (1.0, -1.0):
        after = closed_position(**(inputs | {name: inputs[name] + way * step}))
        drop, ratio = pad_drop_and_ratio(after, lift)
        found.append((drop[..., 0], swung(after, lift).contact_x[..., 0], ratio[..., 0]))
    for place, values in enumerate((result.gross_lift, result.contact, result.ratio)):
        slope = (found[0][place] - found[1][place]) / (2 * step)
        assert values[list(STEPS).index(name)] == pytest.approx(slope, rel=1e-5, abs=2e-6)


def test_lobe_lift_is_worth_the_ratio(leaning):
    rocker, result = leaning
    ratio = pad_drop_and_ratio(rocker.side.closed, rocker.side.rows["lobe.lift"][:, np.newaxis])[1][..., 0]
    assert result.gross_lift[list(STEPS).index("tappet_lift")] == pytest.approx(ratio, rel=1e-9)
