"""Clearance: piston and valve as shapes pushed together with shapely, the crank solved exactly (derived)."""

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from shapely.geometry import Polygon

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .lobes import Lobe
from .marks import checks
from .sheets import merged, written

LAW = {"lift": 7.2, "law": "3-4-5 polynomial", "rise_angle": 66.0, "nose_dwell": 5.0}
PISTON = {"gasket_thickness": 1.2, "deck_clearance": 0.4, "valve_recess": 1.5, "relief_depth": 2.5,
          "relief_floor": "parallel", "valve_angle": 14.0, "relief_radius": 22.0, "relief_offset_along": 0.6,
          "relief_offset_across": 0.8, "valve_spacing": 42.0, "head_thickness": 2.0,
          "compression_ratio": 9.5}  # fmt: skip
SHAPES = "shapes pushed together with shapely, lift by scipy.optimize.brentq"


def clearance_sheet(seed, **changes):
    sheet = merged(engine(seed), piston=PISTON, **changes)
    sheet["lobe"] = dict(LAW)
    return sheet


def fallen(sheet, angle):
    """Piston below top dead center: the rod's foot found on its circle by root finding."""
    r, rod = sheet["engine"]["stroke"] * MM / 2, sheet["engine"]["rod_length"] * MM
    pin = np.array([r * np.sin(angle), r * np.cos(angle)])
    return r + rod - brentq(lambda y: np.hypot(pin[0], y - pin[1]) - rod, pin[1], r + rod + 1e-9, xtol=1e-15)


def lift_at(sheet, role, model, angle, advance=0.0):
    """Valve lift at a crank angle after the overlap's top dead center."""
    lobe = Lobe(LAW["law"], LAW["lift"] * MM, LAW["rise_angle"] * DEG, dwell=LAW["nose_dwell"] * DEG)
    center = sheet["cam"][f"{role}_centerline"] * DEG * (1 if role == "intake" else -1) - advance
    rise = float(lobe.lift((angle - center) / 2))
    return max(0.0, model.drop(rise) - model.lash) if rise > 0 else 0.0


def pushed(sheet, angle, lift):
    """How much farther the valve could open until head and piston touch; both as polygons."""
    piston = sheet["piston"]
    tilt, r = piston["valve_angle"] * DEG, sheet["valve"]["head_diameter"] * MM / 2
    up, side = np.array([np.sin(tilt), np.cos(tilt)]), np.array([np.cos(tilt), -np.sin(tilt)])
    below = (
        sum(piston[k] for k in ("gasket_thickness", "deck_clearance", "valve_recess", "relief_depth")) * MM
    )
    below += fallen(sheet, angle)
    lowest = np.array([0.0, 0.0])
    along = side
    if piston["relief_floor"] == "square":
        lowest, along = side * r * np.sign(np.sin(tilt)), np.array([1.0, 0.0])
    foot = lowest - [0.0, below]
    deep = np.array([0.0, -1.0])
    crown = Polygon([foot - along, foot + along, foot + along + deep, foot - along + deep])

    def apart(more):
        face = -up * (lift + more)
        head = [face - side * r, face + side * r, face + side * r + up * 2e-3, face - side * r + up * 2e-3]
        return crown.distance(Polygon(head)) if not crown.intersects(Polygon(head)) else -1.0

    low, high = -0.05, 0.2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if apart(middle) > 0 else (low, middle)
    return low


@pytest.mark.parametrize(("seed", "floor", "role"), [(0, "parallel", "intake"), (1, "square", "exhaust")])
@checks(
    "clearance",
    "valves.path valves.clearance valves.at_angle valves.judged crank_angle",
    by=SHAPES,
    status="derived",
)
@checks("clearance.valves", "relief_gap", by="circles in shapely", status="derived")
def test_piston_to_valve(tmp_path, seed, floor, role):
    sheet = clearance_sheet(seed)
    sheet["piston"]["relief_floor"] = floor
    answer = asked("clearance", written(tmp_path, sheet))
    valve, model = answer["valves"].of(role=role), linkage_of(sheet, role)
    angles, path = answer.si("crank_angle"), valve.si("path")
    for k in range(5, len(angles), 28):
        lift = lift_at(sheet, role, model, angles[k])
        assert path[k] == pytest.approx(pushed(sheet, angles[k], lift), abs=1e-8)
    gap = lambda a: pushed(sheet, a, lift_at(sheet, role, model, a))  # noqa: E731
    start = angles[int(np.argmin(path))]
    best = minimize_scalar(
        gap, bounds=(start - 3 * DEG, start + 3 * DEG), method="bounded", options={"xatol": 1e-7}
    )
    assert valve.si("clearance") == pytest.approx(best.fun, abs=2e-6)
    assert valve.si("at_angle") == pytest.approx(best.x, abs=0.15 * DEG)
    assert valve.si("judged") == valve.si("clearance")
    from shapely.geometry import Point

    relief, head = Point(0, 0).buffer(22e-3, 2000), Point(0.6e-3, 0.8e-3).buffer(19e-3, 2000)
    assert valve.si("relief_gap") == pytest.approx(relief.exterior.distance(head), abs=1e-7)


@checks(
    "clearance.valves",
    "per_degree_advance per_lash per_stand_shim",
    by="differences of " + SHAPES,
    status="derived",
)
def test_what_changes_the_clearance(tmp_path):
    sheet = clearance_sheet(0)
    found = asked("clearance", written(tmp_path, sheet))["valves"].of(role="intake")
    model, lean = linkage_of(sheet), sheet["shaft"]["stand_angle"] * DEG

    def least(model, advance=0.0):
        gap = lambda a: pushed(sheet, a, lift_at(sheet, "intake", model, a, advance))  # noqa: E731
        return minimize_scalar(
            gap, bounds=(-20 * DEG, 30 * DEG), method="bounded", options={"xatol": 1e-8}
        ).fun

    per_degree = (least(model, DEG) - least(model, -DEG)) / 2
    assert found.si("per_degree_advance") == pytest.approx(per_degree, abs=1e-6)
    from dataclasses import replace

    lashed = lambda by: replace(model, lash=model.lash + by)  # noqa: E731
    per_lash = (least(lashed(1e-5)) - least(lashed(-1e-5))) / 2e-5
    assert found.si("per_lash") == pytest.approx(per_lash, abs=1e-4)
    per_shim = (least(model.raised(1e-4, lean)) - least(model.raised(-1e-4, lean))) / 2e-4
    assert found.si("per_stand_shim") == pytest.approx(per_shim, abs=2e-4)


@checks(
    "clearance.valves", "measured measured_angle judged", by="readings on a known parabola", status="derived"
)
def test_readings_with_a_dial(tmp_path):
    sheet = clearance_sheet(0)
    sheet["piston"].update({"readings": "dial.csv", "readings_lash": 0.0})
    angles = np.arange(-10.0, 31.0, 5.0)
    rows = [
        {"crank_angle [deg]": a, "clearance [mm]": f"{2.0 + 0.004 * (a - 11.3) ** 2:.9f}"} for a in angles
    ]
    valve = asked("clearance", written(tmp_path, sheet, dial=rows))["valves"].of(role="intake")
    assert valve.si("measured_angle") == pytest.approx(11.3 * DEG, abs=1e-6)
    # Read without lash: the valve opens that much less at the lash set.
    expected = 2.0 * MM + sheet["lash"]["intake"] * MM
    assert valve.si("measured") == pytest.approx(expected, rel=1e-6)
    assert valve.si("judged") == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("between", [0.0, 24.0])
@checks("clearance.cylinders", "valve_gap gap_angle", by=SHAPES, status="derived")
def test_valve_to_valve(tmp_path, between):
    sheet = clearance_sheet(2, cam={"intake_centerline": 98.0, "exhaust_centerline": 100.0})
    sheet["piston"].update({"valves_between": between, "valve_spacing": 41.0})
    answer = asked("clearance", written(tmp_path, sheet))
    cylinder, angles = answer["cylinders"][0], answer.si("crank_angle")
    gaps = []
    for angle in angles:
        heads = []
        for role, sign in (("intake", -1), ("exhaust", 1)):
            tilt, model = sign * between / 2 * DEG, linkage_of(sheet, role)
            up, side = np.array([np.sin(tilt), np.cos(tilt)]), np.array([np.cos(tilt), -np.sin(tilt)])
            face = np.array([sign * 20.5e-3, 0.0]) - up * lift_at(sheet, role, model, angle)
            heads.append(Polygon([face - side * 19e-3, face + side * 19e-3, face + side * 19e-3 + up * 2e-3,
                                  face - side * 19e-3 + up * 2e-3]))  # fmt: skip
        gaps.append(heads[0].distance(heads[1]))
    assert cylinder.si("valve_gap") == pytest.approx(min(gaps), abs=1e-9)
    if between:
        assert cylinder.si("gap_angle") == pytest.approx(angles[int(np.argmin(gaps))], abs=1e-9)
    else:
        assert np.isnan(cylinder.si("gap_angle"))  # level heads keep one distance


@checks(
    "clearance.cylinders", "static_ratio effective_ratio", by="volumes by hand, exact crank", status="derived"
)
def test_compression(tmp_path):
    sheet = clearance_sheet(1, engine={"stroke": 88.392, "rod_length": 144.78})
    del sheet["piston"]["compression_ratio"]
    sheet["piston"].update({"chamber_volume": 58.0, "crown_volume": 6.0, "gasket_bore": 91.0})
    cylinder = asked("clearance", written(tmp_path, sheet))["cylinders"][0]
    area, gasket = np.pi / 4 * 9.0**2, np.pi / 4 * 9.1**2
    dead = 58.0 + 6.0 + gasket * 0.12 + area * 0.04  # cm3
    assert cylinder.si("static_ratio") == pytest.approx(1 + area * 8.8392 / dead, rel=1e-9)
    model = linkage_of(sheet)
    shut = lambda a: lift_at(sheet, "intake", model, a) - 1e-9  # noqa: E731
    closing = brentq(shut, 200 * DEG, 260 * DEG, xtol=1e-10)
    effective = 1 + area * fallen(sheet, closing) * 100 / dead
    assert cylinder.si("effective_ratio") == pytest.approx(effective, rel=2e-5)


@pytest.mark.parametrize(
    ("stroke", "rod", "degrees", "drop"),
    [
        # Khurmi and Gupta, Theory of Machines, 15.4, p. 528: r 0.3, l 1.5 m at 40 deg, at a tenth of its
        # size;
        # the position by the exact crank.
        (60.0, 150.0, 40, 8.263361),
        # Stroke 88.392, rod 144.78: exact crank (derived).
        (88.392, 144.78, 5, 0.2194),
        (88.392, 144.78, 10, 0.8750),
        (88.392, 144.78, 20, 3.4566),
    ],
)
@checks(
    "clearance.valves", "path", by="Khurmi and Gupta, Theory of Machines, 15.4, exact crank", status="derived"
)
def test_piston_positions(tmp_path, stroke, rod, degrees, drop):
    sheet = clearance_sheet(0, engine={"stroke": stroke, "rod_length": rod}, cam={"intake_centerline": 148.0})
    sheet["lobe"]["rise_angle"] = 50.0
    sheet["piston"].update({"valve_angle": 0.0})
    answer = asked("clearance", written(tmp_path, sheet))
    at = np.round(answer.si("crank_angle") / DEG).tolist().index(degrees)
    assert answer["valves"].of(role="intake").si("path")[at] == pytest.approx((5.6 + drop) * MM, abs=6e-8)
