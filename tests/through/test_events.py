"""Events: lobes by law through scipy's root finder, placed on the crank by hand (derived)."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .lobes import Lobe
from .marks import checks
from .sheets import merged, written

ROOTS = "scipy.optimize.brentq on lobe and linkage"
LAW = {"lift": 7.2, "law": "3-4-5 polynomial", "rise_angle": 64.0, "return_angle": 70.0, "nose_dwell": 5.0}
EVENTS = "lash opens closes duration centerline max_lift area tappet_lift_at_event checking_lift"


def event_sheet(seed, **changes):
    sheet = merged(engine(seed), **changes)
    sheet["lobe"] = dict(LAW)
    return sheet


def lobe_of():
    return Lobe(LAW["law"], LAW["lift"] * MM, LAW["rise_angle"] * DEG, LAW["return_angle"] * DEG, 5 * DEG)


def expected_events(sheet, role, checking, at):
    """Events on the crank [rad] and what lies between them, counted as a cam card counts."""
    model, lobe = linkage_of(sheet, role), lobe_of()
    drop = lambda a: model.drop(float(lobe.lift(a)))  # noqa: E731
    lift = (lambda a: float(lobe.lift(a))) if at == "tappet" else (lambda a: drop(a) - model.lash)
    nose = -lobe.center
    opens = brentq(lambda a: lift(a) - checking, nose - 66 * DEG, nose, xtol=1e-12)
    closes = brentq(lambda a: lift(a) - checking, nose, nose + 72 * DEG, xtol=1e-12)
    center = sheet["cam"][f"{role}_centerline"] * DEG
    place = (center if role == "intake" else -center) + 2 * np.array([opens, closes])
    grid = np.linspace(opens, closes, 801)
    values = lobe.lift(grid) if at == "tappet" else np.array([lift(a) for a in grid])
    from scipy.integrate import simpson

    before = -place[0] if role == "intake" else -np.pi - place[0]
    after = place[1] - np.pi if role == "intake" else place[1]
    middle = place.mean() if role == "intake" else -place.mean()
    return {
        "opens": before,
        "closes": after,
        "duration": place[1] - place[0],
        "centerline": middle,
        "max_lift": lift(nose),
        "area": 2 * simpson(values, x=grid),
        "tappet_lift_at_event": float(lobe.lift(opens)),
    }


def hold(found, wanted, lash, checking):
    assert found.si("lash") == pytest.approx(lash, abs=1e-12)
    assert found.si("checking_lift") == pytest.approx(checking, abs=1e-12)
    for name, value in wanted.items():
        assert found.si(name) == pytest.approx(value, rel=1e-6, abs=2e-6 if name != "area" else 1e-8), name


@pytest.mark.parametrize(
    ("seed", "checking", "at"), [(0, 1.0, "valve"), (1, 1.27, "tappet"), (2, 0.3, "valve")]
)
@checks("events.lobes", EVENTS, by=ROOTS, status="derived")
@checks("events.lift_off.lobes", EVENTS, by=ROOTS, status="derived")
@checks(
    "events",
    "overlap overlap_by_cylinder lobe_separation lobe_separation_by_cylinder lift_off.overlap "
    "lift_off.overlap_by_cylinder lift_off.lobe_separation lift_off.lobe_separation_by_cylinder "
    "by_checking_lift.checking_lift by_checking_lift.overlap by_checking_lift.overlap_by_cylinder "
    "by_checking_lift.lobe_separation by_checking_lift.lobe_separation_by_cylinder",
    by=ROOTS,
    status="derived",
)
def test_events(tmp_path, seed, checking, at):
    sheet = event_sheet(seed)
    answer = asked("events", written(tmp_path, sheet), "--at", at, "--checking-lift", f"{checking} mm")
    placed = {}
    for case, level, where in (("", checking * MM, at), ("lift_off", 0.0, "valve")):
        part = answer[case] if case else answer
        for role in ("intake", "exhaust"):
            wanted = placed[role] = expected_events(sheet, role, level, where)
            hold(part["lobes"].of(role=role), wanted, sheet["lash"][role] * MM, level)
        both = placed["intake"]["opens"] + placed["exhaust"]["closes"]
        apart = (placed["intake"]["centerline"] + placed["exhaust"]["centerline"]) / 2
        lists = [part] if case else [part, answer["by_checking_lift"].of(checked_at=at)]
        for each in lists:
            assert each.si("overlap") == pytest.approx(both, abs=5e-6)
            assert each.si("overlap_by_cylinder")[0] == pytest.approx(both, abs=5e-6)
            assert each.si("lobe_separation") == pytest.approx(apart, abs=5e-6)
            assert each.si("lobe_separation_by_cylinder")[0] == pytest.approx(apart, abs=5e-6)
    assert answer["by_checking_lift"][0].si("checking_lift") == pytest.approx(checking * MM)


@checks("events.hot.lobes", EVENTS, by=ROOTS + ", lash grown by a measured pair", status="derived")
def test_hot_events(tmp_path):
    sheet = event_sheet(0, hot={"cold_lash": 0.40, "hot_lash": 0.29})
    answer = asked("events", written(tmp_path, sheet))
    for role in ("intake", "exhaust"):
        lash = (sheet["lash"][role] - 0.11) * MM
        # The sheet's rocker at the hot lash: the pad stands so much higher on its base circle.
        hot = merged(sheet, lash={role: lash / MM})
        hold(answer["hot.lobes"].of(role=role), expected_events(hot, role, 0.0, "valve"), lash, 0.0)


@checks(
    "events.degree_wheel",
    "readings.checking_lift readings.centerline.read readings.centerline.card readings.centerline.difference "
    "readings.opens.read readings.opens.card readings.opens.difference readings.closes.read "
    "readings.closes.card readings.closes.difference readings.duration.read readings.duration.card "
    "readings.duration.difference advance_cam spread",
    by=ROOTS + "; a cam planted late",
    status="derived",
)
def test_degree_wheel_finds_a_late_cam(tmp_path):
    sheet = event_sheet(1)
    late, rows, cards = 3.0, [], {}
    for role, name, own in (("intake", "1I", 0.2), ("exhaust", "1E", -0.2)):
        card = cards[name] = expected_events(sheet, role, 1e-3, "tappet")
        shift = late + own
        rows.append({"valve": name, "checking_lift [mm]": 1.0, "checked_at": "tappet",
                     "opens": card["opens"] / DEG - shift,
                     "closes": card["closes"] / DEG + shift})  # fmt: skip
    wheel = asked("events", written(tmp_path, sheet, wheel=rows))["degree_wheel"]
    doubts = []
    for name, shift, sign in (("1I", 3.2, 1), ("1E", 2.8, -1)):
        reading, card = wheel["readings"].of(valve=name), cards[name]
        assert reading.si("checking_lift") == pytest.approx(1e-3)
        for event, moved in (
            ("opens", -shift),
            ("closes", shift),
            ("duration", 0.0),
            ("centerline", sign * shift),
        ):
            row = reading[event]
            assert row.si("card") == pytest.approx(card[event], abs=3e-6), (name, event)
            assert row.si("read") == pytest.approx(card[event] + moved * DEG, abs=1e-6), (name, event)
            assert row.si("difference") == pytest.approx(moved * DEG, abs=5e-6), (name, event)
        doubts.append(reading["centerline"].u("difference"))
    weights = np.array(doubts) ** -2.0
    mean = weights @ [3.2, 2.8] / weights.sum()
    assert wheel.si("advance_cam") == pytest.approx(mean * DEG, abs=5e-6)
    assert wheel.si("spread") == pytest.approx(max(3.2 - mean, mean - 2.8) * DEG, abs=5e-6)


def test_area_by_quadrature_agrees():
    """The helper's own area, once, against an adaptive rule."""
    sheet = event_sheet(0)
    model, lobe = linkage_of(sheet), lobe_of()
    wanted = expected_events(sheet, "intake", 1e-3, "valve")
    half = wanted["duration"] / 2
    middle = (wanted["centerline"] - sheet["cam"]["intake_centerline"] * DEG) / 2
    lift = lambda a: model.drop(float(lobe.lift(a))) - model.lash  # noqa: E731
    area = 2 * quad(lift, middle - half / 2, middle + half / 2, limit=100)[0]
    assert wanted["area"] == pytest.approx(area, rel=1e-6)
