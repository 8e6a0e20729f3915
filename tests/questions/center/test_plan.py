"""Whole-shaft plans of sheets: against the numbers worked out by hand, and a forward model written apart."""

import re

import numpy as np
import pytest

from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Stand
from valvetrain.questions.center.checks import centering_checks
from valvetrain.questions.center.study import centering_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.setup.read import read_setup

IN = 0.0254


def studied(folder):
    setup = read_setup(folder)
    return setup, centering_study(setup, rocker_study(setup))


def pushed(parts):
    """Offset of each rocker: all of a bay pushed to the front, then to the rear, and the middle of both."""
    offsets, start, inside = {}, None, []
    for part in parts:
        if isinstance(part, Stand):
            end = part.position - part.width / 2
            for k, each in enumerate(inside):
                if isinstance(each, Rocker):
                    low = start + sum(map(length, inside[:k]))
                    high = end - sum(map(length, inside[k:]))
                    offsets[each.valve] = (low + high) / 2 + each.pad_position - each.stem
            start, inside = part.position + part.width / 2, []
        else:
            inside.append(part)
    return offsets


def length(part):
    if isinstance(part, Rocker):
        return part.hub_width
    return part.thickness if isinstance(part, Shim) else part.width


def test_healthy_shaft_is_left_alone(sample):
    _, result = studied(sample())
    assert result.shafts.done
    assert result.shafts.plan.changes == 0
    assert not any(result.moved)
    assert result.shafts.after == result.shafts.before


def test_planted_offset_is_mended_by_one_shim_changing_sides(sample):
    setup, result = studied(sample("faulted_six"))
    index = setup.valves.index("3I")
    assert result.front_removed[index] == pytest.approx((0.060 * IN,))
    assert result.rear_added[index] == pytest.approx((0.060 * IN,))
    assert [valve for valve, moved in zip(setup.valves, result.moved, strict=True) if moved] == ["3I"]
    # A shim t that changes sides moves the middle of the play by t: 0.071 - 0.060.
    assert result.offset_after.value[index] == pytest.approx(0.011 * IN)
    assert result.end_clearance.value[index] == pytest.approx(0.0036 * IN)
    # Put back in the drawer and taken from it: neither.
    assert result.shafts.drawn == ()


def test_forecast_agrees_with_a_forward_model_written_apart(sample):
    setup, result = studied(sample("faulted_six"))
    told = pushed(result.shafts.after[0].parts)
    for valve, offset in zip(setup.valves, result.offset_after.value, strict=True):
        if valve != "6E":
            assert told[valve] == pytest.approx(offset, abs=1e-12)


def test_uncertainty_of_the_forecast_adds_that_of_the_shims(sample):
    setup, result = studied(sample("faulted_six"))
    index = setup.valves.index("3I")
    caliper, feeler, shim = 30e-6, 10e-6, 5e-6
    # One shim out (half its error on the middle, all of it on the play), one in.
    assert result.offset_after.uncertainty[index] == pytest.approx(np.sqrt(caliper**2 + 2 * (shim / 2) ** 2))
    assert result.end_clearance.uncertainty[index] == pytest.approx(np.sqrt(feeler**2 + 2 * shim**2))


def test_unmeasured_rocker_gets_no_forecast(sample):
    setup, result = studied(sample("faulted_six"))
    index = setup.valves.index("6E")
    assert np.isnan(result.offset_after.value[index])
    assert np.isnan(result.end_clearance.value[index])
    assert not result.moved[index]


def with_stock(folder, edited, written):
    edited(folder / "setup.toml", ("rocker_shims = [0.005, 0.010, 0.015, 0.020, 0.030, 0.060]", written))


def bare(folder, edited):
    """No shims at 3I's bay to change sides: its pattern has spacers instead."""
    edited(
        folder / "setup.toml",
        (
            'each = ["shim 0.060", "I", "shim 0.060", "collar"',
            'each = ["spacer 0.060", "I", "spacer 0.060", "collar"',
        ),
    )


def test_empty_drawer_names_the_bay_and_what_to_buy(sample, edited):
    folder = sample("faulted_six")
    bare(folder, edited)
    with_stock(folder, edited, "rocker_shims = []")
    edited(folder / "valves.csv", ("3I,S5,0.071,0.0036", "3I,S5,-0.071,0.0636"))
    edited(folder / "setup.toml", ("spacing = [1.625] ", "# spacing = [1.625] "))
    setup, result = studied(folder)
    assert result.shafts.blocked == ("stand 3 to collar 3",)
    reason = result.reason[setup.valves.index("3I")]
    assert reason == "Bay stand 3 to collar 3: no plan, the drawer is empty."
    (remedy,) = result.shafts.remedies
    assert (remedy.kind, remedy.count) == ("buy more", 1)
    # What it says to buy makes the plan.
    with_stock_text = f"rocker_shims = [{remedy.amount / IN:.6f}]"
    edited(folder / "setup.toml", ("rocker_shims = []", with_stock_text))
    _, result = studied(folder)
    assert not result.shafts.blocked
    assert result.shafts.plan.changes == 1
    told = pushed(result.shafts.after[0].parts)["3I"]
    assert abs(told) < result.offset_limit.value[setup.valves.index("3I")]


def test_bay_without_a_plan_does_not_keep_the_others_from_theirs(sample, edited):
    folder = sample("faulted_six")
    edited(folder / "valves.csv", ("1I,S1,0.000,0.0056", "1I,S1,0.500,0.0056"))
    setup, result = studied(folder)
    assert result.shafts.blocked == ("stand 1 to collar 1",)
    assert result.moved[setup.valves.index("3I")]
    # Half an inch cannot be had by shims: metal has to go.
    assert {remedy.kind for remedy in result.shafts.remedies} & {"face hub", "machine stand"}
    assert {remedy.bay for remedy in result.shafts.remedies} == {"stand 1 to collar 1"}


def test_counts_of_the_drawer_are_held(sample, edited):
    folder = sample("faulted_six")
    bare(folder, edited)
    edited(folder / "setup.toml", ("spacing = [1.625] ", "# spacing = [1.625] "))
    edited(
        folder / "valves.csv",
        ("3I,S5,0.071,0.0036", "3I,S5,-0.071,0.0636"),
        ("5I,S9,-0.002,0.0045", "5I,S9,-0.071,0.0645"),
    )
    with_stock(
        folder, edited, "rocker_shims = [{ thickness = 0.060, count = 1 }, { thickness = 0.030, count = 2 }]"
    )
    setup, result = studied(folder)
    shims = sorted(
        tuple(round(s / IN, 3) for s in result.front_added[setup.valves.index(v)]) for v in ("3I", "5I")
    )
    assert shims == [(0.03, 0.03), (0.06,)]
    assert [(round(d.thickness / IN, 3), d.taken, d.count) for d in result.shafts.drawn] == [
        (0.03, 2, 2),
        (0.06, 1, 1),
    ]
    edited(folder / "setup.toml", ("thickness = 0.030, count = 2", "thickness = 0.030, count = 1"))
    _, result = studied(folder)
    assert result.shafts.blocked == ("all",)
    assert {remedy.kind for remedy in result.shafts.remedies} == {"buy more"}


def test_spacer_is_cut_where_no_shim_serves(sample, edited):
    folder = sample("faulted_six")
    edited(
        folder / "setup.toml",
        ('"shim 0.060", "I", "shim 0.060"', '"cut spacer 0.060", "I", "cut spacer 0.060"'),
    )
    with_stock(folder, edited, "rocker_shims = []")
    setup, result = studied(folder)
    spacers = [p.width for p in result.shafts.after[0].parts if isinstance(p, Spacer)]
    changed = [each for each in spacers if abs(each - 0.060 * IN) > 1e-9]
    assert len(changed) == len(result.shafts.plan.spacers) > 0
    told = pushed(result.shafts.after[0].parts)["3I"]
    assert told == pytest.approx(result.offset_after.value[setup.valves.index("3I")], abs=1e-10)
    assert abs(told) <= result.offset_limit.value[setup.valves.index("3I")]


def test_stands_are_moved_within_their_bolt_holes(sample, edited):
    folder = sample("faulted_six")
    edited(
        folder / "setup.toml",
        ("stand_width = 0.750", "stand_width = 0.750\nstand_shift = 0.060"),
        (
            'each = ["shim 0.060", "I", "shim 0.060", "collar", "shim 0.060", "E", "shim 0.060", "stand"]',
            'each = ["I", "spacer 0.060", "E", "stand"]',
        ),
        ("spacing = [1.625] ", "# "),
    )
    with_stock(folder, edited, "rocker_shims = []")
    edited(
        folder / "valves.csv",
        ("3I,S5,0.071,0.0036", "3I,S5,-0.050,0.0041"),
        ("3E,S6,-0.007", "3E,S6,-0.045"),
        ("4I,S7,0.004,0.0056", "4I,S7,0.010,0.0036"),
    )
    setup, result = studied(folder)
    stands = {name: move for _, name, move in result.shafts.plan.stands}
    assert {"stand 3", "stand 4"} <= set(stands)
    assert max(map(abs, stands.values())) <= 0.060 * IN + 1e-9
    told = pushed(result.shafts.after[0].parts)
    for valve in ("3I", "3E"):
        index = setup.valves.index(valve)
        assert told[valve] == pytest.approx(result.offset_after.value[index], abs=1e-10)
        assert abs(told[valve]) < result.offset_limit.value[index]
        # Both walls of the bay move: the middle of its play by half of each.
        half = 0.5 * (stands["stand 3"] + stands["stand 4"])
        assert result.offset_after.value[index] == pytest.approx(result.offset_before.value[index] + half)


def test_spring_on_the_shaft_holds_its_rockers_and_is_judged(sample, edited):
    folder = sample("pump_twin")
    edited(folder / "setup.toml", ("pad_width = 9.0", "pad_width = 9.0\nhub_width = 25"))
    row = (
        '\n[[row]]\nfront = ["stand"]\neach = ["shim 0.5", "I", "spring", "E", "shim 0.5", "stand"]\n'
        "stand_width = 20\nspacing = [83]\nspring_free_length = 20\nspring_solid_length = 4\n"
    )
    with (folder / "setup.toml").open("a") as file:
        file.write(row)
    lines = (folder / "valves.csv").read_text().splitlines()
    cells = [line.split(";") for line in lines]
    rows = [";".join([*each[:2], "", *each[3:]]) for each in cells[2:]]
    # 1I sits 2 mm too far back: only shims in front of it move it, the spring takes up the rest.
    (folder / "valves.csv").write_text("\n".join([*lines[:2], rows[0].replace("0,12", "2,0"), *rows[1:]]))
    setup, result = studied(folder)
    assert result.end_clearance_before.value == pytest.approx([0.0] * 4)
    assert result.offset_before.value[0] == pytest.approx(2.0e-3)
    assert result.front_removed[0] == pytest.approx((0.5e-3,))
    assert result.offset_after.value[0] == pytest.approx(
        2.0e-3 - sum(result.front_removed[0]) + sum(result.front_added[0])
    )
    assert result.offset_after.value[1] == pytest.approx(result.offset_before.value[1])
    springs = [
        check for check in centering_checks(setup, result, "metric") if check.id == "shaft_spring_length"
    ]
    # 83 less two half stands, two hubs and two shims.
    assert [check.value for check in springs] == pytest.approx([12e-3] * 2)
    assert {check.verdict for check in springs} == {"ok"}


def test_own_limit_of_the_offset_takes_the_place_of_the_contact_s(sample, edited):
    folder = sample()
    _, derived = studied(folder)
    edited(folder / "setup.toml", ("[limits]", "[limits]\noffset = { low = -0.003, high = 0.003 }"))
    _, result = studied(folder)
    assert result.offset_limit.value == pytest.approx([0.003 * IN] * 12)
    assert not np.allclose(derived.offset_limit.value, 0.003 * IN)
    assert result.shafts.plan.changes > 0
    told = pushed(result.shafts.after[0].parts)
    assert max(map(abs, told.values())) <= 0.003 * IN + 1e-9


def test_warm_end_clearance_by_hand(sample):
    setup, result = studied(sample())
    # 1I, stand 1 on the head and collar 1 on the shaft, which stand 4 holds: numbers from the sheet.
    head, shaft = 11.4e-6 * 110 / 1.8, 11.7e-6 * 120 / 1.8
    parts = result.shafts.before[0].parts
    at = {p.name: p.position for p in parts if isinstance(p, Stand)}
    datum = at["stand 4"]
    walls = (at["collar 1"] - datum) * shaft - (at["stand 1"] - datum) * head
    solid = (0.5 * 0.250 + 1.120) * IN
    expected = walls - solid * shaft - 0.375 * IN * head
    assert result.growth.clearance_growth.value[setup.valves.index("1I")] == pytest.approx(expected, rel=1e-9)


def test_areas_lie_between_none_and_all(sample):
    _, result = studied(sample("faulted_six"))
    share = result.area_on_tip.value
    assert np.nanmin(share) > 0.5
    assert np.nanmax(share) < 1.0
    assert np.nanargmin(share) == result.valves.index("3I")


def test_footprint_of_a_skewed_pad_is_longer_across_the_tip(sample, edited):
    folder = sample()
    edited(folder / "setup.toml", ("pad_width = 0.312", "pad_width = 0.200\nskew = 10"))
    _, skewed = studied(folder)
    text = (folder / "setup.toml").read_text()
    (folder / "setup.toml").write_text(re.sub(r"\nskew = 10", "", text))
    _, square = studied(folder)
    # A pad narrower than the tip, centered: its ends come nearer to the edge when it is turned.
    assert np.all(skewed.edge_distance.value < square.edge_distance.value)
