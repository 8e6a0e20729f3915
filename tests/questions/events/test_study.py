"""Events of a whole sheet against closed forms, and the honesty of their uncertainty."""

import mpmath
import numpy as np
import pytest

from tests.questions.lobe_sheets import CAM, LAW, LINKAGE, NOMINAL, lift_table, sheet
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS
from valvetrain.mechanics.rocker.linkage import pad_drop
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.events.answer import events_answer
from valvetrain.questions.events.lash_growth import growth_words
from valvetrain.questions.events.lash_sweep import events_sweep_study
from valvetrain.questions.events.lobe_doubt import flank_doubts
from valvetrain.questions.events.study import events_study
from valvetrain.questions.rocker.linkage_inputs import closed_linkage
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.read import read_setup


def cycloidal_root(share: float) -> float:
    """Angle from the nose [cam deg] at which a cycloidal flank of 60 deg has this share of its lift."""
    mpmath.mp.dps = 40
    u = mpmath.findroot(
        lambda x: x - mpmath.sin(2 * mpmath.pi * x) / (2 * mpmath.pi) - mpmath.mpf(share), 0.3
    )
    return float(60 * (1 - u))


@pytest.mark.parametrize("checking_lift", [0.0, 0.5, 3.0])
def test_events_at_the_valve_are_the_roots_of_the_law(tmp_path, checking_lift):
    setup = read_setup(sheet(tmp_path, NOMINAL, LAW, CAM))
    result = events_study(setup, checking_lift * 1e-3, "valve")
    half = 2 * cycloidal_root((checking_lift + 0.4) / 1.5 / 6.6)  # crank degrees
    events = {name: np.degrees(getattr(result, name).value) for name in ("opens", "closes", "duration")}
    assert events["opens"] == pytest.approx([half - 108, half + 112 - 180], abs=1e-9)
    assert events["closes"] == pytest.approx([half + 108 - 180, half - 112], abs=1e-9)
    assert events["duration"] == pytest.approx([2 * half] * 2, abs=1e-9)
    assert np.degrees(result.overlap.value) == pytest.approx([2 * half - 220], abs=1e-9)
    assert np.degrees(result.separation.value) == pytest.approx([110], abs=1e-9)


def test_area_at_the_tappet_is_the_integral_of_the_law(tmp_path):
    setup = read_setup(sheet(tmp_path, NOMINAL, LAW, CAM))
    result = events_study(setup, 1e-9, "tappet")
    # A law antisymmetric about its middle has half its lift as mean: 6.6 mm x 120 cam deg / 2, on the crank.
    assert np.degrees(result.area.value) * 1e3 == pytest.approx([6.6 * 120] * 2, rel=1e-6)


@pytest.mark.parametrize(("checking_lift", "at"), [(9.4, "valve"), (9.6, "valve"), (6.7, "tappet")])
def test_lift_that_is_never_reached_is_reported_as_absent(tmp_path, checking_lift, at):
    setup = read_setup(sheet(tmp_path, NOMINAL, LAW, CAM))
    result = events_study(setup, checking_lift * 1e-3, at)
    absent = checking_lift > (6.6 if at == "tappet" else 1.5 * 6.6 - 0.4)
    assert result.absent == (absent, absent)
    assert np.isnan(result.duration.value).all() == absent


def test_card_with_events_of_the_trade(tmp_path):
    # Common practice, no source: events at 0.020 in at the tappet; durations 188 and 213, centerlines
    # 107 after and 112.5 before TDC, overlap -19. The second lift of each card is invented.
    card = """
[lobe.intake]
lift = 6.6
events = [
    { checking_lift = "0.020 in", checked_at = "tappet", opens = -13, closes = 21 },
    { checking_lift = "0.050 in", checked_at = "tappet", opens = -29, closes = 4 },
]

[lobe.exhaust]
lift = 6.6
events = [
    { checking_lift = "0.020 in", checked_at = "tappet", opens = 39, closes = -6 },
    { checking_lift = "0.050 in", checked_at = "tappet", opens = 22, closes = -22 },
]
"""
    result = events_study(read_setup(sheet(tmp_path, NOMINAL, card)), 0.0254 * 0.020, "tappet")
    for name, expected in {
        "opens": (-13, 39),
        "closes": (21, -6),
        "duration": (188, 213),
        "centerline": (107, 112.5),
    }.items():
        assert np.degrees(getattr(result, name).value) == pytest.approx(expected, abs=1e-6), name
    assert np.degrees(result.overlap.value) == pytest.approx([-19], abs=1e-6)


def test_durations_at_the_valve_count_through_ratio_and_lash_of_the_card(tmp_path):
    card = """
[lobe]
card_valve_lift = 9.5
card_lift_is = "net"
card_lash = 0.4
card_ratio = 1.5
durations = [
    { checking_lift = 0.6, checked_at = "valve", lash = 0.4, duration = 240 },
    { checking_lift = 2.0, checked_at = "valve", lash = 0, duration = 205 },
]
"""
    setup = read_setup(sheet(tmp_path, NOMINAL, card, CAM))
    curve = lobe_curve(setup.trains[0].lobe)
    assert curve.max_lift == pytest.approx(9.9e-3 / 1.5, rel=1e-12)
    for tappet, duration in ((1.0 / 1.5, 240), (2.0 / 1.5, 205)):
        found = events_study(setup, tappet * 1e-3, "tappet").duration.value
        assert np.degrees(found) == pytest.approx([duration] * 2, abs=1e-6)


def test_doubt_of_a_card_vanishes_at_its_lifts_and_grows_between(sample):
    setup = read_setup(sample("pump_twin"))
    figures = [0.15e-3, 1.0e-3]
    curves = [lobe_curve(train.lobe) for train in setup.trains]

    def doubt(level):
        column = flank_doubts(setup, curves, np.full(4, level)).angle["width"]
        return 4 * np.degrees(column.uncertainty[0])

    # At its own lifts what is left is the card's rounding: 0.5 deg of the duration.
    for lift in figures:
        assert doubt(lift) == pytest.approx(0.4985, rel=1e-3)
    assert doubt(0.4e-3) > doubt(0.15e-3)
    assert doubt(0.05e-3) > doubt(0.1e-3) > doubt(0.15e-3)


def test_doubt_between_card_lifts_covers_lobes_that_share_the_card(tmp_path):
    # Lobes of every law, known to the sheet by a card of two lifts only: the truth should lie within two
    # standard uncertainties (and the flank's own, without the card's rounding) about as often as is said.
    inside, count = 0, 0
    for name in sorted(MOTION_LAWS):
        for ramp in (0.0, 0.25):
            law = LawLobe(
                name, 6.6e-3, 1.1, 1.1, 0, ramp * 1e-3, 0.4 if ramp else 0, ramp * 1e-3, 0.4 if ramp else 0
            )
            truth = lift_curve_from_law(law)
            low, high = np.degrees(2 * crossings(truth, np.array([0.3e-3, 1.27e-3])).duration)
            card = f"""
[lobe]
lift = 6.6
durations = [
    {{ checking_lift = 0.3, checked_at = "tappet", duration = "{low!r} +/- 0" }},
    {{ checking_lift = 1.27, checked_at = "tappet", duration = "{high!r} +/- 0" }},
]
""".replace("np.float64(", "").replace(")", "")
            setup = read_setup(sheet(tmp_path, NOMINAL, card, CAM))
            curve = lobe_curve(setup.trains[0].lobe)
            for level in (0.1e-3, 0.2e-3, 0.6e-3, 2e-3, 4e-3):
                doubt = flank_doubts(setup, [curve] * 2, np.full(2, level)).angle["width"].uncertainty[0]
                miss = abs(crossings(curve, level).opening - crossings(truth, level).opening)
                inside += miss <= 2 * doubt + 1e-9
                count += 1
    assert inside / count > 0.85


def table_sheet(tmp_path, lash_of_table, word):
    """A sheet whose lobe was read at valve 1I through the invented rocker, with or without lash."""
    law = LawLobe("modified sine", 6.6e-3, 1.1, 1.15, 0, 2.5e-4, 0.4, 2.5e-4, 0.45)
    plain = read_setup(sheet(tmp_path / "plain", LINKAGE, LAW, CAM, lash=str(lash_of_table)))
    rows = {key: column.value[:1] for key, column in linkage_columns(plain).items()}
    closed = closed_linkage(rows, np.array([lash_of_table * 1e-3]))
    degrees = np.arange(0.0, 360.0, 1.0)
    tappet = law.curves(np.radians(degrees) - np.pi)[0]
    drop = pad_drop(closed, tappet[np.newaxis])[0]
    valve = np.maximum(drop - lash_of_table * 1e-3, 0.0)
    lobe = f'[lobe.intake]\ntable = "lobe.csv"\nread_at_valve = "1I"\ntable_lift = "{word}"\n'
    lobe += f"table_lash = {lash_of_table}\n"
    folder = sheet(tmp_path / word, LINKAGE, lobe, CAM, lash="0.4")
    lift_table(folder / "lobe.csv", 2 * degrees, valve * 1e3, "crank_angle [deg],valve_lift [mm]")
    return read_setup(folder), lift_curve_from_law(law)


def test_gross_table_at_the_valve_gives_the_lobe_back(tmp_path):
    setup, truth = table_sheet(tmp_path, 0.0, "gross")
    curve = lobe_curve(setup.trains[0].lobe)
    assert curve.max_lift == pytest.approx(truth.max_lift, abs=2e-6)
    levels = np.array([0.2e-3, 0.5e-3, 1.27e-3, 4e-3])
    found, wanted = crossings(curve, levels).duration, crossings(truth, levels).duration
    assert np.degrees(found) == pytest.approx(np.degrees(wanted), abs=0.05)


def test_net_table_hides_the_lobe_below_its_lash(tmp_path):
    setup, truth = table_sheet(tmp_path, 0.5, "net")
    lobe = setup.trains[0].lobe
    curve = lobe_curve(lobe)
    assert curve.max_lift == pytest.approx(truth.max_lift, abs=5e-6)
    assert lobe.table.seen_from == pytest.approx(0.5e-3 / 1.5, rel=0.05)
    levels = np.array([0.5e-3, 1.27e-3, 4e-3])
    found, wanted = crossings(curve, levels).duration, crossings(truth, levels).duration
    assert np.degrees(found) == pytest.approx(np.degrees(wanted), abs=0.1)
    curves = [curve, None]
    below, above = (
        flank_doubts(setup, curves, np.full(2, level)).angle["width"].uncertainty[0]
        for level in (0.15e-3, 0.6e-3)
    )
    assert above == 0
    assert np.degrees(below) > 0.3
    miss = abs(crossings(curve, 0.15e-3).opening - crossings(truth, 0.15e-3).opening)
    assert miss < 3 * below


def test_rows_missing_on_one_flank_make_that_flank_unsure(tmp_path):
    setup, truth = table_sheet(tmp_path, 0.5, "net")
    angle = np.radians(np.arange(-180.0, 180.0, 5.0))
    reading = truth.lift(angle) + np.random.default_rng(2).normal(0.0, 12.7e-6, angle.size)
    level = 3e-3
    kept = np.abs(angle - crossings(truth, level).opening) > np.radians(8.0)
    curve = lift_curve_from_table(angle[kept], reading[kept])
    doubt = flank_doubts(setup, [curve, None], np.full(2, level)).lift
    opening, closing = (doubt[flank].uncertainty[0] for flank in ("opening", "closing"))
    assert opening > 2 * closing > 0


def test_sweep_agrees_with_the_study_at_every_lash(sample):
    setup = read_setup(sample())
    lashes = np.array([0.012, 0.018, 0.024]) * 0.0254
    checks = ((0.0, "valve"), (0.05 * 0.0254, "tappet"))
    sweep = events_sweep_study(setup, lashes, checks)
    for row, lash in enumerate(lashes):
        for column, (lift, at) in enumerate(checks):
            one = events_study(setup, lift, at, float(lash))
            for name in ("opens", "closes", "duration", "max_lift", "overlap", "area"):
                assert sweep.values[name][row, column] == pytest.approx(getattr(one, name).value, rel=1e-12)
                # Uncertainties are worked out at these three lashes themselves.
                doubt = getattr(one, name).uncertainty
                assert sweep.uncertainties[name][row, column] == pytest.approx(doubt, rel=1e-9)
    assert np.all(np.diff(sweep.values["duration"][:, 0], axis=0) < 0)


def test_lift_off_differs_from_the_tappet_figure(sample):
    # Common practice, no source: a lash of 0.019 in at a ratio near 1.5 is taken up well below 0.020 in.
    setup = read_setup(sample())
    lift_off = events_study(setup)
    at_tappet = events_study(setup, 0.020 * 0.0254, "tappet")
    taken_up = lift_off.tappet_lift_at_event.value / 0.0254
    assert np.all((taken_up > 0.010) & (taken_up < 0.016))
    assert np.all(np.degrees(lift_off.duration.value - at_tappet.duration.value) > 5)


def test_area_of_a_card_is_as_unsure_as_the_card_leaves_it(sample):
    setup = read_setup(sample("pump_twin"))
    area = events_study(setup, 1e-3, "tappet").area
    assert all(0.008 < share < 0.05 for share in area.uncertainty / area.value)


def test_lash_changed_by_as_much_at_every_valve_keeps_each_role_s_own(sample):
    setup = read_setup(sample("pump_twin"))
    own = setup.column("lash", "lash").value
    changes = np.array([-0.1e-3, 0.0, 0.1e-3])
    sweep = events_sweep_study(setup, changes, changed=True)
    assert own[0] != own[1]
    for row, change in enumerate(changes):
        one = events_study(setup, lash=own + change)
        for name in ("duration", "max_lift", "overlap"):
            assert sweep.values[name][row, 0] == pytest.approx(getattr(one, name).value, rel=1e-12)
            doubt = sweep.uncertainties[name][row, 0]
            assert doubt == pytest.approx(getattr(one, name).uncertainty, rel=1e-9)
    # More lash than there is leaves none, and no events.
    assert np.isnan(events_sweep_study(setup, [-0.4e-3, 0.0], changed=True).values["duration"][0]).all()


def test_hot_events_are_told_wherever_a_hot_lash_is_known(tmp_path):
    hot = "[hot.intake]\ncold_lash = 0.4\nhot_lash = 0.3\n"
    setup = read_setup(sheet(tmp_path / "one", NOMINAL, LAW, CAM, hot))
    answer = events_answer(setup, with_hot=True)
    # The pair was measured at an intake valve and says nothing of the exhaust's.
    assert np.isnan(answer.hot.duration.value[1])
    assert answer.hot.duration.value[0] == pytest.approx(events_study(setup, lash=0.3e-3).duration.value[0])
    changed = events_answer(setup, lashes=(-0.1e-3,), changed=True, with_hot=True)
    assert changed.hot.lash.value[0] == pytest.approx(0.2e-3)
    # One pair for both roles is used, and said to be.
    shared = read_setup(sheet(tmp_path / "both", NOMINAL, LAW, CAM, hot.replace("hot.intake", "hot")))
    assert not np.isnan(events_answer(shared, with_hot=True).hot.duration.value).any()
    assert "names no role" in growth_words(events_answer(shared).growth)[0]
    assert growth_words(answer.growth) == []
    none = events_answer(read_setup(sheet(tmp_path / "none", NOMINAL, LAW, CAM)), with_hot=True)
    assert none.hot is None
    assert "measured pair" in growth_words(none.growth)[0]


def test_hot_lash_at_the_pushrod_is_told_at_the_valve(tmp_path):
    hot = "[hot]\ncold_lash = 0.4\nhot_lash = 0.3\n"
    text = sheet(tmp_path, NOMINAL, LAW, CAM, hot)
    path = text / "setup.toml"
    path.write_text(path.read_text().replace('at = "valve"', 'at = "pushrod"'))
    answer = events_answer(read_setup(text), with_hot=True)
    assert answer.lash.value == pytest.approx([0.6e-3] * 2)
    assert answer.hot.lash.value == pytest.approx([0.45e-3] * 2)
    same = events_study(read_setup(text), lash=0.3e-3).duration.value
    assert answer.hot.duration.value == pytest.approx(same, rel=1e-9)
