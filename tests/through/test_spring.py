"""Springs: published examples written as sheets, and loads, fits and plans by other means."""

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from .answers import FORCE, INCH, asked
from .engine import DEG, MM, engine, linkage_of
from .lobes import Lobe, valve_lift
from .marks import checks
from .sheets import merged, written

NORRIS = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"


@checks(
    "spring.valves",
    "rate rate_open seat_load open_load",
    by="NIST StRD, Norris (certified), as a table of spring tests",
    status="published",
)
def test_norris_as_spring_tests(tmp_path):
    data = np.array([[float(n) for n in line.split()] for line in NORRIS.read_text().splitlines()[60:96]])
    B0, B1 = -0.262323073774029, 1.00211681802045  # certified
    # x is laid on heights, 70 mm down to 20 mm, a 20th of a mm each. The data's scatter alone would be
    # refused as
    # readings swapped, so a load of 0.95 N a unit of x is added to a twentieth of y: a straight line
    # shifts exactly.
    rows = [
        {"spring": "S1", "height [mm]": f"{70 - x / 20:.6f}", "load [N]": f"{y / 20 + 0.95 * x:.9f}"}
        for y, x in data
    ]
    B0, B1 = B0 / 20, B1 / 20 + 0.95
    base = engine(1)
    sheet = merged(
        base, spring={"rate": None, "tests": "springs.csv", "free_length": None, "installed_height": 41.0}
    )
    valves = [{"valve": "1I", "spring": "S1"}, {"valve": "1E", "spring": "S1"}]
    folder = written(tmp_path, sheet, springs=rows, valves=valves)
    valve = asked("spring", folder)["valves"].of(valve="1I")
    rate = B1 * 20e3
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    net = model.drop(full) - model.lash
    assert valve.si("rate") == pytest.approx(rate, rel=1e-9)
    assert valve.si("rate_open") == pytest.approx(rate, rel=1e-9)
    seat = B0 + B1 * 20 * (70 - 41)
    assert valve.si("seat_load") == pytest.approx(seat, rel=1e-9)
    assert valve.si("open_load") == pytest.approx(seat + rate * net, rel=1e-8)


def wired(**changes):
    """A sheet whose spring is known by its wire alone; shear modulus in MPa."""
    sheet = merged(engine(1), spring={"rate": None, "solid_height": 20.0, **changes})
    return {**sheet, "valve": {**sheet["valve"]}}


@pytest.mark.parametrize(
    ("source", "d", "D", "n", "G", "rate"),
    [
        # Shigley, Mechanical Engineering Design, Example 10-1 (from memory): prints 4.13 lbf/in.
        ("Shigley", 0.037 * 25.4, 0.4005 * 25.4, 10.5, 11.85e6 * 6.894757e-3, 4.1155 * FORCE / INCH),
        # Sadhu Singh, Machine Design, 8.3 p. 229: C 6, d 3, n 15, G 84 GPa: 9.72 N/mm.
        ("Sadhu Singh", 3.0, 18.0, 15, 84000.0, 9.72222e3),
        # Jindal, Machine Design, 8-7 p. 228: d 1.016, outside 12.6, 14 coils, G 81 GPa: 0.496 N/mm.
        ("Jindal", 1.016, 12.6 - 1.016, 14, 81000.0, 0.496e3),
        # Jindal 8-1 p. 224: d 5, D 30, 15 coils, G 84 GPa: exact 16.204 N/mm.
        ("Jindal", 5.0, 30.0, 15, 84000.0, 16.204e3),
        # Bhandari, Design of Machine Elements, Ex. 10.4, a valve spring: 30 N/mm with 6.2785 coils.
        ("Bhandari", 4.0, 24.0, 6.278549, 81370.0, 30.0e3),
        # Bhandari, Ex. 10.18: the inner spring, d 8, D 64, 12 coils: 695.6522 N at 52.52657 mm.
        ("Bhandari", 8.0, 64.0, 12, 81370.0, 695.6522 / 52.52657e-3),
    ],
)
@checks(
    "spring.valves",
    "rate",
    by="Sadhu Singh 8.3; Jindal 8-1, 8-7; Bhandari Ex. 10.4, 10.18, and Shigley Ex. 10-1 from memory",
    status="published",
)
def test_rates_from_the_wire(tmp_path, source, d, D, n, G, rate):
    sheet = wired(wire_diameter=d, coil_diameter=D, active_coils=n, shear_modulus=G, material="music",
                  solid_height=None)  # fmt: skip
    found = asked("spring", written(tmp_path, sheet))["valves"][0].si("rate")
    assert found == pytest.approx(rate, rel=5e-4), source


@checks(
    "spring.stress.spring",
    "surge_frequency",
    by="Sadhu Singh, Machine Design, 8.1, p. 227",
    status="published",
)
@checks("spring.stress.spring", "surge_order", by="harmonics of the cam counted", status="derived")
def test_surge_of_sadhu_singh_8_1(tmp_path):
    # C 8, d 4.25, 14 coils, G 84 GPa: 96.98 Hz with a density of 7800; the command's steel has 7850.
    sheet = wired(wire_diameter=4.25, coil_diameter=34.0, active_coils=14, shear_modulus=84000.0,
                  material="music", solid_height=None)  # fmt: skip
    stress = asked("spring", written(tmp_path, sheet))["stress.spring"][0]
    found = stress.si("surge_frequency")
    assert found == pytest.approx(96.98 * np.sqrt(7800 / 7850), rel=2e-4)
    cam_turns = 3200 / 60 / 2
    assert stress.si("surge_order") == pytest.approx(found / cam_turns, rel=1e-9)


# Shigley, Mechanical Engineering Design, Table 10-4, as two public scripts cite it, and the FE Reference
# Handbook.
STRENGTH = {"music": (2211, 0.145, 2060, 0.163), "hard-drawn": (1783, 0.190, 1510, 0.201),
            "oil-tempered": (1855, 0.187, 1610, 0.193), "chrome-vanadium": (2005, 0.168, 1790, 0.155),
            "chrome-silicon": (1974, 0.108, 1960, 0.091)}  # fmt: skip


@pytest.mark.parametrize("material", STRENGTH)
@checks(
    "spring.stress.spring",
    "tensile_strength",
    by="Shigley, Mechanical Engineering Design, Table 10-4",
    status="published",
)
@checks("spring.stress.spring", "tensile_strength_other", by="FE Reference Handbook", status="published")
@checks(
    "spring.stress.spring",
    "stress_seat stress_open stress_mean stress_alternating solid_stress",
    by="Sadhu Singh, Machine Design, 8.3, p. 229, with the Bergstraesser factor for Wahl's",
    status="published",
)
@checks(
    "spring.stress.spring",
    "goodman_safety goodman_safety_other sines_safety",
    by="lines of the Goodman diagram met with numpy; Zimmerli's endurance through Shigley",
    status="derived",
)
def test_stress_and_fatigue(tmp_path, material):
    # Sadhu Singh 8.3: C 6, d 3, 15 coils, G 84 GPa; 40 N: 85.05 MPa with Wahl's 1.2525.
    sheet = wired(wire_diameter=3.0, coil_diameter=18.0, active_coils=15, shear_modulus=84000.0,
                  material=material, surface="unpeened", free_length=60.0,
                  installed_height=45.0, solid_height=30.0)  # fmt: skip
    answer = asked("spring", written(tmp_path, sheet))
    stress = answer["stress.spring"][0]
    a_newton = 85.05e6 / 40 / 1.2525 * (4 * 6 + 2) / (4 * 6 - 3)
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    net = model.drop(full) - model.lash
    seat, opened, solid = (a_newton * 9.72222e3 * x for x in (15e-3, 15e-3 + net, 30e-3))
    A, m, A2, m2 = STRENGTH[material]
    strength, other = A * 1e6 / 3.0**m, A2 * 1e6 / 3.0**m2
    close = {"rel": 2e-4}
    assert stress.si("stress_seat") == pytest.approx(seat, **close)
    assert stress.si("stress_open") == pytest.approx(opened, **close)
    mean, alternating = (seat + opened) / 2, (opened - seat) / 2
    assert stress.si("stress_mean") == pytest.approx(mean, **close)
    assert stress.si("stress_alternating") == pytest.approx(alternating, **close)
    assert stress.si("tensile_strength") == pytest.approx(strength, rel=1e-9)
    assert stress.si("tensile_strength_other") == pytest.approx(other, rel=1e-9)
    assert stress.si("solid_stress") == pytest.approx(solid / strength, **close)
    kpsi = 1e3 * FORCE / INCH**2
    for name, ultimate in (("goodman_safety", strength), ("goodman_safety_other", other)):
        # The line through (0.67 Sut, 0) and Zimmerli's point (55, 35 kpsi), met by the ray of this load.
        end = np.array([0.67 * ultimate, 0.0])
        point = np.array([55.0, 35.0]) * kpsi
        ray = np.array([mean, alternating])
        along = np.linalg.solve(np.column_stack([ray, end - point]), end)[0]
        assert stress.si(name) == pytest.approx(along, rel=5e-4), name
    assert stress.si("sines_safety") == pytest.approx(35.0 * kpsi / alternating, **close)


@checks(
    "spring.valves",
    "installed_height installed_height_deviation bind_clearance retainer_clearance guide_clearance seat_load "
    "stem_height_after_work open_load_following",
    by="sums of the sheet's figures, lift by scipy.optimize.brentq",
    status="derived",
)
@checks("spring.seat_load_spread", "now", by="sums of the sheet's figures", status="derived")
def test_heights_and_clearances(tmp_path):
    base = engine(2)
    sheet = merged(
        base,
        engine={"cylinders": 3},
        spring={"seat_recession": 0.4, "tip_ground": 0.1, "retainer_to_guide": 16.0, "damper_friction": 12.0},
    )
    heights = {"1I": 41.0, "2I": 40.6, "3I": 41.5}
    valves = [
        {"valve": name, "installed_height": height, "stem_height": 50.0} for name, height in heights.items()
    ]
    valves += [{"valve": f"{k}E", "installed_height": 41.0, "stem_height": 50.0} for k in (1, 2, 3)]
    answer = asked("spring", written(tmp_path, sheet, valves=valves))
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    net = model.drop(full) - model.lash
    loads = {}
    for name, height in heights.items():
        valve = answer["valves"].of(valve=name)
        fitted = (height + 0.4) * MM
        loads[name] = 28e3 * (52e-3 - fitted)
        assert valve.si("installed_height") == pytest.approx(fitted, abs=1e-12)
        assert valve.si("installed_height_deviation") == pytest.approx((height - 41.0) * MM, abs=1e-12)
        assert valve.si("seat_load") == pytest.approx(loads[name], rel=1e-9)
        assert valve.si("bind_clearance") == pytest.approx(fitted - net - 24e-3, abs=1e-9)
        assert valve.si("stem_height_after_work") == pytest.approx((50.0 + 0.4 - 0.1) * MM, abs=1e-12)
        assert valve.si("open_load_following") == pytest.approx(loads[name] + 28e3 * net - 12.0, rel=1e-8)
        # The valve sinks: its retainer stands higher over seal and guide by as much.
        assert valve.si("retainer_clearance") == pytest.approx((14.0 + 0.4) * MM - net, abs=1e-9)
        assert valve.si("guide_clearance") == pytest.approx((16.0 + 0.4) * MM - net, abs=1e-9)
    spread = answer["seat_load_spread"].of(role="intake").si("now")
    assert spread == pytest.approx(max(loads.values()) - min(loads.values()), rel=1e-9)


@checks(
    "spring.valves",
    "rate_after installed_height_after seat_load_after open_load_after bind_clearance_after "
    "installed_height_deviation_after shims",
    by="every stack of the stock tried",
    status="derived",
)
@checks("spring.valves.shim_plan", "put_in in_all", by="every stack of the stock tried", status="derived")
@checks("spring.seat_load_spread", "after", by="every stack of the stock tried", status="derived")
def test_shims_under_a_weak_spring(tmp_path):
    sheet = merged(
        engine(0),
        spring={"rate": 20.0, "seat_load_target": 270.0, "shims_fitted": [], "installed_height": 41.0},
        stock={"spring_shims": [0.4, 0.8, 1.2], "spring_shim_stack": 3.2},
        limits={"seat_load": {"low": 255.0, "high": 285.0}},
    )
    answer = asked("spring", written(tmp_path, sheet), "--every")
    model, full = linkage_of(sheet), sheet["lobe"]["lift"] * MM
    net = model.drop(full) - model.lash
    # 11 mm x 20 N/mm = 220 N; 270 N need 2.5 mm: of 0.4, 0.8 and 1.2 the nearest sum is 2.4 mm, two of 1.2.
    valve = answer["valves"].of(role="intake")
    assert sorted(valve.si("shims")) == pytest.approx([1.2e-3, 1.2e-3])
    assert sorted(valve["shim_plan"].si("put_in")) == pytest.approx([1.2e-3, 1.2e-3])
    assert sorted(valve["shim_plan"].si("in_all")) == pytest.approx([1.2e-3, 1.2e-3])
    assert valve.si("installed_height_after") == pytest.approx(38.6e-3, abs=1e-12)
    assert valve.si("seat_load_after") == pytest.approx(20e3 * 13.4e-3, rel=1e-9)
    assert valve.si("open_load_after") == pytest.approx(20e3 * (13.4e-3 + net), rel=1e-8)
    assert valve.si("bind_clearance_after") == pytest.approx(38.6e-3 - net - 24e-3, abs=1e-9)
    assert valve.si("rate_after") == pytest.approx(20e3, rel=1e-12)
    assert valve.si("installed_height_deviation_after") == pytest.approx(0.0, abs=1e-12)
    assert answer["seat_load_spread"].of(role="intake").si("after") == pytest.approx(0.0, abs=1e-9)


@checks(
    "spring.surge",
    "frequency meets.speed meets.amplitude harmonics",
    by="Fourier integrals of a cycloidal lobe through scipy's root finder",
    status="derived",
)
def test_harmonics_of_the_lift(tmp_path):
    sheet = wired(wire_diameter=4.0, coil_diameter=26.0, active_coils=6, shear_modulus=80000.0,
                  material="music", rate=28.0)  # fmt: skip
    sheet["lobe"] = {"lift": 6.5, "law": "cycloidal", "rise_angle": 62.0, "nose_dwell": 6.0}
    surge = asked("spring", written(tmp_path, sheet))["surge"].of(role="intake")
    model = linkage_of(sheet)
    lobe = Lobe("cycloidal", 6.5e-3, 62 * DEG, dwell=6 * DEG)
    angle = np.linspace(-np.pi, np.pi, 20001)
    lift = valve_lift(model, lobe, angle)
    found, orders = surge.si("harmonics"), surge["harmonics"].raw("orders")
    for k in (0, 1, 5, 11, 19):
        n = orders[k]
        wave = np.trapezoid(lift * np.exp(-1j * n * angle), angle) / np.pi
        assert found[k] == pytest.approx(abs(wave), rel=2e-3, abs=2e-8), n
    # 1/(2 pi n D^2) d sqrt(G/2 rho): a wire of 4 mm on 26 mm, from its mass and its rate.
    mass = 7850 * np.pi / 4 * 4e-3**2 * np.pi * 26e-3 * 6
    rate = 80e9 * 4e-3**4 / (8 * 26e-3**3 * 6)
    frequency = 0.5 * np.sqrt(rate / mass)
    assert surge.si("frequency") == pytest.approx(frequency, rel=1e-9)
    for met in surge["meets"]:
        n = met.raw("order")
        assert met.si("speed") == pytest.approx(2 * np.pi * 2 * frequency / n, rel=1e-9)
        assert met.si("amplitude") == pytest.approx(found[orders.index(n)], rel=1e-12)
        assert met.si("speed") <= 3200 * np.pi / 30
