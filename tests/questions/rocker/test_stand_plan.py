"""The stand shim of a shaft: against brute force, for valves that stand apart, two shafts, tilted stands."""

import numpy as np
import pytest

from valvetrain.mechanics.rocker.sweep import sweep
from valvetrain.questions.rocker.cures import cures_of
from valvetrain.questions.rocker.shaft_heights import standing_apart
from valvetrain.questions.rocker.stand_plan import shim_choices
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup

INCH = 0.0254


def studied(folder, **options):
    return rocker_study(read_setup(folder), **options)


def lowered_shaft(sample, edited, amount):
    """The healthy sample with its whole shaft standing too low [in]."""
    folder = sample("plain_six")
    edited(
        folder / "setup.toml", ('height = "0.313 +/- 0.003"', f'height = "{0.313 - amount:.3f} +/- 0.003"')
    )
    return folder


def test_low_shaft_gets_the_shim_whose_worst_valve_is_best(sample, edited):
    folder = lowered_shaft(sample, edited, 0.140)
    setup = read_setup(folder)
    result = rocker_study(setup)
    (plan,) = result.stand.shafts
    assert plan.needed
    # Brute force: every pair of shims, with the lift left as it was, must not do better by more than a hair.
    rows = result.side.rows
    worst = {}
    for change, _, _ in shim_choices(setup, 0.0):
        swept = sweep(
            setback=rows["shaft.setback"],
            height=rows["shaft.height"] - (rows["valve.stem_height"] - 1.9 * INCH) + change,
            pad_arm=rows["rocker.pad_arm"],
            pad_radius=rows["rocker.pad_radius"],
            net_lift=result.net_lift.value,
        )
        worst[change] = float((swept.width / result.gross_lift.value).max())
    best = min(worst, key=lambda change: worst[change])
    assert plan.change == pytest.approx(best, abs=0.016 * INCH)
    assert plan.worst_after < plan.worst_now
    assert plan.worst_after == pytest.approx(min(worst.values()), abs=0.004)
    assert sum(plan.stack) == pytest.approx(plan.change)
    assert result.stand.after.sweep_share.max() == pytest.approx(plan.worst_after)
    # Raised to its right height the rocker gains the lift that the wrong height cost.
    assert (result.stand.after.lift_gain > 0).all()
    assert (result.stand.after.adjuster > 0).all()


def test_right_shaft_is_left_alone_and_says_so(sample):
    (plan,) = studied(sample("plain_six")).stand.shafts
    assert not plan.needed
    assert plan.group.apart == ()
    assert len(plan.group.deciding) == 12


def test_valves_that_stand_apart_do_not_move_the_shaft(sample):
    result = studied(sample("faulted_six"))
    (plan,) = result.stand.shafts
    assert [result.valves[index] for index in plan.group.apart] == ["2E", "4E"]
    assert [result.valves[index] for index in plan.group.unknown] == ["6E"]
    assert not plan.needed
    assert np.all(result.stand.change == 0)
    # If they were to decide as well, the shaft would be raised and the good valves spoiled.
    assert plan.change_with_all > 0.05 * INCH
    assert plan.worst_with_all > plan.worst_now


def test_cures_of_a_tip_that_stands_high(sample):
    result = studied(sample("faulted_six"))
    index = result.valves.index("2E")
    cures = cures_of(result.side, result.stand, index)
    own = [cure for cure in cures if cure.serves == "this valve"]
    assert own[0].amount == pytest.approx(-0.120 * INCH, rel=1e-6)
    assert own[0].sweep_share < 0.045 < 0.09 < result.sweep_share.value[index]
    assert own[0].lift_gain > 0
    assert all(cure.caution for cure in cures)
    # A pushrod never moves the pattern of a shaft rocker.
    (rod,) = [cure for cure in cures if "pushrod" in cure.name]
    assert rod.middle_moved == 0
    assert rod.sweep_width == pytest.approx(float(result.sweep_width.value[index]))


def test_cures_of_a_tip_that_stands_low_are_longer_valve_and_lash_cap(sample, edited):
    folder = sample("plain_six")
    edited(folder / "valves.csv", ("-0.004,0.0041,1.900,1.600", "-0.004,0.0041,1.790,1.600"))
    result = studied(folder)
    index = result.valves.index("2E")
    names = {cure.name: cure.amount for cure in cures_of(result.side, result.stand, index)}
    assert names["lash cap"] == pytest.approx(0.110 * INCH, rel=1e-6)
    assert "longer valve" in names
    assert not any("grind" in name or "ground" in name for name in names)


def test_two_shafts_are_planned_each_by_itself(sample, edited):
    folder = sample("plain_six")
    lines = (folder / "valves.csv").read_text().splitlines()
    out = []
    for line in lines:
        if line.startswith("valve,"):
            out.append(line + ",shaft")
        elif line.startswith("#"):
            out.append(line)
        else:
            # The exhaust shaft's valves stand 0.140 in taller: their shaft is too low.
            front = line.split(",")
            if "E" in front[0]:
                front[4] = f"{float(front[4]) + 0.140:.3f}"
            out.append(",".join(front) + (",intake shaft" if "I" in front[0] else ",exhaust shaft"))
    (folder / "valves.csv").write_text("\n".join(out))
    result = studied(folder)
    plans = {plan.group.name: plan for plan in result.stand.shafts}
    assert set(plans) == {"intake shaft", "exhaust shaft"}
    assert not plans["intake shaft"].needed
    assert plans["exhaust shaft"].needed
    assert plans["exhaust shaft"].group.apart == ()
    change = dict(zip(result.valves, result.stand.change, strict=True))
    assert change["1I"] == 0
    assert change["1E"] == pytest.approx(plans["exhaust shaft"].change)


def test_fitted_shim_may_come_out(sample, edited):
    folder = sample("plain_six")
    edited(
        folder / "setup.toml",
        ('height = "0.313 +/- 0.003"', 'height = "0.443 +/- 0.003"'),
        ("stand_shim = 0.0", "stand_shim = 0.130"),
    )
    (plan,) = studied(folder).stand.shafts
    assert plan.needed
    assert plan.removed
    assert plan.change == pytest.approx(-0.130 * INCH, abs=0.016 * INCH)


def test_square_at_chooses_the_shim_for_that_fraction(sample, edited):
    folder = lowered_shaft(sample, edited, 0.030)
    for wanted in (0.33, 0.5):
        result = studied(folder, square_at=wanted)
        off = np.abs(result.stand.with_best.square_at - wanted).max()
        # The stock's steps are up to 0.030 in, half of that 0.04 of the lift.
        assert off < 0.05
        alone = result.stand_shim_change_for_square_at.value
        assert result.stand.best == pytest.approx(alone, abs=0.018 * INCH)


def test_tilted_stand_needs_more_shim_and_moves_the_setback(sample, edited):
    folder = lowered_shaft(sample, edited, 0.100)
    upright = studied(folder).stand.own_need
    edited(folder / "setup.toml", ("stand_angle = 0.0", "stand_angle = 20.0"))
    tilted = studied(folder).stand.own_need
    assert tilted * np.cos(np.radians(20.0)) == pytest.approx(upright, rel=1e-3)


@pytest.mark.parametrize(
    ("heights", "apart"),
    [
        ([1.0, 1.01, 0.99, 1.0, 1.5], [False] * 4 + [True]),
        ([1.0, 1.5], [False, False]),
        ([1.0, 1.0, 1.5, 1.5], [False] * 4),
        ([np.nan, 1.0, 1.0, 1.0, 1.3], [False] * 4 + [True]),
    ],
)
def test_standing_apart_needs_a_set_that_agrees(heights, apart):
    assert standing_apart(np.array(heights) * 1e-2).tolist() == apart
