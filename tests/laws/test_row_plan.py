"""The plan of a shaft against exhaustive search with a forward model written apart (derived)."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from tests.laws.row_search import (
    HIGH,
    LOW,
    STOCK_SIZES,
    TOLERANCE,
    UM,
    allowed,
    compared,
    exhaustive,
    fitted_of,
    random_row,
    random_stock,
    simulated,
    with_contents,
)
from valvetrain.mechanics.row.enumeration import enumerated
from valvetrain.mechanics.row.joint import joint_plan
from valvetrain.mechanics.row.model import linear_bays
from valvetrain.mechanics.row.plan import plan_rows
from valvetrain.mechanics.row.program import Program
from valvetrain.mechanics.row.shaft import Rocker, Spacer, Stand, end_fixing


@pytest.mark.parametrize(
    ("kinds", "most", "count"),
    [
        (("one",), 2, 60),
        (("pair",), 2, 50),
        (("spacer",), 2, 30),
        (("one", "one"), 1, 40),
        (("spring",), 2, 30),
        (("springs",), 2, 30),
    ],
    ids=lambda value: "-".join(value) if isinstance(value, tuple) else str(value),
)
def test_plans_equal_exhaustive_search(kinds, most, count):
    rng = np.random.default_rng(17)
    feasible = [compared(random_row(rng, kinds), random_stock(rng), most) for _ in range(count)]
    assert 0.1 * count < sum(feasible) < count  # both answers occur


def least_on_line(make, low, high, rest):
    """Best error over one length in [low, high]: the error is convex and piecewise linear, so that its least
    is at a kink or at the end of the allowed range, all of which are found by the zeros of every limit."""
    samples = []
    zero, one = make(0.0), make(1.0)
    o0, p0 = simulated(zero)
    o1, p1 = simulated(one)
    values = [low, high]
    for valve in o0:
        slope = o1[valve] - o0[valve]
        if abs(slope) > 1e-12:
            values += [(goal - o0[valve]) / slope for goal in (0.0, TOLERANCE, -TOLERANCE)]
    for a, b in zip(p0, p1, strict=True):
        if abs(b - a) > 1e-12:
            values += [(goal - a) / (b - a) for goal in (LOW, HIGH)]
    samples = [(1, make(float(v))) for v in values if low <= v <= high]
    return [(0, make(rest)), *samples]


def test_spacers_cut_anew_equal_exhaustive_search():
    rng = np.random.default_rng(5)

    def finish(row):
        index = next(k for k, part in enumerate(row) if isinstance(part, Spacer))
        spacer = row[index]

        def make(length):
            return (*row[:index], Spacer(length, True, spacer.least, spacer.most), *row[index + 1 :])

        return least_on_line(make, spacer.least, spacer.most, spacer.width)

    feasible = [
        compared(random_row(rng, ("spacer",), can_be_cut=True), random_stock(rng), 1, finish, 5e-9)
        for _ in range(20)
    ]
    assert any(feasible)


def test_stands_moved_in_their_bolt_holes_equal_exhaustive_search():
    rng = np.random.default_rng(6)

    def finish(row):
        index = next(k for k, part in enumerate(row) if isinstance(part, Stand) and part.shift > 0)
        stand = row[index]

        def make(move):
            moved = Stand(stand.name, stand.position + move, stand.width, stand.shift)
            return (*row[:index], moved, *row[index + 1 :])

        return least_on_line(make, -stand.shift, stand.shift, 0.0)

    feasible = [
        compared(random_row(rng, ("one", "one"), shift=200 * UM), random_stock(rng), 1, finish, 5e-9)
        for _ in range(20)
    ]
    assert any(feasible)


def centered_row(play, offset=0.0):
    rocker = Rocker("1I", 20e-3, 10e-3, play / 2 + 10e-3 - offset)
    return (end_fixing("front end", 0.0), rocker, Stand("stand 1", 20e-3 + play + 5e-3, 10e-3))


def planned(row, stock, **limits):
    limits = {
        "offset_tolerance": TOLERANCE,
        "clearance_low": LOW,
        "clearance_high": HIGH,
        **limits,
    }
    return plan_rows([row], stock, **limits)


def test_a_row_in_order_is_left_alone():
    plan = planned(centered_row(200 * UM, 100 * UM), {50 * UM: None})
    assert plan.feasible
    assert plan.changes == 0
    assert plan.total_error == pytest.approx(100 * UM)


def test_a_missing_thickness_is_named_and_makes_the_plan_possible():
    row = centered_row(1000 * UM)  # 0.7 to 0.9 mm of shims are wanted, the drawer holds 50 um ones
    plan = planned(row, {50 * UM: None})
    assert not plan.feasible
    assert plan.blocked == ("front end to stand 1",)
    # One side alone would push the rocker off its stem: at most 3 x 50 um can balance it.
    assert [r.kind for r in plan.remedies] == ["buy shim", "buy shim"]
    assert planned(row, {50 * UM: None, **{r.amount: 2 for r in plan.remedies}}).feasible


def test_a_hub_too_wide_is_to_be_faced_by_what_is_missing():
    plan = planned(centered_row(40 * UM), {50 * UM: None})
    taken = sum(r.amount for r in plan.remedies if r.kind in ("face hub", "machine stand"))
    assert not plan.feasible
    assert taken == pytest.approx(60 * UM, abs=1e-8)


def test_a_drawer_with_too_few_says_how_many_more():
    # Two bays that each need one shim of 130 um; the drawer has one.
    parts = [end_fixing("front end", 0.0)]
    at = 0.0
    for number in (1, 2):
        parts.append(Rocker(f"{number}I", 20e-3, 10e-3, at + 10e-3 + 200 * UM))
        at += 20e-3 + 400 * UM
        parts.append(Stand(f"stand {number}", at + 5e-3, 10e-3))
        at += 10e-3
    plan = planned(tuple(parts), {130 * UM: 1}, most_shims=1)
    assert plan.blocked == ("all",)
    assert [(r.kind, r.count) for r in plan.remedies] == [("buy more", 1)]
    assert planned(tuple(parts), {130 * UM: 2}, most_shims=1).changes == 2


@pytest.mark.parametrize(
    ("limits", "match"),
    [
        ({"clearance_low": 2e-3}, "end clearance range"),
        ({"offset_tolerance": float("nan")}, "offset tolerance of 1I"),
    ],
)
def test_bad_limits_are_named(limits, match):
    with pytest.raises(ValueError, match=match):
        planned(centered_row(200 * UM), {50 * UM: 1}, **limits)


def test_a_valve_with_two_rockers_is_an_error():
    row = centered_row(200 * UM)
    with pytest.raises(ValueError, match="1I has more than one rocker"):
        planned((*row, Rocker("1I", 1e-2, 5e-3, 0.05), end_fixing("rear end", 0.06)), {50 * UM: 1})


def test_a_short_drawer_shared_by_two_shafts_equals_exhaustive_search():
    # Exhaustive search over both shafts at once: put end to end they are one row of separate bays.
    rng = np.random.default_rng(21)
    tight = 0
    for _ in range(40):
        first, second = random_row(rng, ("one",)), random_row(rng, ("one",))
        length = first[-1].position
        joined = list(first)
        for part in second[1:]:
            if isinstance(part, Rocker):
                joined.append(replace(part, valve="other", stem=part.stem + length))
            elif isinstance(part, Stand):
                joined.append(replace(part, position=part.position + length))
            else:
                joined.append(part)
        renamed = tuple(replace(p, valve="other") if isinstance(p, Rocker) else p for p in second)
        stock = {t: int(rng.integers(0, 2)) for t in STOCK_SIZES}
        limits = {
            "offset_tolerance": TOLERANCE,
            "clearance_low": LOW,
            "clearance_high": HIGH,
            "most_shims": 1,
        }
        best = exhaustive(tuple(joined), stock, 1)
        plan = plan_rows([first, renamed], stock, **limits)
        plenty = plan_rows([first, renamed], dict.fromkeys(stock), **limits)
        assert plan.proved
        assert plan.feasible == (best is not None)
        if best is not None:
            assert (plan.changes, plan.total_error) == (best[0], pytest.approx(best[1], abs=1e-9))
        tight += plenty.feasible and (not plan.feasible or plan.total_error > plenty.total_error + 1e-9)
    assert tight >= 2  # the drawer's counts mattered


@pytest.mark.parametrize("seed", range(6))
def test_joining_the_bays_own_plans_equals_the_integer_program_of_the_whole(seed):
    rng = np.random.default_rng(seed)
    row = random_row(rng, ("one", "one", "one"))
    fitted = sum(fitted_of(row), Counter())
    for count in (1, 2):
        available = {t: count + fitted[t] for t in STOCK_SIZES}
        group = linear_bays(0, row, TOLERANCE, LOW, HIGH)
        own = [enumerated(bay, available, 2) for bay in group]
        if "none" in own:
            continue
        joint = joint_plan(group, [plan.changes for plan in own], available, 2)
        program = Program(group, available, 2)
        whole = program.solved(program.changes, program.error_terms())
        assert (joint is None) == (whole is None)
        if joint is not None:
            assert measured(row, joint) == pytest.approx(measured(row, whole), abs=1e-8)


def measured(row, solution):
    contents = [tuple(held.elements()) for _, held in sorted(solution.shims.items())]
    changes = sum(
        sum((Counter(c) - f).values()) + sum((f - Counter(c)).values())
        for c, f in zip(contents, fitted_of(row), strict=True)
    )
    return changes, allowed(with_contents(row, contents))


def test_a_free_stand_goes_where_both_its_rockers_need_it():
    parts = (
        end_fixing("front end", 0.0),
        Rocker("1I", 20e-3, 10e-3, 10e-3 + 100 * UM),
        Stand("stand 1", 25e-3 + 900 * UM, 10e-3, np.inf),
        Rocker("1E", 20e-3, 10e-3, 40e-3 + 300 * UM),
        end_fixing("rear end", 50e-3 + 400 * UM),
    )
    plan = planned(parts, {}, offset_tolerance=10 * UM)
    assert plan.feasible
    assert plan.changes == 1
    ((_, name, move),) = plan.stands
    assert (name, move) == ("stand 1", pytest.approx(-700 * UM, abs=1e-8))
    assert allowed(plan.rows[0]) == pytest.approx(0.0, abs=1e-8)
