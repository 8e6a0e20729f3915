"""Uncertainty of every study: first order, correlations, Monte Carlo, budget."""

import dataclasses

import numpy as np
import pytest

from tests.engine_folders import engine_folder
from valvetrain.answers.budget_shares import named_quantities, shares
from valvetrain.answers.quantity import computed
from valvetrain.answers.simulation import simulating
from valvetrain.parts.correlation import Correlation
from valvetrain.questions.fit.linkage_partials import PARAMETERS, linkage_propagated
from valvetrain.questions.rocker.core import rocker_core
from valvetrain.questions.rocker.study import rocker_quantities, rocker_study
from valvetrain.setup.linkage_columns import height_over_tip
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Column


@pytest.fixture(scope="module")
def setup():
    return read_setup(engine_folder("plain_six"))


@pytest.fixture(scope="module")
def study(setup):
    return rocker_study(setup)


def test_first_order_of_the_study_is_that_of_the_symbolic_partials(setup, study):
    rows = study.side.rows
    keys = {
        "setback": "shaft.setback",
        "height": "shaft.height",
        "pad_arm": "rocker.pad_arm",
        "pad_radius": "rocker.pad_radius",
        "socket_arm": "rocker.socket_arm",
        "arm_angle": "rocker.arm_angle",
        "lash": "lash.lash",
        "pushrod_planar_length": "pushrod.length",
        "tappet_setback": "tappet.setback",
        "tappet_angle": "tappet.angle",
    }
    values = {name: rows[keys[name]] for name in PARAMETERS} | {"height": height_over_tip(rows)}
    doubt = {name: setup.column(*keys[name].split(".")).uncertainty for name in PARAMETERS}
    # The height over a tip carries the doubt of its own stem height and of the reference.
    stems = setup.column("valve", "stem_height").uncertainty
    reference = setup.column("shaft", "reference_stem_height").uncertainty
    doubt["height"] = np.sqrt(doubt["height"] ** 2 + stems**2 + reference**2)
    lift = rows["lobe.lift"][:, np.newaxis]
    doubt["tappet_lift"] = setup.column("lobe", "measured_lift").uncertainty[:, np.newaxis]
    assert np.all(doubt["tappet_lift"] > 0.0)
    exact = linkage_propagated(values, doubt, lift)
    assert study.gross_lift.uncertainty == pytest.approx(exact.uncertainty["pad_drop"][:, 0], rel=2e-4)
    # Contact at full lift follows from the net lift, so the lash counts twice over; the rest must agree.
    for name in ("setback", "pad_arm", "arm_angle"):
        mine = study.gross_lift.contributions.get(keys[name], np.zeros(12))
        assert mine == pytest.approx(exact.contributions["pad_drop"][name][:, 0], rel=1e-3, abs=1e-10)


def test_monte_carlo_agrees_with_first_order_where_nothing_bends(setup, study):
    with simulating(40_000, 3):
        drawn = rocker_study(setup)
    for name in ("gross_lift", "net_lift", "mean_ratio", "sweep_middle", "ratio_at_half_lift"):
        first, many = getattr(study, name), getattr(drawn, name)
        assert many.value == pytest.approx(first.value, rel=1e-12)
        # 40000 draws know a deviation to 0.35 % (5000 to 1 %); four of those.
        assert many.uncertainty == pytest.approx(first.uncertainty, rel=0.05)
        assert (many.high - many.low) == pytest.approx(2 * 1.96 * first.uncertainty, rel=0.06)
    # Near its least the sweep cannot fall: without being asked for draws the study takes a few itself.
    for name in ("sweep_width", "sweep_share", "chamfer_distance"):
        few, many = getattr(study, name), getattr(drawn, name)
        assert np.all(np.isfinite(few.high)), name
        assert few.uncertainty == pytest.approx(many.uncertainty, rel=0.05), name
        assert np.abs(few.high - many.high) / many.uncertainty == pytest.approx(0.0, abs=0.25), name


def test_draws_are_fixed_by_the_seed(setup):
    found = []
    for seed in (1, 1, 2):
        with simulating(500, seed):
            found.append(rocker_study(setup).gross_lift.uncertainty)
    assert found[0] == pytest.approx(found[1], rel=0, abs=0)
    assert np.all(found[0] != found[2])


def test_the_short_way_gives_the_same_numbers(study):
    rows = {key: value[np.newaxis] for key, value in study.side.rows.items()}
    whole = rocker_quantities(rows, np.zeros(12, dtype=bool))
    for name, values in rocker_core(rows).items():
        assert values == pytest.approx(whole[name], rel=1e-12), name


def difference(rows):
    return {"difference": rows["shaft.setback"] - rows["rocker.pad_arm"]}


@pytest.mark.parametrize("factor", [0.0, 0.9, -0.5])
def test_correlated_inputs(factor):
    together = Correlation(("shaft.setback", "rocker.pad_arm"), ((1.0, factor), (factor, 1.0)))
    value, spread = np.array([1.0, 2.0]), np.array([0.3, 0.4])
    column = Column(value, spread, ("", ""), together)
    inputs = {"shaft.setback": column, "rocker.pad_arm": dataclasses.replace(column, uncertainty=spread / 2)}
    expected = np.sqrt(spread**2 * (1.25 - factor))  # a^2 + (a/2)^2 - 2 r a a/2
    one = computed(difference, inputs, {"difference": "length"})["difference"]
    assert one.uncertainty == pytest.approx(expected, rel=1e-9)
    assert sum(each.share for each in shares(one, 1)) == pytest.approx(1.0)
    with simulating(100_000, 5):
        many = computed(difference, inputs, {"difference": "length"})["difference"]
    assert many.uncertainty == pytest.approx(expected, rel=0.015)


def test_shares_of_every_budget_add_up_to_one(study):
    counted = 0
    for name, quantity in named_quantities(study):
        for place in (0, 11):
            parts = shares(quantity, place)
            if parts:
                counted += 1
                assert sum(one.share for one in parts) == pytest.approx(1.0), name
                squares = sum(one.part**2 for one in parts)
                assert np.sqrt(squares) == pytest.approx(quantity.uncertainty[place], rel=1e-9), name
    assert counted > 30
