"""Limits that no knob at a single valve reaches: by cylinder, role or row, of a plan, or none by default."""

import json

import numpy as np
import pytest
from click.testing import CliRunner

from .answers import FACTORS, INCH, asked, document
from .engine import DEG, engine
from .limit_cases import CASES, CONTACT, MASSES, PISTON
from .sheets import merged, written
from .test_center import row_sheet
from .test_events import event_sheet, expected_events
from .test_limits import si, verdict
from .test_oil import oil_sheet, random_network


def checks_of(found, name):
    return [each for each in found["checks"] if each["id"] == name]


def test_every_limit_of_the_schema_is_held():
    from valvetrain_cli.main import main

    schema = json.loads(CliRunner().invoke(main, ["schema"]).stdout)
    known = set(schema["$defs"]["limits"]["properties"])
    apart = {"valve_to_valve", "cam_position", "offset", "contact_stress", "hot_end_clearance",
             "rotation_arm", "rocker_oil_share", "elastic_control_margin", "bounce_margin",
             "hardened_shims"}  # fmt: skip
    assert {case.id for case in CASES} | apart == known


def test_valve_to_valve(tmp_path):
    # 0.030 in between heads of 38 mm: spacings about 38.762 mm.
    sheet = merged(engine(0), engine={"cylinders": 5}, piston=PISTON)
    del sheet["piston"]["valve_spacing"]
    edge = 38.0 + 0.030 * 25.4
    spacings = [edge - 0.5, edge - 0.02, edge + 0.02, edge + 0.5]
    rows = [
        {"valve": f"{k}{r}", "piston.valve_spacing": f"{x:.4f}"}
        for k, x in enumerate(spacings, 1)
        for r in "IE"
    ]
    found = document("check", written(tmp_path, sheet, valves=rows))
    seen = checks_of(found, "valve_to_valve")
    assert len(seen) == 4, "a cylinder whose spacing is not given is not judged"
    for check, spacing in zip(seen, spacings, strict=True):
        value = si(check["quantity"])[0]
        assert value == pytest.approx((spacing - 38.0) * 1e-3, abs=1e-9)
        assert si(check["limit"]["low"])[0] == pytest.approx(0.030 * INCH)
        assert check["limit"]["high"]["value"] is None
        assert check["basis"] == "common practice, no source (0.030 in)"
        assert check["verdict"] in verdict(check["quantity"], 0.030 * INCH, np.inf)
    assert [each["verdict"] for each in seen] == ["out", "unsure", "unsure", "ok"]


@pytest.mark.parametrize("late", [-3.5, -1.9, 0.5, 2.1, 3.5])
def test_cam_position(tmp_path, late):
    """Within 2 crank degrees of its card, by the degree wheel; late is positive."""
    sheet, rows = event_sheet(1), []
    for role, name in (("intake", "1I"), ("exhaust", "1E")):
        card = expected_events(sheet, role, 1e-3, "tappet")
        rows.append({"valve": name, "checking_lift [mm]": 1.0, "checked_at": "tappet",
                     "opens": card["opens"] / DEG - late, "closes": card["closes"] / DEG + late})  # fmt: skip
    found = document("events", written(tmp_path, sheet, wheel=rows))
    seen = checks_of(found, "cam_position")
    assert seen
    for check in seen:
        assert si(check["quantity"])[0] == pytest.approx(late * DEG, abs=1e-4)
        assert [si(check["limit"][end])[0] for end in ("low", "high")] == pytest.approx([-2 * DEG, 2 * DEG])
        assert check["basis"] == "common practice, no source (within 2 crank degrees of the card)"
        assert check["verdict"] in verdict(check["quantity"], -2 * DEG, 2 * DEG)


def test_hot_end_clearance(tmp_path):
    sheet, valves, *_ = row_sheet(0)
    sheet["row"][0].update({"head_material": "carbon steel 1020", "shaft_material": "cast aluminum 356.0",
                            "head_rise": 10.0, "shaft_rise": 90.0})  # fmt: skip
    folder = written(tmp_path / "first", sheet, valves=valves)
    grown = [row.si("clearance_growth") for row in asked("center", folder)["valves"]]
    wanted = dict(zip((1, 2, 3), (-60e-6, 1e-6, 60e-6), strict=True))  # what is left hot, by cylinder
    for row, growth in zip(valves, np.repeat(grown[::2], 2), strict=True):
        row["end_clearance [mm]"] = f"{(wanted[int(row['valve'][0])] - growth) * 1e3:.5f} +/- 0.002"
    found = document("check", written(tmp_path / "second", sheet, valves=valves))
    seen = checks_of(found, "hot_end_clearance")
    for check in seen:
        value = si(check["quantity"])[0]
        assert value == pytest.approx(wanted[int(check["valve"][0])], abs=4e-6)
        assert si(check["limit"]["low"])[0] == 0.0
        assert check["basis"].startswith("geometry: the rocker must not bind when warm")
        assert check["verdict"] in verdict(check["quantity"], 0.0, np.inf)
    assert {each["verdict"] for each in seen} >= {"out", "unsure"}


def test_rotation_arm_is_never_outside(tmp_path):
    """Without a sign an arm cannot be below zero: it is sure to turn, or not sure."""
    sheet = merged(engine(1), engine={"cylinders": 3}, contact=CONTACT, lobe={"width": 30.0})
    del sheet["contact"]["taper_rear"]
    tapers = {1: "0.015 +/- 0.001", 2: "0.001 +/- 0.002", 3: ""}
    rows = [{"valve": f"{k}{r}", "contact.taper_rear": told} for k, told in tapers.items() for r in "IE"]
    seen = checks_of(document("wear", written(tmp_path, sheet, valves=rows)), "rotation_arm")
    for check in seen:
        si(check["quantity"])[0]
        assert si(check["limit"]["low"])[0] == 0.0
        assert check["basis"].startswith("geometry: without a lever arm nothing turns the tappet")
        assert check["verdict"] in verdict(check["quantity"], 0.0, np.inf)
    assert [each["verdict"] for each in seen[::2]] == ["ok", "unsure", "unmeasured"]


def test_rocker_oil_share(tmp_path):
    rows = random_network(1)
    bores = {"1I": 1.0, "1E": 0.85, "2I": 0.70, "2E": 0.60, "3I": 0.50, "3E": 0.40}
    for row in rows:
        if row["kind"] == "jet":
            row["diameter [mm]"] = bores[row["valve"]]
    oil = {"viscosity_40": 105.0, "viscosity_100": 14.2, "temperature": 95.0, "gallery_pressure": "300 kPa"}
    sheet, tables = oil_sheet(oil, rows, cylinders=3)
    found = document("oil", written(tmp_path, sheet, **tables))
    told = {row["valve"]: row["rocker_share"] for row in found["results"]["valves"]}
    seen = checks_of(found, "rocker_oil_share")
    assert len(seen) == 6
    for check in seen:
        value = si(check["quantity"])[0]
        assert value == pytest.approx(told[check["valve"]]["value"] / 100)
        assert si(check["limit"]["low"])[0] == pytest.approx(0.50)
        assert check["basis"].startswith("our own choice, no source (half of what the best fed rocker gets")
        assert check["verdict"] in verdict(check["quantity"], 0.50, np.inf)
    assert {each["verdict"] for each in seen} >= {"ok", "out"}


@pytest.mark.parametrize(("target", "hardened"), [(352.0, False), (360.0, True)])
def test_hardened_shims(tmp_path, target, hardened):
    """Hardened above 80 lbf, 355.9 N, on the seat."""
    sheet = merged(
        engine(0),
        spring={"rate": 28.0, "installed_height": 41.0, "seat_load_target": target, "shims_fitted": []},
        stock={"spring_shims": [round((target - 308.0) / 28.0, 4)], "spring_shim_stack": 3.2},
        limits={"seat_load": {"low": target - 4.0, "high": target + 4.0}},
    )
    row = asked("spring", written(tmp_path, sheet), "--every")["valves"][0]
    assert row.si("seat_load_after") == pytest.approx(target, abs=0.01)
    assert row["shim_plan"].raw("hardened") is hardened


@pytest.mark.parametrize(("name", "question"), [("contact_stress", "wear"), ("offset", "center")])
def test_no_limit_by_default_and_one_of_the_users_own(tmp_path, name, question):
    base = merged(engine(1), contact=CONTACT)
    rows = [{"valve": "1I", "offset": 0.5}, {"valve": "1E", "offset": -0.5}]
    found = document(question, written(tmp_path / "none", base, valves=rows))
    assert not checks_of(found, name)
    own = {"contact_stress": {"high": 1000.0}, "offset": {"low": -0.4, "high": 0.4}}[name]
    found = document(question, written(tmp_path / "own", merged(base, limits={name: own}), valves=rows))
    seen = checks_of(found, name)
    assert seen
    for check in seen:
        assert check["basis"] == "your own limit, from the sheet"
        low, high = (si(check["limit"][end])[0] for end in ("low", "high"))
        factor = FACTORS["MPa" if name == "contact_stress" else "mm"]
        assert high == pytest.approx(own["high"] * factor)
        si(check["quantity"])[0]
        assert check["verdict"] in verdict(check["quantity"], -np.inf if np.isnan(low) else low, high)


def test_elastic_limits(tmp_path):
    """Parting and bouncing below the redline: each role's first speed over the redline, less one."""
    sheet = merged(
        engine(0),
        engine={"redline": 4200},
        masses=MASSES,
        valve={"mass": 100.0},
        control={"train_stiffness": 6000.0},
        lobe={"ramp_height": None, "ramp_angle": None},
    )
    found = document("control", written(tmp_path, sheet), "--elastic", "--speeds", "12")
    for name, keys in (
        ("elastic_control_margin", ("lobe", "pushrod", "tip")),
        ("bounce_margin", ("bounce",)),
    ):
        seen = checks_of(found, name)
        assert seen, name
        for check in seen:
            role = next(
                each for each in found["results"]["elastic"]["roles"] if each["valve"] == check["valve"]
            )
            speeds = [role["limits"][key] for key in keys]
            first = min(each["value"] for each in speeds if each["value"] is not None)
            value = si(check["quantity"])[0]
            assert value == pytest.approx(first / 4200 - 1, abs=1e-6)
            assert si(check["limit"]["low"])[0] == 0.0
            assert check["verdict"] in verdict(check["quantity"], 0.0, np.inf) | {"unsure", "ok"}
