"""Control: every link cut free and solved with numpy, the linkage by scipy's root finder (derived)."""

import numpy as np
import pytest
from scipy.optimize import brentq

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .lobes import Lobe
from .marks import checks
from .sheets import merged, written
from .train import Train

LAW = {"lift": 7.0, "law": "4-5-6-7 polynomial", "rise_angle": 66.0, "nose_dwell": 0.0}
MASSES = {"retainer_mass": 20.0, "keeper_mass": 5.0, "spring_mass": 75.0, "pushrod_mass": 62.0,
          "tappet_mass": 88.0, "rocker_inertia": 38.0}  # fmt: skip
GRAMS = 1e-3
VALVE_SIDE = (100.0 + 20.0 + 5.0 + 0.3 * 75.0) * GRAMS
INERTIA, FOLLOWER = 38.0 * 1e-6, (62.0 + 88.0) * GRAMS
REDLINE = 5200 * np.pi / 30
BODIES = "free bodies solved with numpy, linkage by scipy.optimize.brentq"


def control_sheet(seed, friction=0.0):
    sheet = merged(
        engine(seed),
        engine={"redline": 5200},
        masses=MASSES,
        valve={"mass": 100.0},
        control={"spring_share": 0.3, "tip_friction": friction, "shaft_friction": 0.0},
        contact={"friction": 0.0, "tip_over_guide": 40.0},
        lash={"intake": 0.05, "exhaust": 0.06},
    )
    sheet["lobe"] = {**LAW, "base_radius": 16.0, "width": 14.0}
    return sheet


def train_of(sheet, role):
    lobe = Lobe(LAW["law"], LAW["lift"] * MM, LAW["rise_angle"] * DEG)
    friction = sheet["control"]["tip_friction"]
    return Train(linkage_of(sheet, role), lobe, 308.0, 28e3, (VALVE_SIDE, INERTIA, FOLLOWER), friction)


@pytest.mark.parametrize(("seed", "role"), [(0, "intake"), (1, "exhaust")])
@checks(
    "control.valves",
    "limit_speed limit_angle limit_lift control_margin seat_load seat_load_needed seat_load_spare nose_load "
    "valve_side_mass rocker_inertia follower_mass",
    by=BODIES,
    status="derived",
)
@checks("control", "redline", by="the sheet's own", status="derived")
def test_speed_to_which_the_train_follows(tmp_path, seed, role):
    sheet = control_sheet(seed)
    answer = asked("control", written(tmp_path, sheet))
    valve, train = answer["valves"].of(role=role), train_of(sheet, role)
    assert answer.si("redline") == pytest.approx(REDLINE)
    speed, at = train.limit()
    assert valve.si("limit_speed") == pytest.approx(speed, rel=2e-4)
    assert abs(valve.si("limit_angle")) == pytest.approx(2 * abs(at), abs=3.0 * DEG)
    # The command tells angle and lift of the nearest of its samples, 1.5 cam degrees apart.
    near = [train.forces(at + way * 1.5 * DEG, 0.0)["lift"] for way in (-1, 1)]
    assert min(near) <= valve.si("limit_lift") <= max(near)
    assert valve.si("control_margin") == pytest.approx(speed / REDLINE - 1, abs=3e-4)
    assert valve.si("seat_load") == pytest.approx(308.0, rel=1e-9)
    # The seat load that just holds at the redline, by the secant.
    slack = []
    for seat in (100.0, 400.0):
        train.seat = seat
        slack.append(train.least(REDLINE)[0])

    def left(seat):
        train.seat = seat
        return train.least(REDLINE)[0]

    needed = brentq(left, 1.0, 2000.0, xtol=1e-3)
    assert slack[0] < slack[1]
    assert valve.si("seat_load_needed") == pytest.approx(needed, rel=5e-3)
    assert valve.si("seat_load_spare") == pytest.approx(308.0 - valve.si("seat_load_needed"), abs=1e-9)
    train.seat = 308.0
    nose = max(train.forces(t, 0.0)["lobe"] for t in np.linspace(-60 * DEG, 60 * DEG, 241))
    assert valve.si("nose_load") == pytest.approx(nose, rel=1e-4)
    assert valve.si("valve_side_mass") == pytest.approx(VALVE_SIDE, rel=1e-9)
    assert valve.si("rocker_inertia") == pytest.approx(INERTIA, rel=1e-9)
    assert valve.si("follower_mass") == pytest.approx(FOLLOWER, rel=1e-9)


@checks(
    "control.valves",
    "gain_by_seat_load gain_by_rate gain_by_valve_side gain_by_rocker gain_by_follower "
    "nose_load_by_seat_load "
    "nose_load_by_rate",
    by="differences of " + BODIES,
    status="derived",
)
def test_what_would_raise_the_speed(tmp_path):
    sheet = control_sheet(0)
    valve, train = asked("control", written(tmp_path, sheet))["valves"][0], train_of(sheet, "intake")
    angles = np.linspace(-60 * DEG, 60 * DEG, 241)

    def by(field, way):
        def at(share):
            was = getattr(train, field)
            setattr(train, field, was * (1 + share))
            found = train.limit()[0], max(train.forces(t, 0.0)["lobe"] for t in angles)
            setattr(train, field, was)
            return np.array(found)

        return way * (at(1e-3) - at(-1e-3)) / 2e-3 * 0.1

    for name, field, way in (
        ("seat_load", "seat", 1),
        ("rate", "rate", 1),
        ("valve_side", "valve_side", -1),
        ("rocker", "inertia", -1),
        ("follower", "follower", -1),
    ):
        gain, load = by(field, way)
        assert valve.si(f"gain_by_{name}") == pytest.approx(gain, rel=0.02), name
        if way > 0:
            assert valve.si(f"nose_load_by_{name}") == pytest.approx(load, rel=2e-3), name


@pytest.mark.parametrize("friction", [0.0, 0.12])
@checks(
    "control.roles",
    "crank_speed peaks.lobe peaks.least_lobe peaks.cup peaks.tip peaks.shaft peaks.side peaks.tilting_moment "
    "peaks.camshaft_torque shaft_direction",
    by=BODIES,
    status="derived",
)
def test_peaks_of_the_loads(tmp_path, friction):
    sheet = control_sheet(2, friction)
    role = asked("control", written(tmp_path, sheet))["roles"].of(role="intake")
    train = train_of(sheet, "intake")
    speeds, theta = role.si("crank_speed"), np.radians(np.arange(-180.0, 180.0, 1.0))
    assert speeds[0] == 0.0
    assert {round(REDLINE / 2, 6), round(REDLINE, 6)} <= {round(float(s), 6) for s in speeds}
    for k, speed in enumerate(speeds):
        loads = [train.forces(t, speed / 2) for t in theta]
        of = {name: np.array([each[name] for each in loads]) for name in loads[0]}
        open_ = of["lift"] > 0
        shaft = np.linalg.norm(of["shaft"], axis=1)
        moment = [
            np.cross(each["contact"] - [0.0, -40e-3, 0.0], [each["side"], -each["tip"], 0.0])[2]
            for each in loads
        ]
        expected = {
            "lobe": of["lobe"].max(),
            "least_lobe": of["lobe"][open_].min(),
            "cup": np.abs(of["cup"]).max(),
            "tip": of["tip"].max(),
            "shaft": shaft.max(),
            "side": np.abs(of["side"]).max(),
            "tilting_moment": np.abs(moment).max(),
            "camshaft_torque": (of["lobe"] * of["v"]).max(),
        }
        for name, value in expected.items():
            assert role["peaks"].si(name)[k] == pytest.approx(value, rel=2e-4, abs=0.05), (name, k)
        x, y, _ = of["shaft"][int(np.argmax(shaft))]
        assert role.si("shaft_direction")[k] == pytest.approx(np.arctan2(y, x), abs=1e-4)
