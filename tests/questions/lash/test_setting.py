"""Lash against ramps, cold and hot, adjuster: against the arithmetic of the trade and of expansion."""

import numpy as np
import pytest

from tests.questions.lobe_sheets import CAM, LINKAGE, NOMINAL, lift_table, sheet
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.questions.lash.answer import lash_answer
from valvetrain.questions.lash.setting import lash_setting_study
from valvetrain.setup.read import read_setup

IN = 0.0254
RAMP = """
[lobe]
law = "cycloidal"
lift = "0.260 in"
rise_angle = 60
ramp_height = "0.010 +/- 0 in"
ramp_angle = 24
closing_ramp_height = "0.013 +/- 0 in"
closing_ramp_angle = 30
"""
PATH = """
[thermal]
cold_temperature = 20
block_temperature = 90
head_temperature = 100
stand_temperature = 95
valve_temperature = 300
cam_to_deck = 200
deck_to_stand = 90
seat_to_stand = 75
stand_height = 30
tappet_height = 40
seat_to_tip = 110
block_material = "grey iron"
head_material = "cast aluminum 356.0"
stand_material = "cast aluminum 356.0"
cam_material = "ductile iron"
tappet_material = "grey iron"
pushrod_material = "carbon steel 1020"
valve_material = "alloy steel 4140"

[lobe]
base_radius = 15
law = "cycloidal"
lift = 6.6
rise_angle = 60
"""


def test_ramp_left_is_the_trade_s_arithmetic(tmp_path):
    # Common practice, no source: ramp ends at 0.010 lobe lift, take-up 0.003, ratio 1.5: lash 0.0105
    # uses it up.
    rocker = NOMINAL.replace("thread_pitch", 'take_up = "0.003 +/- 0 in"\nthread_pitch')
    result = lash_setting_study(read_setup(sheet(tmp_path, rocker, RAMP, CAM, lash=str(0.0105 * 25.4))))
    assert result.opening_left.value / IN == pytest.approx([0.0] * 2, abs=1e-9)
    assert result.closing_left.value / IN == pytest.approx([0.0045] * 2, abs=1e-9)
    assert result.ramp_left.value == pytest.approx(result.opening_left.value)
    assert result.greatest_lash.value / IN == pytest.approx([0.0105] * 2, abs=1e-9)


def test_seating_speed_is_that_of_the_ramp(tmp_path):
    result = lash_setting_study(read_setup(sheet(tmp_path, NOMINAL, RAMP, CAM, lash=str(0.012 * 25.4))))
    # The velocity of a ramp is constant after its first quarter: height/(length x (1 - 1/8)), [m/rad].
    for name, height, length in (("opening", 0.010, 24), ("closing", 0.013, 30)):
        velocity = height * IN / (np.radians(length) * 0.875)
        assert getattr(result, f"{name}_velocity").value == pytest.approx([velocity] * 2, rel=1e-9)
        cam_speed = 0.5 * 4000 * np.pi / 30
        assert getattr(result, f"{name}_speed").value == pytest.approx(
            [1.5 * cam_speed * velocity] * 2, rel=1e-9
        )


def test_turns_of_the_adjuster(tmp_path):
    # Common practice, no source: turns = lash/(pitch x ratio); the locknut adds about 0.001 in.
    rocker = NOMINAL.replace("thread_pitch", 'locknut_gain = "0.001 in"\nthread_pitch')
    result = lash_setting_study(read_setup(sheet(tmp_path, rocker, RAMP, CAM, lash="0.4")))
    assert result.turns.value == pytest.approx([(0.4 - 0.0254) / 1.5] * 2, rel=1e-12)


def test_hot_lash_follows_from_the_path(tmp_path):
    linkage = LINKAGE.replace("length = 240.0", 'length = "240.0 +/- 0"')
    folder = sheet(tmp_path, linkage, PATH, CAM, "[hot]\nwanted_hot_lash = 0.30\n")
    result = lash_setting_study(read_setup(folder))
    ratio = result.thermal  # its own ratio is that of the base circle
    # Published coefficients (Callister, Table B.6); free growth of each part, in 1e-6 mm.
    above_seat = 21.5 * 75 * 80 + 21.5 * 30 * 75
    valve = 12.3 * 110 * 280
    above_cam = 11.4 * 200 * 70 + 21.5 * 90 * 80 + 21.5 * 30 * 75
    train = 11.2 * 15 * 70 + 11.4 * 40 * 70 + 11.7 * 240 * 75
    # The ratio on the base circle by a finite difference of the study's own gross lift is near 1.5.
    lever = (result.growth.value[0] * 1e9 - (above_seat - valve)) / (above_cam - train)
    assert lever == pytest.approx(float(result.ratio_at_opening.value[0]), rel=2e-3)
    assert result.hot_lash.value == pytest.approx(result.cold_lash.value + result.growth.value, abs=1e-15)
    assert result.cold_to_set.value == pytest.approx(0.30e-3 - result.growth.value, abs=1e-15)
    assert ratio.source == ("expansion path", "expansion path")
    assert result.runs_hot == (True, True)
    assert np.all(result.growth.uncertainty > 2e-6)


def test_measured_pair_overrides_the_path_and_a_usual_range_comes_last(tmp_path):
    pair = "[hot]\ncold_lash = 0.40\nhot_lash = 0.46\n"
    measured = lash_setting_study(read_setup(sheet(tmp_path / "a", LINKAGE, PATH, CAM, pair)))
    assert measured.growth.value * 1e3 == pytest.approx([0.06] * 2, abs=1e-12)
    assert measured.thermal.source[0] == "measured pair"
    usual = '[thermal]\nconstruction = "aluminum"\n'
    known = lash_setting_study(read_setup(sheet(tmp_path / "b", NOMINAL, RAMP, CAM, usual)))
    # Common practice, no source: all aluminum +0.007 to +0.015 in.
    assert known.growth.value / IN == pytest.approx([0.011] * 2, rel=1e-12)
    assert known.growth.uncertainty / IN == pytest.approx([0.008 / np.sqrt(12)] * 2, rel=1e-9)


def test_lash_set_hot_gives_the_cold_one(tmp_path):
    pair = "[hot]\ncold_lash = 0.40\nhot_lash = 0.46\n"
    folder = sheet(tmp_path, NOMINAL, RAMP, CAM, pair, lash="0.5", state="hot")
    result = lash_setting_study(read_setup(folder))
    assert result.hot_lash.value * 1e3 == pytest.approx([0.5] * 2)
    assert result.cold_lash.value * 1e3 == pytest.approx([0.44] * 2)


def test_half_described_path_says_what_it_lacks(tmp_path):
    half = PATH.replace("seat_to_tip = 110\n", "").replace('valve_material = "alloy steel 4140"\n', "")
    result = lash_setting_study(read_setup(sheet(tmp_path, LINKAGE, half, CAM)))
    assert np.isnan(result.growth.value).all()
    assert result.thermal.missing[0] == ("thermal.seat_to_tip", "thermal.valve_material")


def test_card_shows_no_ramp_and_gets_no_window_without_its_height(sample):
    folder = sample("pump_twin")
    given = lash_setting_study(read_setup(folder))
    assert given.ramp_from == ("stated",) * 4
    # The card's own height, 0.35 mm, times the ratio there, less the lash that the engine runs with.
    left = 0.35e-3 * given.ratio_at_opening.value - given.hot_lash.value
    np.testing.assert_allclose(given.ramp_left.value, left, rtol=1e-9)
    sheet_file = folder / "setup.toml"
    lines = sheet_file.read_text().splitlines(keepends=True)
    sheet_file.write_text("".join(line for line in lines if not line.startswith("ramp_height")))
    result = lash_setting_study(read_setup(folder))
    assert result.ramp_from == ("card",) * 4
    assert np.isnan(result.ramp_left.value).all()
    assert np.isfinite(result.closing_speed.value).all()


@pytest.mark.parametrize("seed", range(4))
def test_ramp_read_off_a_noisy_table_covers_the_truth(tmp_path, seed):
    law = LawLobe("modified sine", 6.6e-3, 1.1, 1.1, 0, 3.4e-4, 0.45, 3.0e-4, 0.5)
    random = np.random.default_rng(seed)
    degrees = np.arange(0.0, 360.0, 2.0)
    lift = law.curves(np.radians(degrees) - np.pi)[0] * 1e3 + random.normal(0, 0.004, degrees.size)
    folder = sheet(tmp_path, NOMINAL, '[lobe]\ntable = "lobe.csv"\n', CAM)
    lift_table(folder / "lobe.csv", degrees, lift, "cam_angle,tappet_lift")
    result = lash_setting_study(read_setup(folder))
    for name, height in (("opening_ramp", 3.4e-4), ("closing_ramp", 3.0e-4)):
        quantity = getattr(result, name)
        assert abs(quantity.value[0] - height) < 2.5 * quantity.uncertainty[0], name


def test_trend_over_lashes_is_the_study_at_each(sample):
    setup = read_setup(sample())
    answer = lash_answer(setup, [0.015 * IN, 0.020 * IN])
    for row, lash in enumerate(answer.trend.lashes):
        one = lash_setting_study(setup, float(lash))
        for name, values in answer.trend.values.items():
            assert values[row] == pytest.approx(getattr(one, name).value, rel=1e-12), name


def test_seating_speed_from_a_card_is_less_sure_without_its_ramps(sample):
    folder = sample("pump_twin")
    stated = lash_setting_study(read_setup(folder))
    lines = (folder / "setup.toml").read_text().splitlines(keepends=True)
    (folder / "setup.toml").write_text("".join(line for line in lines if not line.startswith("ramp_height")))
    without = lash_setting_study(read_setup(folder))
    for name in ("opening_velocity", "closing_velocity"):
        known, unknown = getattr(stated, name), getattr(without, name)
        assert np.all(known.uncertainty < 0.3 * known.value)
        assert np.all(unknown.uncertainty > 1.3 * known.uncertainty)
        assert np.all(np.abs(known.value - unknown.value) < 2 * unknown.uncertainty)


def test_lash_changed_from_each_valve_s_own(sample):
    setup = read_setup(sample("pump_twin"))
    own = setup.column("lash", "lash").value
    answer = lash_answer(setup, [-0.1e-3, 0.1e-3], changed=True)
    for row, change in enumerate((-0.1e-3, 0.1e-3)):
        one = lash_setting_study(setup, own + change)
        for name in answer.trend.values:
            assert answer.trend.values[name][row] == pytest.approx(getattr(one, name).value, rel=1e-12), name
            doubt = getattr(one, name).uncertainty
            assert answer.trend.uncertainties[name][row] == pytest.approx(doubt, rel=1e-12), name
