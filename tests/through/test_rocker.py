"""Rocker: lift, ratio, sweep and stand shims from invented sheets against scipy's root finder (derived)."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .linkage import extreme
from .marks import checks
from .sheets import merged, written

ROOTS = "scipy.optimize.brentq on the constraint equations"


def asked_with_model(folder, seed, role="intake", options=(), **changes):
    sheet = merged(engine(seed), **changes)
    answer = asked("rocker", written(folder / f"engine{seed}", sheet), *options)
    return sheet, answer["valves"].of(role=role), linkage_of(sheet, role), sheet["lobe"]["lift"] * MM


@pytest.mark.parametrize("seed", range(4))
@checks(
    "rocker.valves",
    "lobe_lift lash gross_lift net_lift ratio_at_opening ratio_at_half_lift ratio_at_full_lift mean_ratio "
    "sweep_width sweep_share sweep_middle contact_closed contact_full chamfer_distance",
    by=ROOTS,
    status="derived",
)
def test_lift_ratio_and_sweep(tmp_path, seed):
    role = ("intake", "exhaust")[seed % 2]
    sheet, valve, model, full = asked_with_model(tmp_path, seed, role)
    gross = model.drop(full)
    net = gross - model.lash
    lifts, contacts = model.touching(full)
    greatest, least = (extreme(model.contact, lifts, contacts, sign) for sign in (1, -1))
    half = model.lift_for(model.lash + net / 2)
    tip = (sheet["valve"]["stem_diameter"] / 2 - sheet["valve"]["tip_chamfer"]) * MM
    expected = {
        "lobe_lift": full,
        "lash": sheet["lash"][role] * MM,
        "gross_lift": gross,
        "net_lift": net,
        "mean_ratio": gross / full,
        "contact_closed": contacts[0],
        "contact_full": contacts[-1],
        "sweep_width": greatest - least,
        "sweep_share": (greatest - least) / gross,
        "sweep_middle": (greatest + least) / 2,
        "chamfer_distance": tip - max(abs(greatest), abs(least)),
    }
    for name, value in expected.items():
        assert valve.si(name) == pytest.approx(value, abs=1e-9, rel=1e-8), name
    for name, lift in (("opening", lifts[0]), ("half_lift", half), ("full_lift", full)):
        assert valve.si(f"ratio_at_{name}") == pytest.approx(model.ratio(lift), rel=1e-7), name


@pytest.mark.parametrize("seed", [0, 3])
@checks(
    "rocker.valves.through_lift", "lift_share valve_lift contact to_chamfer ratio", by=ROOTS, status="derived"
)
def test_through_the_lift(tmp_path, seed):
    sheet, valve, model, full = asked_with_model(tmp_path, seed)
    path = valve["through_lift"]
    share = path.si("lift_share")
    net = model.drop(full) - model.lash
    assert path.si("valve_lift") == pytest.approx(net * share, abs=1e-10)
    for k in (0, 7, 20, len(share) - 1):
        lift = model.lift_for(model.lash + net * share[k])
        contact = model.contact(lift)
        tip = (sheet["valve"]["stem_diameter"] / 2 - sheet["valve"]["tip_chamfer"]) * MM
        assert path.si("contact")[k] == pytest.approx(contact, abs=1e-9)
        assert path.si("to_chamfer")[k] == pytest.approx(tip - abs(contact), abs=1e-9)
        assert path.si("ratio")[k] == pytest.approx(model.ratio(lift), rel=1e-6)


@pytest.mark.parametrize("seed", range(3))
@checks(
    "rocker.valves",
    "least_sweep_width square_at_lift_fraction stand_shim_change_for_least_sweep stand_shim_for_least_sweep "
    "stand_shim_change_for_centered_sweep stand_shim_for_centered_sweep lift_lost_to_height "
    "lift_lost_share sweep_over_least",
    by="scipy.optimize over the stand's height",
    status="derived",
)
def test_stand_shims_wanted(tmp_path, seed):
    sheet, valve, model, full = asked_with_model(tmp_path, seed)
    lean = sheet["shaft"]["stand_angle"] * DEG
    net = model.drop(full) - model.lash

    # The command holds the net lift fixed for these; the sweep is then that of the arm over that lift.
    def pattern(shim):
        moved = model.raised(shim, lean)
        drops = np.linspace(0.0, net, 2001)
        sine = (moved.pad_radius - moved.height - drops) / moved.pad_arm
        return moved.pad_arm * np.sqrt(1 - sine**2) - moved.setback

    width = lambda shim: np.ptp(pattern(shim))  # noqa: E731
    best = minimize_scalar(width, bounds=(-4e-3, 4e-3), method="bounded", options={"xatol": 1e-9})
    assert valve.si("least_sweep_width") == pytest.approx(best.fun, abs=5e-8)
    change = valve.si("stand_shim_change_for_least_sweep")
    assert change == pytest.approx(best.x, abs=5e-6)
    assert valve.si("stand_shim_for_least_sweep") == pytest.approx(0.4e-3 + change, abs=1e-12)
    # Square to the stem: the pad's center as high as the shaft, at a share of the net lift.
    drop = model.height - model.pad_radius
    assert valve.si("square_at_lift_fraction") == pytest.approx(-drop / net, abs=1e-9)
    centered = valve.si("stand_shim_change_for_centered_sweep")
    if np.isfinite(centered):
        swept = pattern(centered)
        assert (swept.max() + swept.min()) / 2 == pytest.approx(0.0, abs=1e-7)
        assert valve.si("stand_shim_for_centered_sweep") == pytest.approx(0.4e-3 + centered, abs=1e-12)
    # At the shim that is reported as the best, not at the one that would also follow the lift it gains.
    gained = model.raised(change, lean).drop(full) - model.drop(full)
    assert valve.si("lift_lost_to_height") == pytest.approx(gained, abs=1e-9)
    assert valve.si("lift_lost_share") == pytest.approx(gained / model.drop(full), abs=2e-7)
    assert valve.si("sweep_over_least") == pytest.approx(width(0.0) / best.fun, rel=2e-4)


@checks("rocker.valves", "stand_shim_change_for_square_at", by=ROOTS, status="derived")
@checks("rocker", "square_at_wanted", by="the option that was given", status="derived")
def test_square_where_it_is_wanted(tmp_path):
    sheet = engine(1)
    answer = asked("rocker", written(tmp_path, sheet), "--square-at", "0.35")
    assert answer.raw("square_at_wanted")["value"] == pytest.approx(35.0)
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    change = answer["valves"][0].si("stand_shim_change_for_square_at")
    net = model.drop(full) - model.lash
    moved = model.raised(change, sheet["shaft"]["stand_angle"] * DEG)
    phi = np.arcsin((moved.pad_radius - 0.35 * net - moved.height) / moved.pad_arm)
    assert phi == pytest.approx(0.0, abs=1e-9)


CHANGED = "sweep_width sweep_share sweep_middle chamfer_distance pattern_moved lift_gain adjuster_out"


@pytest.mark.parametrize(("seed", "most"), [(0, None), (2, None), (2, 1.3)])
@checks(
    "rocker.valves", "stand_shim_advised stand_shim_best_in_stock", by="all stacks tried", status="derived"
)
@checks(
    "rocker.shafts",
    "stand_shim_change exact_change worst_sweep_share_now worst_sweep_share_after",
    by="all stacks tried with " + ROOTS,
    status="derived",
)
@checks("rocker.valves.with_best_in_stock", CHANGED, by="all stacks tried with " + ROOTS, status="derived")
def test_best_stand_shim_of_the_stock(tmp_path, seed, most):
    base = engine(seed)
    sheet = merged(
        base, shaft={"height": base["rocker"]["pad_radius"] - 6.6}, limits={"sweep_width": {"high": 3.0}}
    )
    if most:
        sheet["stock"]["stand_shim_stack"] = most
    answer = asked("rocker", written(tmp_path, sheet))
    lean, full = sheet["shaft"]["stand_angle"] * DEG, sheet["lobe"]["lift"] * MM
    models = [linkage_of(sheet, role) for role in ("intake", "exhaust")]

    def pattern(model):
        drops = np.linspace(0.0, model.drop(full) - model.lash, 4001)
        x = np.sqrt(model.pad_arm**2 - (model.pad_radius - model.height - drops) ** 2) - model.setback
        return np.ptp(x), (x.max() + x.min()) / 2, np.abs(x).max()

    def share(model):
        return pattern(model)[0] / model.drop(full)

    stock, fitted = sheet["stock"]["stand_shims"], 0.4
    stacks = [(), *((a,) for a in stock), *((a, b) for a in stock for b in stock if a <= b)]
    if most:  # the sheet caps the stack: three may lie together, with what is fitted if that stays
        stacks += [(a, b, c) for a in stock for b in stock for c in stock if a <= b <= c]
    allowed = [
        (stack, out)
        for stack in stacks
        for out in (0.0, fitted)
        if not most or sum(stack) + fitted - out <= most + 1e-9
    ]
    changes = sorted({round(sum(stack) - out, 9) for stack, out in allowed}, key=abs)
    worst = {c: max(share(m.raised(c * MM, lean)) for m in models) for c in changes}
    best = min(changes, key=worst.get) * MM
    assert best > 0, "this engine was to need a shim"
    shaft = answer["shafts"][0]
    assert shaft.si("stand_shim_change") == pytest.approx(best, abs=1e-9)
    assert shaft.si("worst_sweep_share_now") == pytest.approx(worst[0.0], rel=1e-6)
    assert shaft.si("worst_sweep_share_after") == pytest.approx(worst[round(best / MM, 9)], rel=1e-6)
    # Square at half of each valve's net lift as it is; of two valves the median is the mean.
    wanted = [(m.pad_radius - m.height - 0.5 * (m.drop(full) - m.lash)) / np.cos(lean) for m in models]
    assert shaft.si("exact_change") == pytest.approx(np.mean(wanted), abs=1e-9)
    for model, role in zip(models, ("intake", "exhaust"), strict=True):
        valve = answer["valves"].of(role=role)
        assert valve.si("stand_shim_advised") == pytest.approx(best, abs=1e-9)
        assert valve.si("stand_shim_best_in_stock") == pytest.approx(best, abs=1e-9)
        holds(valve["with_best_in_stock"], model, model.raised(best, lean), full, pattern, sheet)


def holds(found, before, after, full, pattern, sheet):
    """Hold an effect against the linkage before and after."""
    width, middle, edge = pattern(after)
    tip = (sheet["valve"]["stem_diameter"] / 2 - sheet["valve"]["tip_chamfer"]) * MM
    expected = {
        "sweep_width": width,
        "sweep_share": width / after.drop(full),
        "sweep_middle": middle,
        "chamfer_distance": tip - edge,
        "pattern_moved": middle - pattern(before)[1],
        "lift_gain": after.drop(full) - before.drop(full),
        "adjuster_out": np.sqrt(after.length**2 - after.splay**2)
        - np.sqrt(before.length**2 - before.splay**2),
    }
    for name, value in expected.items():
        assert found.si(name) == pytest.approx(value, abs=2e-9, rel=1e-5), name


@checks("rocker.valves.cures", "amount " + CHANGED, by=ROOTS, status="derived")
def test_cures_at_the_valve(tmp_path):
    base = engine(3)
    sheet = merged(base, shaft={"height": base["rocker"]["pad_radius"] - 3.4})
    cures = asked("rocker", written(tmp_path, sheet))["valves"][0]["cures"]
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM

    def pattern(model):
        drops = np.linspace(0.0, model.drop(full) - model.lash, 4001)
        x = np.sqrt(model.pad_arm**2 - (model.pad_radius - model.height - drops) ** 2) - model.setback
        return np.ptp(x), (x.max() + x.min()) / 2, np.abs(x).max()

    cure = cures.of(name="lash cap")
    rise = model.height - model.pad_radius + 0.5 * (model.drop(full) - model.lash)
    assert cure.si("amount") == pytest.approx(rise, abs=1e-9)
    holds(cure, model, model.tip_raised(rise), full, pattern, sheet)


@checks("rocker.valves", "tip_height", by="numpy's median of the stem heights", status="derived")
def test_tips_against_the_middle_of_their_role(tmp_path):
    sheet = merged(engine(0), engine={"cylinders": 4})
    stems = {
        "1I": 48.20,
        "2I": 48.05,
        "3I": 47.60,
        "4I": 48.11,
        "1E": 49.0,
        "2E": 49.3,
        "3E": 49.1,
        "4E": 48.2,
    }
    rows = [{"valve": name, "stem_height": stem} for name, stem in stems.items()]
    answer = asked("rocker", written(tmp_path, sheet, valves=rows))
    for role in "IE":
        middle = np.median([stem for name, stem in stems.items() if name.endswith(role)])
        for name in (each for each in stems if each.endswith(role)):
            told = answer["valves"].of(valve=name).si("tip_height")
            assert told == pytest.approx((stems[name] - middle) * MM, abs=1e-10), name
