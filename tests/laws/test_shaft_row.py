"""Where parts sit on a shaft, and the shims beside one rocker: balances by hand and exhaustive search."""

from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from valvetrain.mechanics.row.shaft import (
    Rocker,
    Shim,
    Spacer,
    Spring,
    Stand,
    bays,
    end_fixing,
    placed,
    single_rocker_shims,
    with_measured_offsets,
)

THOU = 25.4e-6


def row(*parts, length=50e-3):
    return (end_fixing("front end", 0.0), *parts, end_fixing("rear end", length))


def test_a_rocker_in_a_solid_bay_sits_in_the_middle_of_its_play():
    # 50 - 40 - 2 = 8 mm of play: 4 mm in front, then the 2 mm shim in front of that.
    got = placed(row(Shim(2e-3), Rocker("1I", 40e-3, 15e-3, 20e-3))).rockers[0]
    assert got.front_face == pytest.approx(6e-3)
    assert got.offset == pytest.approx(1e-3)
    assert got.end_clearance == pytest.approx(8e-3)


def test_two_rockers_and_a_solid_spacer_share_one_play():
    parts = row(Rocker("1I", 15e-3, 5e-3, 6e-3), Spacer(10e-3), Rocker("1E", 20e-3, 10e-3, 38e-3))
    first, second = placed(parts).rockers
    assert (first.front_face, second.front_face) == pytest.approx((2.5e-3, 27.5e-3))
    assert (first.end_clearance, second.end_clearance) == pytest.approx((5e-3, 5e-3))
    assert (first.offset, second.offset) == pytest.approx((1.5e-3, -0.5e-3))


def test_a_spring_holds_the_rockers_apart_against_their_stands():
    spring = Spring(20e-3, 5e-3, 6e-3, 18e-3)
    first, second = placed(
        row(Rocker("1I", 15e-3, 5e-3, 5e-3), spring, Rocker("1E", 20e-3, 10e-3, 40e-3))
    ).rockers
    assert first.front_face == pytest.approx(0.0)
    assert second.front_face == pytest.approx(30e-3)
    assert first.spring_lengths == pytest.approx((15e-3,))
    assert first.end_clearance == second.end_clearance == 0.0


def test_springs_in_one_bay_carry_one_force():
    soft, stiff = Spring(12e-3, 2e-3, 3e-3, 11e-3, 1e3), Spring(10e-3, 2e-3, 3e-3, 9.9e-3, 4e3)
    (got,) = placed(row(soft, Rocker("1I", 33e-3, 10e-3, 20e-3), stiff)).rockers
    compressed = np.array([12e-3, 10e-3]) - got.spring_lengths
    assert sum(got.spring_lengths) == pytest.approx(17e-3)
    assert compressed[0] * 1e3 == pytest.approx(compressed[1] * 4e3)
    assert got.front_face == pytest.approx(got.spring_lengths[0])


def test_a_bay_too_full_reports_negative_clearance():
    assert placed(row(Rocker("1I", 50.1e-3, 10e-3, 10e-3))).rockers[0].end_clearance == pytest.approx(-1e-4)


def test_the_row_turned_round_is_the_mirror_image():
    parts = row(Shim(1e-3), Rocker("1I", 15e-3, 5e-3, 7e-3), Spacer(9e-3), Rocker("1E", 20e-3, 12e-3, 41e-3))
    turned = row(Rocker("1E", 20e-3, 8e-3, 9e-3), Spacer(9e-3), Rocker("1I", 15e-3, 10e-3, 43e-3), Shim(1e-3))
    ahead = {r.valve: r.offset for r in placed(parts).rockers}
    behind = {r.valve: -r.offset for r in placed(turned).rockers}
    assert ahead == pytest.approx(behind)


def test_measured_offsets_come_back_from_the_forward_model():
    parts = row(Rocker("1I", 15e-3, 5e-3, 6e-3), Spacer(10e-3), Rocker("1E", 20e-3, 10e-3, 38e-3))
    measured = with_measured_offsets(parts, {"1I": 0.3e-3, "1E": float("nan")})
    first, second = placed(measured).rockers
    assert first.offset == pytest.approx(0.3e-3)
    assert second.offset == pytest.approx(placed(parts).rockers[1].offset)


@pytest.mark.parametrize(
    ("parts", "match"),
    [
        ((Rocker("1I", 1e-2, 5e-3, 0.0),), "begin and end"),
        (row(Rocker("1I", 1e-2, 2e-2, 0.0)), "rocker 1I: the pad"),
        (row(Shim(-1e-3)), "shim"),
        (row(Rocker("1I", float("nan"), 0.0, 0.0)), "rocker 1I"),
        (row(Stand("stand 2", 0.0, 10e-3)), "front end to stand 2"),
        (row(Spring(5e-3, 1e-3, 2e-3, 6e-3)), "spring"),
    ],
)
def test_parts_that_cannot_be_are_named(parts, match):
    with pytest.raises(ValueError, match=match):
        bays(parts)


def test_measured_offsets_must_belong_to_a_rocker_and_be_smaller_than_it():
    parts = row(Rocker("1I", 15e-3, 5e-3, 6e-3))
    with pytest.raises(ValueError, match="2I"):
        with_measured_offsets(parts, {"2I": 0.0})
    with pytest.raises(ValueError, match="1I"):
        with_measured_offsets(parts, {"1I": 16e-3})


# One rocker from its offset and end clearance.


def shifted(offset, play, front, rear):
    """The rocker's middle as the mean of its two ends of travel, written apart from the package."""
    foremost, rearmost = offset - play / 2 + front, offset + play / 2 - rear
    return (foremost + rearmost) / 2, rearmost - foremost


def test_moving_forward_by_twelve_thousandths_takes_twelve_from_the_front_to_the_rear():
    got = single_rocker_shims(
        12 * THOU, 10 * THOU, [12 * THOU], 6 * THOU, 14 * THOU, fitted_front=[12 * THOU], fitted_rear=[]
    )
    assert got.reachable
    assert (got.front_removed, got.rear_added) == ((12 * THOU,), (12 * THOU,))
    assert (got.front_added, got.rear_removed) == ((), ())
    assert got.offset_after == pytest.approx(0, abs=1e-12)
    assert got.end_clearance_after == pytest.approx(10 * THOU)
    assert not got.assumes_fitted


def test_shims_not_known_to_be_fitted_are_taken_out_only_when_nothing_else_will_do():
    stock = [3 * THOU, 6 * THOU]
    limits = {"clearance_low": 4 * THOU, "clearance_high": 20 * THOU, "offset_tolerance": 1 * THOU}
    near = single_rocker_shims(3 * THOU, 16 * THOU, stock, **limits)
    assert near.rear_added
    assert not near.assumes_fitted
    far = single_rocker_shims(9 * THOU, 8 * THOU, stock, **limits)
    assert far.reachable
    assert far.assumes_fitted


@pytest.mark.parametrize("seed", range(40))
def test_the_shims_are_those_of_an_exhaustive_search(seed):
    rng = np.random.default_rng(seed)
    sizes = [float(s) for s in rng.choice(np.arange(2, 16), 3, replace=False) * THOU]
    stock = {s: int(rng.integers(0, 3)) for s in sizes}
    fitted = [[float(s) for s in rng.choice(sizes, rng.integers(0, 3))] for _ in range(2)]
    offset, play = float(rng.uniform(-12, 12) * THOU), float(rng.uniform(4, 30) * THOU)
    low, high, tolerance = 5 * THOU, 12 * THOU, 2 * THOU
    got = single_rocker_shims(
        offset,
        play,
        stock,
        low,
        high,
        offset_tolerance=tolerance,
        fitted_front=fitted[0],
        fitted_rear=fitted[1],
        most_shims=2,
    )
    after = []
    contents = [c for n in range(5) for c in combinations_with_replacement(sizes, n)]
    for front, rear in product(contents, repeat=2):
        added = [
            [s for s in sizes for _ in range(max(0, now.count(s) - was.count(s)))]
            for now, was in ((front, fitted[0]), (rear, fitted[1]))
        ]
        removed = [
            [s for s in sizes for _ in range(max(0, was.count(s) - now.count(s)))]
            for now, was in ((front, fitted[0]), (rear, fitted[1]))
        ]
        both = [s for side in fitted for s in side]
        if max(map(len, added)) > 2:
            continue
        if any((front + rear).count(s) > stock[s] + both.count(s) for s in sizes):
            continue
        change = [sum(added[k]) - sum(removed[k]) for k in (0, 1)]
        moved, left = shifted(offset, play, *change)
        if low - 1e-9 <= left <= high + 1e-9 and abs(moved) <= tolerance + 1e-9:
            after.append((sum(map(len, added + removed)), abs(moved)))
    assert got.reachable == bool(after)
    if after:
        assert got.changes == min(after)[0]
        assert abs(got.offset_after) == pytest.approx(min(after)[1], abs=1e-9)
    else:
        assert got.reason
    moved, left = shifted(
        offset,
        play,
        sum(got.front_added) - sum(got.front_removed),
        sum(got.rear_added) - sum(got.rear_removed),
    )
    assert (moved, left) == pytest.approx((got.offset_after, got.end_clearance_after), abs=1e-12)


def test_the_wanted_thicknesses_center_the_rocker_in_the_middle_of_the_range():
    got = single_rocker_shims(5 * THOU, 30 * THOU, [], 6 * THOU, 10 * THOU)
    assert not got.reachable
    moved, left = shifted(5 * THOU, 30 * THOU, got.wanted_front, got.wanted_rear)
    assert (moved, left) == pytest.approx((0.0, 8 * THOU), abs=1e-15)


@pytest.mark.parametrize(
    ("offset", "play", "what"), [(np.nan, 1e-4, "offset"), (0.0, np.nan, "end clearance")]
)
def test_what_was_not_measured_is_said(offset, play, what):
    got = single_rocker_shims(offset, play, [1e-4], 1e-4, 2e-4)
    assert not got.reachable
    assert got.reason == f"{what} not measured"


def test_bad_ranges_and_stocks_are_named():
    with pytest.raises(ValueError, match="range"):
        single_rocker_shims(0.0, 1e-4, [1e-4], 2e-4, 1e-4)
    with pytest.raises(ValueError, match="stock"):
        single_rocker_shims(0.0, 1e-4, [0.0], 1e-4, 2e-4)
    with pytest.raises(ValueError, match="end clearance"):
        single_rocker_shims(0.0, -1e-4, [1e-4], 1e-4, 2e-4)
