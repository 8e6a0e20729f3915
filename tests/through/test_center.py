"""Center: the pad's line on the tip in shapely; the plan of a shaft against OR-Tools; growth part by part."""

from itertools import pairwise

import numpy as np
import pytest
from ortools.sat.python import cp_model
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .marks import checks
from .sheets import merged, written


def line_at(x, z, width, skew):
    """The pad's contact line in plan: x across the tip, z to the rear; its rear end toward +x by the skew."""
    straight = LineString([(x, z - width / 2), (x, z + width / 2)])
    return rotate(straight, -skew, origin=(x, z), use_radians=True)


@pytest.mark.parametrize(("seed", "offset", "skew"), [(0, 1.8, 0.0), (1, -2.6, 3.0), (2, 0.7, -2.0)])
@checks(
    "center.valves",
    "offset_before end_clearance_before contact_share offset_limit edge_distance load_eccentricity "
    "turning_arm "
    "area_on_tip offset_after end_clearance contact_share_after",
    by="lines and circles in shapely",
    status="derived",
)
def test_contact_on_the_tip(tmp_path, seed, offset, skew):
    sheet = merged(engine(seed), rocker={"skew": skew, "pad_width": 6.4})
    valves = [{"valve": "1I", "offset": offset, "end_clearance": 0.15}, {"valve": "1E", "offset": 0.0}]
    valve = asked("center", written(tmp_path, sheet, valves=valves))["valves"].of(valve="1I")
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    net = model.drop(full) - model.lash
    drops = net * np.linspace(0, 1, 33)
    contact = np.sqrt(model.pad_arm**2 - (model.pad_radius - model.height - drops) ** 2) - model.setback
    tip = Point(0, 0).buffer(3.9, 600)

    def shares(at):
        return [line_at(x / MM, at, 6.4, skew * DEG).intersection(tip).length / 6.4 for x in contact]

    centered = min(shares(0.0))
    assert valve.si("offset_before") == pytest.approx(offset * MM)
    assert valve.si("end_clearance_before") == pytest.approx(0.15 * MM)
    assert valve.si("contact_share") == pytest.approx(min(shares(offset)) / centered, abs=2e-6)
    low, high = 0.0, 6.0
    for _ in range(26):
        middle = (low + high) / 2
        kept = min(*shares(middle), *shares(-middle)) / centered >= 0.90
        low, high = (middle, high) if kept else (low, middle)
    assert valve.si("offset_limit") == pytest.approx(low * MM, abs=5e-8)
    lines = [line_at(x / MM, offset, 6.4, skew * DEG) for x in contact]
    far = max(np.hypot(*end) for line in lines for end in line.coords)
    assert valve.si("edge_distance") == pytest.approx((3.9 - far) * MM, abs=1e-8)
    middles = [line.intersection(tip).centroid for line in lines]
    assert valve.si("load_eccentricity") == pytest.approx(
        max(np.hypot(m.x, m.y) for m in middles) * MM, abs=1e-8
    )
    assert valve.si("turning_arm") == pytest.approx(np.mean([m.y for m in middles]) * MM, abs=1e-8)
    strips = [Polygon([*a.coords, *list(b.coords)[::-1]]).buffer(0) for a, b in pairwise(lines)]
    swept = unary_union(strips)
    assert valve.si("area_on_tip") == pytest.approx(swept.intersection(tip).area / swept.area, abs=2e-3)
    # Without a drawer of shims nothing is moved.
    assert valve.si("offset_after") == pytest.approx(offset * MM)
    assert valve.si("end_clearance") == pytest.approx(0.15 * MM)
    assert valve.si("contact_share_after") == pytest.approx(min(shares(offset)) / centered, abs=2e-6)


STOCK = (130, 250, 380, 510, 760)  # um
PLAY = (100, 260)
ALLOWED = 200


def row_sheet(seed):
    """Three cylinders on one shaft, a bay each; what is fitted and how it sits by the seed [um]."""
    rng = np.random.default_rng(seed)
    sheet = merged(
        engine(1),
        engine={"cylinders": 3},
        rocker={"hub_width": 24.0},
        limits={"end_clearance": {"low": PLAY[0] / 1e3, "high": PLAY[1] / 1e3},
                "offset": {"low": -ALLOWED / 1e3, "high": ALLOWED / 1e3}},
    )  # fmt: skip
    fitted = [[int(rng.choice(STOCK)) for _ in range(3)] for _ in range(3)]
    each = []
    for cylinder, (a, b, c) in enumerate(fitted, start=1):
        each += [
            f"shim {a / 1e3}",
            f"{cylinder}I",
            f"shim {b / 1e3}",
            f"{cylinder}E",
            f"shim {c / 1e3}",
            "stand",
        ]
    sheet["row"] = [{"front": ["stand"], "each": each, "stand_width": 20.0}]
    sheet["stock"] = {"rocker_shims": [size / 1e3 for size in STOCK]}
    valves, bays = [], []
    for cylinder in (1, 2, 3):
        play = int(rng.integers(5, 50)) * 10
        offsets = [int(rng.integers(-60, 61)) * 10 for _ in range(2)]
        bays.append((play, offsets))
        for role, offset in zip("IE", offsets, strict=True):
            valves.append({"valve": f"{cylinder}{role}", "offset [mm]": f"{offset / 1e3} +/- 0.0001",
                           "end_clearance [mm]": f"{play / 1e3} +/- 0.0001"})  # fmt: skip
    return sheet, valves, fitted, bays


def best_bay(fitted, play, offsets, margin):
    """(changes, twice the sum of offsets) of a bay's best plan by CP-SAT, in micrometers; or None."""
    model = cp_model.CpModel()
    fitted_count = [[slot == size for size in STOCK] for slot in fitted]
    counts = [[model.new_int_var(0, 3, "") for _ in STOCK] for _ in range(3)]
    sums, changes = [], []
    for slot in range(3):
        model.add(sum(counts[slot]) <= 3)
        sums.append(sum(n * size for n, size in zip(counts[slot], STOCK, strict=True)) - fitted[slot])
        for k in range(len(STOCK)):
            change = model.new_int_var(0, 3, "")
            model.add_abs_equality(change, counts[slot][k] - int(fitted_count[slot][k]))
            changes.append(change)
    total = sum(changes)
    left = play - sum(sums)
    changed = model.new_bool_var("")
    model.add(total >= 1).only_enforce_if(changed)
    model.add(total == 0).only_enforce_if(changed.negated())
    model.add(left >= PLAY[0] + margin).only_enforce_if(changed)
    model.add(left <= PLAY[1] - margin).only_enforce_if(changed)
    model.add(left >= PLAY[0])
    model.add(left <= PLAY[1])
    twice = []
    for index, offset in enumerate(offsets):
        # Pushed to the front and to the rear a rocker sits in the middle: half of the play's change counts.
        place = model.new_int_var(-100000, 100000, "")
        model.add(place == 2 * offset + 2 * sum(sums[: index + 1]) + (left - play))
        size = model.new_int_var(0, 100000, "")
        model.add_abs_equality(size, place)
        # A rocker that is moved keeps off its limit by twice the doubt of its offset; one in it may stay.
        model.add(size <= max(2 * ALLOWED - 1, 2 * abs(offset) if abs(offset) <= ALLOWED else 0))
        twice.append(size)
    model.minimize(10**6 * total + sum(twice))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    assert status == cp_model.OPTIMAL
    return solver.value(total), sum(solver.value(each) for each in twice)


@pytest.mark.parametrize("seed", range(6))
@checks(
    "center.valves",
    "offset_before end_clearance_before offset_after end_clearance front_shims rear_shims",
    by="OR-Tools, CP-SAT on the bay",
    status="other library",
)
@checks(
    "center.plan",
    "shafts.parts.length changes shims.put_in shims.take_out",
    by="OR-Tools, CP-SAT on the bay",
    status="other library",
)
def test_the_plan_is_the_best_there_is(tmp_path, seed):
    sheet, valves, fitted, bays = row_sheet(seed)
    answer = asked("center", written(tmp_path, sheet, valves=valves))
    plan = answer["plan"]
    blocked, total = plan["blocked"].data, 0
    for number, (play, offsets) in enumerate(bays):
        free = best_bay(fitted[number], play, offsets, 0)
        rockers = [answer["valves"].of(valve=f"{number + 1}{role}") for role in "IE"]
        front = [
            rocker.si("front_shims") if rocker["front_shims"].data else np.zeros(0) for rocker in rockers
        ]
        rear = rockers[1].si("rear_shims") if rockers[1]["rear_shims"].data else np.zeros(0)
        if free is None:
            assert any(f"stand {number + 1}" in name for name in blocked), (number, blocked)
            continue
        stacks = [sorted(np.round(each / 1e-6).astype(int)) for each in (*front, rear)]
        changes = sum(
            abs(stack.count(size) - [slot].count(size))
            for stack, slot in zip(stacks, fitted[number], strict=True)
            for size in STOCK
        )
        total += changes
        # What its shims give, by the positions of the blocks pushed to the front and to the rear.
        grown = [sum(stack) - slot for stack, slot in zip(stacks, fitted[number], strict=True)]
        left = play - sum(grown)
        for index, rocker in enumerate(rockers):
            place = offsets[index] + sum(grown[: index + 1]) + (left - play) / 2
            assert rocker.si("offset_before") == pytest.approx(offsets[index] * 1e-6, abs=1e-10)
            assert rocker.si("end_clearance_before") == pytest.approx(play * 1e-6, abs=1e-10)
            assert rocker.si("offset_after") == pytest.approx(place * 1e-6, abs=2e-9)
            assert rocker.si("end_clearance") == pytest.approx(left * 1e-6, abs=2e-9)
            assert abs(place) <= ALLOWED
        assert PLAY[0] <= left <= PLAY[1]
        assert changes == free[0], f"bay {number + 1}"
        twice = sum(abs(2 * offsets[i] + 2 * sum(grown[: i + 1]) + left - play) for i in range(2))
        # Of plans with as few changes one that keeps off the ends of the play's range may be taken instead.
        assert twice >= free[1]
        kept = (
            best_bay(fitted[number], play, offsets, min(left - PLAY[0], PLAY[1] - left)) if changes else free
        )
        assert twice in (free[1], kept[1])
    assert plan.raw("changes") == total
    handled = [np.atleast_1d(each.si(way)) for each in plan["shims"] for way in ("put_in", "take_out")]
    assert sum(each.size for each in handled) == total
    for part in plan["shafts"][0]["parts"]:
        if part["part"].data == "1I":
            assert part.si("length") == pytest.approx(24.0 * MM)


@checks(
    "center.valves",
    "offset_growth clearance_growth end_clearance_hot",
    by="every part grown by hand; Callister, Materials Science and Engineering, Table B.6",
    status="published",
)
def test_growth_of_the_row(tmp_path):
    sheet, valves, fitted, bays = row_sheet(3)
    sheet["row"][0].update({"head_material": "cast aluminum 356.0", "shaft_material": "carbon steel 1020",
                            "head_rise": 70.0, "shaft_rise": 80.0, "fixed_at": "stand 2"})  # fmt: skip
    answer = asked("center", written(tmp_path, sheet, valves=valves))
    head, shaft = 21.5e-6 * 70.0, 11.7e-6 * 80.0
    # Places along the head from the middle of stand 2, cold: stands of 20 mm, hubs of 24, shims and play
    # as found.
    inner = [sum(fitted[k]) / 1e3 + 48.0 + bays[k][0] / 1e3 for k in range(3)]
    middles = np.cumsum([0.0, *(20.0 + each for each in inner)])
    middles -= middles[1]
    for number, (play, offsets) in enumerate(bays):
        start = middles[number] + 10.0
        sizes = [fitted[number][0] / 1e3, 24.0, fitted[number][1] / 1e3, 24.0, fitted[number][2] / 1e3]
        hot_start = middles[number] * (1 + head) + 10.0 * (1 + head)
        hot_end = middles[number + 1] * (1 + head) - 10.0 * (1 + head)
        hot_play = hot_end - hot_start - sum(sizes) * (1 + shaft)
        for index, role in enumerate("IE"):
            before = sum(sizes[: 2 * index + 1]) + 12.0
            cold = start + before + play / 2e3
            hot = hot_start + before * (1 + shaft) + hot_play / 2
            stem = cold - offsets[index] / 1e3
            valve = answer["valves"].of(valve=f"{number + 1}{role}")
            grown = (hot - stem * (1 + head)) - offsets[index] / 1e3
            assert valve.si("offset_growth") == pytest.approx(grown * MM, abs=2e-9)
            assert valve.si("clearance_growth") == pytest.approx((hot_play - play / 1e3) * MM, abs=2e-9)
            assert valve.si("end_clearance_hot") == pytest.approx(hot_play * MM, abs=2e-9)
