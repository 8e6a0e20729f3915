"""Lobes: published cam examples and exact law factors as laws in a sheet; tables from known curves."""

import numpy as np
import pytest

from .answers import asked
from .engine import DEG, MM, engine
from .lobes import Lobe
from .marks import checks
from .sheets import written

PI = np.pi
SINE, TRAPEZOID = 4 + PI, 2 + PI
# Law: factors of velocity, acceleration and jerk of a rise, in closed form. Norton, Design of Machinery,
# table of
# factors (from memory) prints the same to three or four figures; the forms are derived.
FACTORS = {
    "constant acceleration": (2.0, 4.0, None),
    "simple harmonic": (PI / 2, PI**2 / 2, PI**3 / 2),
    "cycloidal": (2.0, 2 * PI, 4 * PI**2),
    "modified trapezoid": (2.0, 8 * PI / TRAPEZOID, 32 * PI**2 / TRAPEZOID),
    "modified sine": (4 * PI / SINE, 4 * PI**2 / SINE, 16 * PI**3 / SINE),
    "3-4-5 polynomial": (15 / 8, 10 / np.sqrt(3), 60.0),
    "4-5-6-7 polynomial": (35 / 16, 84 * np.sqrt(5) / 25, 52.5),
}


def lobe_sheet(lift, law, rise, back, redline=3000, dwell=8.0):
    sheet = engine(0)
    sheet["engine"]["redline"] = redline
    sheet["lobe"] = {"lift": lift, "law": law, "rise_angle": rise, "return_angle": back, "nose_dwell": dwell}
    return sheet


@pytest.mark.parametrize("law", FACTORS)
@checks(
    "lobe.peaks",
    "lift velocity fall acceleration nose jerk velocity.per_second acceleration.per_second jerk.per_second",
    by="exact factors of the law",
    status="derived",
)
def test_factors_of_the_laws(tmp_path, law):
    answer = asked(
        "lobe", written(tmp_path, lobe_sheet(8.0, law, 60.0, 75.0)), "--role", "intake", "--step", "0.1"
    )
    Cv, Ca, Cj = FACTORS[law]
    h, rise, back = 8.0 * MM, 60 * DEG, 75 * DEG
    peaks = answer["peaks"]
    assert peaks.si("lift") == pytest.approx(h, rel=1e-12)
    assert peaks.si("velocity") == pytest.approx(Cv * h / rise, rel=1e-4)
    assert peaks.si("fall") == pytest.approx(-Cv * h / back, rel=1e-4)
    # The rise is the shorter: it makes both the greatest acceleration and the greatest deceleration.
    assert peaks.si("acceleration") == pytest.approx(Ca * h / rise**2, rel=1e-4)
    assert peaks.si("nose") == pytest.approx(-Ca * h / rise**2, rel=1e-4)
    cam = 1500 * PI / 30
    assert peaks["velocity"].si("per_second") == pytest.approx(Cv * h / rise * cam, rel=1e-4)
    assert peaks["acceleration"].si("per_second") == pytest.approx(Ca * h / rise**2 * cam**2, rel=1e-4)
    found = peaks.si("jerk"), peaks["jerk"].si("per_second")
    if Cj is not None:
        assert found[0] == pytest.approx(Cj * h / rise**3, rel=2e-3)
        assert found[1] == pytest.approx(Cj * h / rise**3 * cam**3, rel=2e-3)


@pytest.mark.parametrize(
    ("law", "lift", "rise", "back", "rpm", "scale", "up", "down"),
    [
        # Sarkar, Theory of Machines, Ill. 9.2, p. 247: 40 mm at 300 rpm, 60 and 90 deg: 177.65 and 78.96
        # m/s^2.
        ("simple harmonic", 10.0, 60.0, 90.0, 300, 4, 177.65, 78.96),
        # Ill. 9.3, p. 249: 50 mm at 100 rpm, 120 and 60 deg: 6.2 and 24.7.
        ("simple harmonic", 10.0, 120.0, 60.0, 100, 5, 6.17, 24.67),
        # Ill. 9.5, p. 252: constant acceleration, 25 mm at 1000 rpm, 120 and 90 deg: 250.0 and 444.4.
        ("constant acceleration", 12.5, 120.0, 90.0, 1000, 2, 250.0, 444.4),
    ],
)
@checks(
    "lobe",
    "peaks.acceleration.per_second peaks.nose.per_second acceleration cam_angle",
    by="Sarkar, Theory of Machines, Illustrations 9.2, 9.3, 9.5, scaled in lift",
    status="published",
)
def test_sarkar(tmp_path, law, lift, rise, back, rpm, scale, up, down):
    sheet = lobe_sheet(lift, law, rise, back, redline=2 * rpm)
    answer = asked("lobe", written(tmp_path, sheet), "--role", "intake", "--step", "0.1")
    cam = rpm * PI / 30
    angle, series = answer.si("cam_angle"), answer.si("acceleration") * cam**2 * scale
    nose = (
        PI - Lobe(law, lift * MM, rise * DEG, back * DEG, 8 * DEG).center if law == "simple harmonic" else PI
    )
    for side, expected in ((angle < nose, up), (angle > nose, down)):
        assert series[side].max() == pytest.approx(expected, rel=2e-3)
        assert series[side].min() == pytest.approx(-expected, rel=2e-3)
    top = answer["peaks"]["acceleration"].si("per_second") * scale
    assert top == pytest.approx(max(up, down), rel=2e-3)
    assert answer["peaks"]["nose"].si("per_second") * scale == pytest.approx(-max(up, down), rel=2e-3)


@pytest.mark.parametrize("law", ["cycloidal", "3-4-5 polynomial", "modified sine", "simple harmonic"])
@checks(
    "lobe", "lift velocity acceleration jerk", by="law's acceleration integrated with scipy", status="derived"
)
def test_curves_of_a_law(tmp_path, law):
    answer = asked("lobe", written(tmp_path, lobe_sheet(7.0, law, 55.0, 68.0)), "--role", "exhaust")
    angle = answer.si("cam_angle") - PI
    own = Lobe(law, 7e-3, 55 * DEG, 68 * DEG, 8 * DEG)
    nose = angle + own.center
    inside = (np.abs(nose) > 4.5 * DEG) & (nose > -58.5 * DEG) & (nose < 71.5 * DEG)
    lift, speed, acceleration = own.curves(angle)
    assert answer.si("lift") == pytest.approx(lift, abs=1e-9)
    assert answer.si("velocity") == pytest.approx(speed, abs=1e-7)
    assert answer.si("acceleration")[inside] == pytest.approx(acceleration[inside], abs=1e-5)
    step = 1e-4
    jerk = (own.curves(angle + step)[2] - own.curves(angle - step)[2]) / (2 * step)
    assert answer.si("jerk")[inside] == pytest.approx(
        jerk[inside], rel=0.02, abs=2e-3 * np.abs(jerk[inside]).max()
    )


@checks(
    "lobe",
    "noise runout zero_offset residual_angle residuals lift",
    by="readings made of a 4-5-6-7 polynomial with planted noise, zero and runout",
    status="derived",
)
def test_a_table_with_planted_faults(tmp_path):
    rng = np.random.default_rng(5)
    own = Lobe("4-5-6-7 polynomial", 7e-3, 66 * DEG, dwell=4 * DEG)
    degrees = np.arange(0.0, 360.0, 2.0)
    planted, zero, wobble = 2e-6, 0.050e-3, 0.012e-3
    clean = own.lift((degrees - 180) * DEG)
    readings = clean + zero + wobble / 2 * np.sin(degrees * DEG * 1.0) + rng.normal(0, planted, degrees.size)
    rows = [
        {"cam_angle [deg]": a, "tappet_lift [mm]": f"{r * 1e3:.6f}"}
        for a, r in zip(degrees, readings, strict=True)
    ]
    sheet = engine(0)
    sheet["lobe"] = {"table": "lobe.csv", "lift": 7.0, "base_radius": 16.0, "width": 14.0}
    answer = asked("lobe", written(tmp_path, sheet, lobe=rows), "--role", "intake")
    base = clean == 0
    assert answer.si("zero_offset") == pytest.approx(np.mean(readings[base]), abs=3e-6)
    assert answer.si("runout") == pytest.approx(wobble, rel=0.3)
    assert answer.si("noise") == pytest.approx(planted, rel=0.5)
    assert answer.si("lift").max() == pytest.approx(7e-3 + 0.0, abs=wobble)
    # A residual is the reading less zero and curve, at the reading's own angle about the curve's center.
    at, left = answer.si("residual_angle"), answer.si("residuals")
    assert len(at) == len(left) == degrees.size
    curve = np.interp(at, answer.si("cam_angle"), answer.si("lift"), period=2 * PI)
    lobe = curve > 1e-4
    expected = readings - answer.si("zero_offset")
    shift = np.round((at - degrees * DEG)[0], 12)
    assert np.ptp(np.mod(at - degrees * DEG + PI, 2 * PI)) < 1e-9, shift
    assert left[lobe] == pytest.approx((expected - curve)[lobe], abs=1.5e-6)
