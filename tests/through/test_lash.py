"""Lash: growth with published coefficients, ramps worked by hand, ratios by scipy's root finder."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .marks import checks
from .sheets import merged, written

# Callister, Materials Science and Engineering, Table B.6, 1e-6 per K.
CALLISTER = {"grey iron": 11.4, "ductile iron": 11.2, "carbon steel 1020": 11.7, "alloy steel 4140": 12.3,
             "cast aluminum 356.0": 21.5, "wrought aluminum 6061": 23.6,
             "titanium Ti-6Al-4V": 8.6}  # fmt: skip
LENGTHS = {"cam_to_deck": 170.0, "deck_to_stand": 95.0, "seat_to_stand": 88.0, "stand_height": 30.0,
           "seat_to_tip": 115.0, "tappet_height": 40.0}  # fmt: skip


def warm_sheet(seed, block, head, stand, cam, tappet, pushrod, valve):
    materials = {"block": block, "head": head, "stand": stand, "cam": cam, "tappet": tappet,
                 "pushrod": pushrod, "valve": valve}  # fmt: skip
    return merged(
        engine(seed),
        pushrod={"splay": 0.0},
        thermal={
            **LENGTHS,
            **{f"{part}_material": name for part, name in materials.items()},
            "cold_temperature": 20.0,
            "block_temperature": 85.0,
            "head_temperature": 100.0,
            "stand_temperature": 95.0,
            "valve_temperature": 210.0,
        },
        hot={"wanted_hot_lash": 0.25},
    ), materials


@pytest.mark.parametrize(
    ("seed", "materials"),
    [
        (0, ("grey iron", "grey iron", "ductile iron", "ductile iron", "grey iron", "carbon steel 1020",
             "alloy steel 4140")),
        (1, ("grey iron", "cast aluminum 356.0", "wrought aluminum 6061", "grey iron", "ductile iron",
             "wrought aluminum 6061", "titanium Ti-6Al-4V")),
    ],
)  # fmt: skip
@checks(
    "lash.valves",
    "growth growth_parts hot_lash cold_lash cold_to_set running_lash",
    by="free growth with Callister, Materials Science and Engineering, Table B.6",
    status="published",
)
def test_growth_along_the_path(tmp_path, seed, materials):
    sheet, of = warm_sheet(seed, *materials)
    valve = asked("lash", written(tmp_path, sheet))["valves"].of(role="intake")
    model = linkage_of(sheet)
    rise = {"block": 65, "cam": 65, "tappet": 65, "head": 80, "stand": 75, "pushrod": 75, "valve": 190}
    grown = lambda part, mm: CALLISTER[of[part]] * 1e-6 * mm * MM * rise[part]  # noqa: E731
    ratio = model.ratio(0.0)
    parts = {
        "head, seat to stand": grown("head", 88.0),
        "stand": grown("stand", 30.0),
        "valve": -grown("valve", 115.0),
        "block": ratio * grown("block", 170.0),
        "head, deck to stand": ratio * grown("head", 95.0),
        "stand over the cam": ratio * grown("stand", 30.0),
        "cam, to its base circle": -ratio * grown("cam", 16.0),
        "tappet": -ratio * grown("tappet", 40.0),
        "pushrod": -ratio * grown("pushrod", sheet["pushrod"]["length"]),
    }
    total = sum(parts.values())
    names = [each["part"] for each in valve["growth_parts"].data]
    assert dict(zip(names, valve.si("growth_parts"), strict=True)) == pytest.approx(parts, rel=1e-6)
    set_cold = sheet["lash"]["intake"] * MM
    assert valve.si("growth") == pytest.approx(total, rel=1e-6)
    assert valve.si("cold_lash") == pytest.approx(set_cold, abs=1e-12)
    assert valve.si("hot_lash") == pytest.approx(set_cold + total, abs=1e-10)
    assert valve.si("running_lash") == pytest.approx(set_cold + total, abs=1e-10)
    assert valve.si("cold_to_set") == pytest.approx(0.25e-3 - total, abs=1e-10)


@checks("lash.valves", "growth", by="the grown linkage solved with scipy.optimize.brentq", status="derived")
def test_growth_of_the_whole_linkage(tmp_path):
    """Every part grown, the rocker solved again: the path with one ratio is its first order."""
    sheet = warm_sheet(2, *(["grey iron"] * 4), "ductile iron", "carbon steel 1020", "alloy steel 4140")[0]
    sheet = merged(sheet, tappet={"angle": 0.0}, shaft={"stand_angle": 0.0})
    valve = asked("lash", written(tmp_path, sheet))["valves"].of(role="intake")
    model = linkage_of(sheet)
    iron, rod = 11.4e-6, 11.7e-6
    up = iron * (88 * 80 + 30 * 75) * MM - 12.3e-6 * 115 * 190 * MM
    over_cam = iron * (170 * 65 + 95 * 80 + 30 * 75) * MM - (iron * 16 + 11.2e-6 * 40) * 65 * MM
    phi, travel = model.closed()
    lower = model.balls(phi, travel)[1]
    hot = replace(model, height=model.height + up, length=model.length * (1 + rod * 75))
    # The ball stands lower under the shaft by what block and head outgrow cam and tappet.
    ball = lower + np.array([0.0, up - over_cam, 0.0])
    span = lambda p: np.linalg.norm(hot.balls(p, 0.0)[0] - ball) - hot.length  # noqa: E731
    grown = hot.pad(brentq(span, phi - 0.1, phi + 0.1, xtol=1e-14))[1] - model.lash
    assert valve.si("growth") == pytest.approx(grown, rel=0.02)


@checks(
    "lash.valves",
    "growth_parts",
    by="Bhandari, Design of Machine Elements, Example 4.22, p. 136",
    status="published",
)
def test_bhandari_expansion_as_a_pushrod(tmp_path):
    # 200 mm from 25 to 250 degC, 10.8e-6 per K: a gap of 0.15 mm closes and 347.76 MPa at 207 GPa are
    # left, so that
    # the free growth is 0.15 mm + 347.76/207000 x 200 mm.
    sheet, _ = warm_sheet(0, *(["grey iron"] * 7))
    temperatures = {f"{part}_temperature": 25.0 for part in ("cold", "block", "head", "valve")}
    sheet = merged(
        sheet,
        pushrod={"length": 200.0},
        thermal={**temperatures, "stand_temperature": 250.0, "pushrod_material": None,
                 "pushrod_expansion": 10.8e-6},
    )  # fmt: skip
    valve = asked("lash", written(tmp_path, sheet))["valves"].of(role="intake")
    free = 0.15e-3 + 347.76 / 207000 * 200e-3
    parts = dict(
        zip([each["part"] for each in valve["growth_parts"].data], valve.si("growth_parts"), strict=True)
    )
    assert parts["pushrod"] == pytest.approx(-linkage_of(sheet).ratio(0.0) * free, rel=1e-5)


@pytest.mark.parametrize("seed", [0, 1])
@checks(
    "lash.valves",
    "ratio_at_opening opening_ramp closing_ramp opening_left closing_left ramp_left least_lash greatest_lash "
    "opening_velocity closing_velocity opening_speed closing_speed turns taken_up_lift ramp_begun",
    by="ramps of constant speed by hand, ratio by scipy.optimize.brentq",
    status="derived",
)
def test_ramps(tmp_path, seed):
    ramps = {"ramp_height": 0.34, "ramp_angle": 30.0, "closing_ramp_height": 0.40, "closing_ramp_angle": 40.0}
    sheet = merged(engine(seed), lobe=ramps, rocker={"locknut_gain": 0.02, "take_up": 0.01})
    valve = asked("lash", written(tmp_path, sheet))["valves"].of(role="exhaust")
    model = linkage_of(sheet, "exhaust")
    touch = model.lift_for(model.lash)
    ratio = model.ratio(touch)
    play = 0.01e-3
    assert valve.si("taken_up_lift") == pytest.approx(touch + play, abs=1e-10)
    assert valve.si("ratio_at_opening") == pytest.approx(ratio, rel=1e-6)
    left = [(h * MM - play) * ratio - model.lash for h in (0.34, 0.40)]
    # A ramp's speed builds up over its first quarter, evenly, and stays: height = speed x (length - half
    # of that).
    speeds = [h * MM / (a * DEG * (1 - 0.25 / 2)) for h, a in ((0.34, 30.0), (0.40, 40.0))]
    redline = 3200 * np.pi / 30
    expected = {
        "opening_ramp": 0.34e-3,
        "closing_ramp": 0.40e-3,
        "opening_left": left[0],
        "closing_left": left[1],
        "ramp_left": min(left),
        "greatest_lash": (0.34e-3 - play) * ratio,
        "least_lash": 0.0,
        "ramp_begun": 0.0,
        "opening_velocity": speeds[0],
        "closing_velocity": speeds[1],
        "opening_speed": speeds[0] * redline / 2 * ratio,
        "closing_speed": speeds[1] * redline / 2 * ratio,
        "turns": (sheet["lash"]["exhaust"] - 0.02) / (1.0 * ratio),
    }
    for name, value in expected.items():
        assert valve.si(name) == pytest.approx(value, rel=1e-6, abs=1e-10), name
    assert 0.1e-3 < touch < 0.34e-3, "the lash was to be taken up where the speed is constant"
