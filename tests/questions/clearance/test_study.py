"""Clearances against brute force, and against a drawing's own arithmetic."""

import numpy as np
import pytest

from tests.laws.foreign_lobes import DEGREES, foreign_lobes
from tests.questions.lobe_sheets import CAM, NOMINAL, lift_table, sheet
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.questions.clearance.study import clearance_study
from valvetrain.questions.events.study import events_study
from valvetrain.setup.read import read_setup

LAW = """
[lobe]
law = "cycloidal"
lift = 6.6
rise_angle = 72
"""
PISTON = """
[piston]
gasket_thickness = 1.0
deck_clearance = 0.4
relief_floor = "parallel"
compression_ratio = "9.5 +/- 0"

[piston.intake]
valve_recess = 1.5
relief_depth = 0.6
valve_angle = 12

[piston.exhaust]
valve_recess = 1.3
relief_depth = 0.0
relief_floor = "square"
valve_angle = 12
"""
STROKE, ROD = 88.392, 144.78


def drop(angle):
    """Piston below top dead center [mm], the usual formula of the slider-crank."""
    r = STROKE / 2
    return r + ROD - r * np.cos(angle) - np.sqrt(ROD**2 - (r * np.sin(angle)) ** 2)


def net_lift(angle, center, lash=0.4):
    """Valve lift [mm] of the cycloidal lobe at a ratio of 1.5."""
    law = LawLobe("cycloidal", 6.6, np.radians(72), np.radians(72))
    return np.maximum(1.5 * law.curves(0.5 * (angle - center))[0] - lash, 0.0)


@pytest.fixture
def setup(tmp_path):
    return read_setup(sheet(tmp_path, NOMINAL, LAW, CAM, PISTON))


@pytest.mark.parametrize("advance", [-6.0, 0.0, 4.0])
def test_least_clearance_by_brute_force(setup, advance):
    result = clearance_study(setup, np.radians(advance))
    angle = np.radians(np.linspace(-75, 75, 300001))
    tilt = np.cos(np.radians(12))
    for index, (center, gap, factor) in enumerate(
        (((108 - advance), 3.5, tilt), ((-112 - advance), 2.7, 1 / tilt))
    ):
        clearance = gap * factor + drop(angle) * factor - net_lift(angle, np.radians(center))
        least = int(np.argmin(clearance))
        assert result.clearance.value[index] * 1e3 == pytest.approx(clearance[least], abs=2e-4)
        at = float(np.degrees(result.at_angle.value[index]))
        assert at == pytest.approx(np.degrees(angle[least]), abs=0.05)


def test_change_with_advance_and_lash(setup):
    here = clearance_study(setup)
    step = 0.5
    there, back = (clearance_study(setup, np.radians(way * step)) for way in (1, -1))
    rate = (there.clearance.value - back.clearance.value) / (2 * step)
    assert here.per_degree_advance == pytest.approx(rate, rel=0.02)
    assert here.per_degree_advance[0] < 0 < here.per_degree_advance[1]
    wider = clearance_study(setup, lash=0.45e-3)
    moved = (wider.clearance.value - here.clearance.value) / 0.05e-3
    assert here.per_lash == pytest.approx(moved, rel=0.01)


def test_effective_ratio_counts_from_the_seating_at_the_lash(setup):
    result = clearance_study(setup)
    closes = float(events_study(setup).closes.value[0])
    left = drop(np.pi + closes) / STROKE
    assert result.static_ratio.value == pytest.approx([9.5])
    assert result.effective_ratio.value == pytest.approx([1 + 8.5 * left], rel=1e-9)


def test_effective_ratio_follows_the_cam_and_is_as_unsure_as_the_closing(setup):
    advance = np.radians(6.0)
    closes = events_study(setup).closes
    for way in (-1, 1):
        result = clearance_study(setup, advance=way * advance)
        left = drop(np.pi + float(closes.value[0]) - way * advance) / STROKE
        assert result.effective_ratio.value == pytest.approx([1 + 8.5 * left], rel=1e-9)
    doubt = float(closes.uncertainty[0])
    ends = [1 + 8.5 * drop(np.pi + float(closes.value[0]) + way * doubt) / STROKE for way in (-1, 1)]
    found = clearance_study(setup).effective_ratio
    assert found.uncertainty[0] >= 0.99 * abs(ends[1] - ends[0]) / 2


def test_effective_ratio_of_checks_md(tmp_path):
    # Derived: static 9.5, this crank, intake closing 50 deg after BDC: 8.3679.
    law = LAW.replace("rise_angle = 72", "rise_angle = 71")
    cam = CAM.replace("intake_centerline = 108", 'intake_centerline = "108 deg"')
    found = events_study(read_setup(sheet(tmp_path / "a", NOMINAL, law, cam))).closes.value[0]
    center = 108 + 50 - float(np.degrees(found))
    cam = CAM.replace("intake_centerline = 108", f"intake_centerline = {center!r}")
    result = clearance_study(read_setup(sheet(tmp_path / "b", NOMINAL, law, cam, PISTON)))
    assert float(result.effective_ratio.value[0]) == pytest.approx(8.3679, abs=5e-5)


def test_static_ratio_from_volumes(tmp_path):
    volumes = PISTON.replace(
        'compression_ratio = "9.5 +/- 0"', "chamber_volume = 55\ncrown_volume = 4\ngasket_bore = 92"
    )
    result = clearance_study(read_setup(sheet(tmp_path, NOMINAL, LAW, CAM, volumes)))
    clearance = 55 + 4 + np.pi / 4 * (9.2**2 * 0.1 + 9.0**2 * 0.04)
    swept = np.pi / 4 * 9.0**2 * 8.8392
    assert result.static_ratio.value == pytest.approx([1 + swept / clearance], rel=1e-9)


def test_readings_with_a_dial_come_first_and_count_the_lash(tmp_path):
    readings = PISTON.replace(
        "[piston.intake]\n", '[piston.intake]\nreadings = "read.csv"\nreadings_lash = 0.0\n'
    )
    folder = sheet(tmp_path, NOMINAL, LAW, CAM, readings)
    degrees = np.arange(-5.0, 31.0, 5.0)
    clearance = 3.0 + 0.002 * (degrees - 12.0) ** 2
    lift_table(folder / "read.csv", degrees, clearance, "crank_angle,clearance")
    result = clearance_study(read_setup(folder))
    # Read without lash; the 0.4 mm set since then lets the valve down by so much less.
    assert result.measured.value[0] * 1e3 == pytest.approx(3.4, abs=1e-6)
    assert np.degrees(result.measured_angle.value[0]) == pytest.approx(12.0, abs=1e-6)
    assert result.judged.value[0] == result.measured.value[0]
    assert result.judged.value[1] == result.clearance.value[1]


def test_valve_to_valve_of_upright_heads(tmp_path):
    heads = "[valve.intake]\nhead_diameter = 40\n\n[valve.exhaust]\nhead_diameter = 34\n"
    piston = PISTON + "\n[piston]\n".replace("[piston]\n", "")
    piston = piston.replace("[piston]\n", "[piston]\nvalve_spacing = 41\nhead_thickness = 1.5\n")
    result = clearance_study(read_setup(sheet(tmp_path, NOMINAL, LAW, CAM, piston, heads)))
    # Stems that stand upright keep their heads 41 - 20 - 17 mm apart whatever their lift.
    assert result.valve_gap.value * 1e3 == pytest.approx([4.0], abs=1e-9)


def test_valve_to_valve_of_leaning_heads_is_least_in_the_overlap(tmp_path):
    heads = "[valve.intake]\nhead_diameter = 40\n\n[valve.exhaust]\nhead_diameter = 34\n"
    piston = PISTON.replace("[piston]\n", "[piston]\nvalve_spacing = 41\nvalves_between = 30\n")
    result = clearance_study(read_setup(sheet(tmp_path, NOMINAL, LAW, CAM, piston, heads)))
    assert result.valve_gap.value[0] * 1e3 == pytest.approx(least_by_points(result), abs=0.01)
    assert result.valve_gap.value[0] * 1e3 < 41 - (20 + 17) * np.cos(np.radians(15)) - 0.2


def least_by_points(result):
    """Least distance [mm] between points strewn over the rims of both heads, over all angles."""
    lean, edge = np.radians(15), np.linspace(-1, 1, 301)
    faces = []
    for sign, radius, lift in ((-1, 20, result.lift[0]), (1, 17, result.lift[1])):
        up = np.array([sign * np.sin(lean), np.cos(lean)])
        across = np.array([np.cos(lean), -sign * np.sin(lean)])
        center = np.array([sign * 20.5, 0.0]) - lift[:, np.newaxis] * 1e3 * up
        rim = np.concatenate(
            [edge[:, np.newaxis] * radius * across, -sign * radius * across + edge[150:, None] * up]
        )
        faces.append(center[:, np.newaxis] + rim)
    gaps = [np.hypot(*(a[:, np.newaxis] - b).transpose(2, 0, 1)).min() for a, b in zip(*faces, strict=True)]
    return min(gaps)


def test_relief_wall(tmp_path):
    heads = "[valve]\nhead_diameter = 40\n"
    piston = PISTON.replace(
        "[piston.intake]\n",
        "[piston.intake]\nrelief_radius = 22\nrelief_offset_along = 0.6\nrelief_offset_across = -0.8\n",
    )
    result = clearance_study(read_setup(sheet(tmp_path, NOMINAL, LAW, CAM, piston, heads)))
    assert result.relief_gap.value[0] * 1e3 == pytest.approx(1.0, abs=1e-9)
    assert np.isnan(result.relief_gap.value[1])


def test_nothing_of_the_piston_is_nothing_asked(sample):
    result = clearance_study(read_setup(sample("pump_twin")))
    assert not result.described or np.isfinite(result.judged.value).any()


def test_doubt_of_clearance_from_a_card_covers_lobes_that_share_it(tmp_path):
    # The same lobes once as their law and once by a card of two low lifts, on a cam with deep overlap: how
    # full a lobe is between its card and its nose the card does not say.
    cam = CAM.replace("108", "76").replace("112", "78")
    laws = ("cycloidal", "modified sine", "3-4-5 polynomial", "constant acceleration")
    off = []
    for number, (law, (height, angle)) in enumerate(
        (law, ramp) for law in laws for ramp in ((0.0, 0.0), (0.2, 25.0), (0.36, 40.0))
    ):
        ramp = f"ramp_height = {height}\nramp_angle = {angle}\n" if height else ""
        lobe = f'[lobe]\nlift = 6.6\nlaw = "{law}"\nrise_angle = 66\n{ramp}'
        true = clearance_study(read_setup(sheet(tmp_path / f"a{number}", NOMINAL, lobe, cam, PISTON)))
        length = np.radians(angle)
        curve = LawLobe(law, 6.6, np.radians(66), np.radians(66), 0, height, length, height, length)
        grid = np.linspace(0, np.radians(66 + angle), 40001)
        widths = [4 * np.degrees(np.interp(-each, -curve.curves(grid)[0], grid)) for each in (0.5, 1.27)]
        durations = ", ".join(
            f'{{ checking_lift = {each}, checked_at = "tappet", duration = "{width!r} +/- 0" }}'
            for each, width in zip((0.5, 1.27), map(float, widths), strict=True)
        )
        card = f"[lobe]\nlift = 6.6\ndurations = [{durations}]\n"
        found = clearance_study(read_setup(sheet(tmp_path / f"b{number}", NOMINAL, card, cam, PISTON)))
        shape = np.abs(found.clearance.contributions["the lobe's shape"])
        off += list((found.clearance.value - true.clearance.value) / shape)
    assert np.mean(np.abs(off) < 2) > 0.9
    assert 0.3 < np.sqrt(np.mean(np.square(off))) < 1.3


@pytest.mark.parametrize("center", [104.0, 118.0, 121.0, 124.0, 127.0])
def test_least_where_the_valve_closes_near_top_dead_center(tmp_path, center):
    """The exhaust valve meets its seat within some degrees of it: the least is on a kink, or beside it."""
    law = LAW.replace("rise_angle = 72", "rise_angle = 66\nramp_height = 0.35\nramp_angle = 20")
    cam = CAM.replace("exhaust_centerline = 112", f"exhaust_centerline = {center}")
    setup = read_setup(sheet(tmp_path, NOMINAL, law, cam, PISTON))
    result = clearance_study(setup)
    rise, ramp = np.radians([66, 20])
    lobe = LawLobe("cycloidal", 6.6, rise, rise, 0, 0.35, ramp, 0.35, ramp)
    angle = np.radians(np.linspace(-75, 75, 600001))
    lift = np.maximum(1.5 * lobe.curves(0.5 * (angle + np.radians(center)))[0] - 0.4, 0.0)
    path = (1.0 + 0.4 + 1.3 + 0.0 + drop(angle)) / np.cos(np.radians(12)) - lift
    assert result.clearance.value[1] * 1e3 == pytest.approx(path.min(), abs=2e-5)
    assert np.degrees(result.at_angle.value[1]) == pytest.approx(np.degrees(angle[np.argmin(path)]), abs=0.05)


def test_advance_counts_from_where_the_wheel_found_the_cam(tmp_path, document):
    """A cam read 4 crank degrees late and advanced by 4 clears as one that stands on its card."""
    plain = sheet(tmp_path / "plain", NOMINAL, LAW, CAM, PISTON)
    late = sheet(tmp_path / "late", NOMINAL, LAW, CAM, PISTON, '[tables]\nwheel = "wheel.csv"\n')
    opens, closes = 40.0, 40.0 + 2 * 108 - 180
    exhaust = 36.0, 36.0 - 2 * 112 + 180
    (late / "wheel.csv").write_text(
        "valve,checking_lift,checked_at,opens,closes\n"
        f"1I,1.0,tappet,{opens - 4 - 36},{closes + 4 - 36}\n1E,1.0,tappet,{exhaust[0] - 4},{exhaust[1] + 4}\n"
    )

    def cleared(folder, *options):
        answer = document("clearance", folder, *options)["results"]
        return [row["clearance"]["value"] for row in answer["valves"]], answer["cam_position"]

    stands, card = cleared(plain), cleared(late, "--cam", "card")
    assert card == (pytest.approx(stands[0], abs=1e-9), "card")
    found = cleared(late)
    assert found[1] == "wheel"
    assert found[0] == pytest.approx(cleared(plain, "--advance", "-4")[0], abs=1e-9)
    assert cleared(late, "--advance", "4")[0] == pytest.approx(stands[0], abs=1e-9)
    more = cleared(plain, "--lash-change", "0.1")[0]
    assert more == pytest.approx(cleared(plain, "--lash", "0.5")[0], abs=1e-12)


def test_clearance_from_a_card_holds_every_lobe_that_meets_it(tmp_path, run):
    """Foreign lobes, known to the sheet by their cards only: their clearance lies within what is said."""
    random, score = np.random.default_rng(17), []
    angle, tilt = np.radians(np.linspace(-75, 75, 3001)), np.cos(np.radians(12))
    for number, lobe in enumerate(foreign_lobes(6, 13)):
        lifts = np.array([0.5, 1.27]) if number % 2 else np.array([1.27, 5.0])
        durations = np.round(2 * np.sum(lobe.angles(lifts), axis=0))
        rows = ", ".join(
            f'{{ checking_lift = {lift}, checked_at = "tappet", duration = {duration} }}'
            for lift, duration in zip(lifts, durations, strict=True)
        )
        card = f"[lobe]\nlift = {lobe.lift}\ndurations = [ {rows} ]\n"
        into, out = random.uniform(104, 112), random.uniform(106, 114)
        cam = f"[cam]\nintake_centerline = {into}\nexhaust_centerline = {out}\n"
        result = clearance_study(read_setup(sheet(tmp_path / str(number), NOMINAL, card, cam, PISTON)))
        # The card's center is read 1.27 mm below the nose.
        before, after = lobe.angles(lobe.lift - 1.27)
        for index, at in enumerate((into, -out)):
            cam_angle = np.degrees(0.5 * (angle - np.radians(at))) + 0.5 * (after - before)
            side = (lobe.opening if index == 0 else lobe.closing, DEGREES)
            rise = np.interp(np.abs(cam_angle), side[1], side[0])
            lift = np.maximum(1.5 * rise - 0.4, 0.0)
            fall = (1.0 + 0.4 + 1.5 + 0.6 + drop(angle)) * tilt if index == 0 else (2.7 + drop(angle)) / tilt
            true = float(np.min(fall - lift))
            score.append(
                (result.clearance.value[index] * 1e3 - true) / result.clearance.uncertainty[index] / 1e3
            )
    assert np.mean(np.abs(score) < 2) > 0.9
    assert np.mean(np.abs(score) < 0.5) < 0.85  # the doubt is not one that holds anything
    said = " ".join(run("clearance", tmp_path / "0").stdout.split())
    assert "known from the cam card only: the lobes that meet it differ by up to" in said
