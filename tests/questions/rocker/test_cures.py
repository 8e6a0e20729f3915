"""What a study advises, written into the sheet and studied again, gives what it predicted."""

import re
from dataclasses import replace

import numpy as np
import pytest

from valvetrain.questions.center.study import centering_study
from valvetrain.questions.events.study import events_study
from valvetrain.questions.rocker.cures import cures_of
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.questions.spring.study import spring_study
from valvetrain.setup.read import read_setup

IN, LBF = 0.0254, 4.4482216152605


def changed(folder, file, pattern, replacement):
    """Change one place of a file by a pattern that must match."""
    path = folder / file
    text, count = re.subn(pattern, replacement, path.read_text(), count=1)
    assert count == 1, pattern
    path.write_text(text)


def test_stand_shim_for_least_sweep_gives_the_least_sweep(sample):
    folder = sample()
    changed(folder, "setup.toml", r'height = "0.313 \+/- 0.003"', "height = 0.250")
    changed(folder, "valves.csv", r"1I,S1,0.000,0.0056,1.899", "1I,S1,0.000,0.0056,1.900")
    before = rocker_study(read_setup(folder))
    shim = before.stand_shim_change_for_least_sweep.value[0]
    assert before.sweep_width.value[0] > 1.2 * before.least_sweep_width.value[0]
    changed(folder, "setup.toml", "height = 0.250", f"height = {float(0.250 + shim / IN)!r}")
    after = rocker_study(read_setup(folder))
    # The net lift moves a little with the shim (the sheet's pushrod stays), so the least is met nearly.
    assert after.sweep_width.value[0] == pytest.approx(after.least_sweep_width.value[0], rel=0.03)
    assert after.square_at_lift_fraction.value[0] == pytest.approx(0.5, abs=0.02)


def test_another_pushrod_moves_the_screw_by_what_is_chosen_and_nothing_else(sample):
    result = rocker_study(read_setup(sample("faulted_six")))
    for index in range(len(result.valves)):
        for cure in cures_of(result.side, result.stand, index):
            if "pushrod" in cure.name:
                # No amount is proposed, so no movement of the screw may be claimed, least of all none.
                assert np.isnan(cure.amount)
                assert np.isnan(cure.adjuster)
                assert "comes out" in cure.caution
                assert cure.middle_moved == pytest.approx(0.0, abs=1e-12)
                assert cure.lift_gain == pytest.approx(0.0, abs=1e-12)
            else:
                assert abs(cure.amount) > 0


def test_rocker_shims_bring_the_rocker_where_they_say(sample):
    folder = sample("faulted_six")
    setup = read_setup(folder)
    plan = centering_study(setup, rocker_study(setup))
    index = setup.valves.index("3I")
    moved = plan.offset_after.value[index] - plan.offset_before.value[index]
    front = sum(plan.front_added[index]) - sum(plan.front_removed[index])
    rear = sum(plan.rear_added[index]) - sum(plan.rear_removed[index])
    # Thickness in front pushes rearward, thickness behind forward; it stays in the middle of its play.
    assert moved == pytest.approx((front - rear) / 2, abs=1e-12)
    play = plan.end_clearance_before.value[index] - front - rear
    assert plan.end_clearance.value[index] == pytest.approx(play, abs=1e-12)
    changed(folder, "valves.csv", "3I,S5,0.071", f"3I,S5,{float(0.071 + moved / IN)!r}")
    again = read_setup(folder)
    done = centering_study(again, rocker_study(again))
    assert done.contact_share.value[index] == pytest.approx(plan.contact_share_after.value[index], rel=1e-9)
    assert not done.moved[index]


def test_spring_shims_give_the_load_they_say(sample):
    folder = sample("faulted_six")
    setup = read_setup(folder)
    plan = spring_study(setup, rocker_study(setup))
    index = setup.valves.index("1E")
    height = plan.installed_height_after.value[index]
    assert height != plan.installed_height.value[index]
    changed(folder, "valves.csv", r"(1E,S2,[^,]*,[^,]*,[^,]*,)1\.575", rf"\g<1>{float(height / IN)!r}")
    again = read_setup(folder)
    done = spring_study(again, rocker_study(again))
    for name in ("seat_load", "open_load", "bind_clearance"):
        predicted = getattr(plan, f"{name}_after").value[index]
        assert getattr(done, name).value[index] == pytest.approx(predicted, rel=1e-9)
    assert done.bind_clearance.value[index] > 0.050 * IN


def test_seat_and_open_load_of_a_catalog_spring_are_arithmetic(sample):
    """Rate x (free length - height) on the seat, and rate x lift more when open."""
    setup = read_setup(sample("pump_twin"))
    rocker = rocker_study(setup)
    result = spring_study(setup, rocker)
    assert result.seat_load.value[0] == pytest.approx(9.5e3 * (0.063 - 0.0399), rel=1e-12)
    open_load = 9.5e3 * (0.063 - 0.0399 + rocker.net_lift.value[0])
    assert result.open_load.value[0] == pytest.approx(open_load, rel=1e-12)
    bind = 0.0399 - rocker.net_lift.value[0] - 0.024
    assert result.bind_clearance.value[0] == pytest.approx(bind, rel=1e-12)
    # u^2 = (u_k x)^2 + (k u_L0)^2 + (k u_h)^2: caliper 0.03 mm, height micrometer 0.025 mm.
    doubt = np.sqrt((200 * (0.063 - 0.0399)) ** 2 + (9.5e3 * 30e-6) ** 2 + (9.5e3 * 25e-6) ** 2)
    assert result.seat_load.uncertainty[0] == pytest.approx(doubt, rel=1e-9)


def test_sunk_valve_lowers_the_shaft_over_its_tip(sample):
    setup = read_setup(sample("faulted_six"))
    result = rocker_study(setup)
    sunk, sound = setup.valves.index("2E"), setup.valves.index("1E")
    raised = result.stand_shim_change_for_least_sweep.value[sunk]
    raised -= result.stand_shim_change_for_least_sweep.value[sound]
    assert raised == pytest.approx(0.120 * IN, abs=0.006 * IN)


def test_lift_comes_from_the_dial_then_the_linkage_then_the_nominal_ratio(sample):
    folder = sample("pump_twin")
    changed(folder, "setup.toml", r"socket_arm = .*\n", "")
    changed(folder, "valves.csv", "valve;offset", "valve;gross_lift;offset")
    for valve, cell in (("1I", "8,9"), ("1E", ""), ("2I", ""), ("2E", "")):
        changed(folder, "valves.csv", f"\n{valve};", f"\n{valve};{cell};")
    result = rocker_study(read_setup(folder))
    assert result.lift_from == ("dial", "nominal ratio", "nominal ratio", "nominal ratio")
    assert result.gross_lift.value[:2] == pytest.approx([0.0089, 1.44 * 0.00599])
    assert np.isnan(result.ratio_at_opening.value).all()
    assert not np.isnan(result.sweep_width.value).any()


def test_lash_at_the_pushrod_is_larger_at_the_valve_by_the_ratio(sample):
    folder = sample("pump_twin")
    at_valve = rocker_study(read_setup(folder))
    changed(folder, "setup.toml", 'at = "valve"', 'at = "pushrod"')
    at_pushrod = rocker_study(read_setup(folder))
    ratio = at_pushrod.lash.value / at_valve.lash.value
    assert ratio == pytest.approx(at_valve.ratio_at_opening.value, rel=2e-3)


def test_events_at_the_tappet_do_not_know_the_lash(sample):
    folder = sample("pump_twin")
    before = events_study(read_setup(folder), 1e-3, "tappet")
    changed(folder, "setup.toml", "intake = 0.30", "intake = 0.60")
    changed(folder, "valves.csv", r"39,9;0,30", "39,9;0,60")
    after = events_study(read_setup(folder), 1e-3, "tappet")
    assert after.duration.value == pytest.approx(before.duration.value, rel=1e-12)
    # The card itself: 206 and 210 crank degrees at 1 mm.
    assert np.degrees(before.duration.value) == pytest.approx([206, 210, 206, 210], abs=1e-6)


def test_more_lash_opens_later_and_closes_earlier(sample):
    folder = sample("pump_twin")
    before = events_study(read_setup(folder))
    changed(folder, "valves.csv", r"39,9;0,30", "39,9;0,45")
    after = events_study(read_setup(folder))
    assert after.opens.value[0] < before.opens.value[0]
    assert after.closes.value[0] < before.closes.value[0]
    assert after.max_lift.value[0] == pytest.approx(before.max_lift.value[0] - 0.15e-3, abs=0.01e-3)


def test_event_that_does_not_exist_is_absent(sample):
    setup = read_setup(sample("pump_twin"))
    result = events_study(setup, 0.009, "valve")
    assert np.isnan(result.opens.value).all()
    assert np.isnan(result.overlap.value).all()


def test_overlap_is_intake_opening_plus_exhaust_closing(sample):
    result = events_study(read_setup(sample()))
    assert result.overlap.value == pytest.approx(result.opens.value[::2] + result.closes.value[1::2])


def test_worn_nose_loses_lift_and_keeps_its_flanks(sample):
    setup = read_setup(sample("faulted_six"))
    worn, sound = setup.valves.index("4I"), setup.valves.index("5I")
    result = events_study(setup)
    assert result.max_lift.value[worn] < result.max_lift.value[sound] - 0.25e-3
    assert result.duration.value[worn] == pytest.approx(result.duration.value[sound], rel=1e-4)


def test_lobe_separation_gives_the_other_centerline(sample):
    """(108 + exhaust)/2 = 110 cam degrees, so that the exhaust centerline is 112."""
    result = events_study(read_setup(sample("pump_twin")), 1e-3, "tappet")
    assert np.degrees(result.centerline.value) == pytest.approx([108, 112, 108, 112], abs=1e-6)


def test_setup_is_frozen(sample):
    setup = read_setup(sample())
    with pytest.raises(AttributeError):
        setup.title = "other"
    assert replace(setup, title="other").title == "other"
