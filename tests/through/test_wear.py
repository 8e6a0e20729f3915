"""Wear: lobe and tappet by published Hertz cases, the form of both, and the pairs beyond (derived)."""

import warnings

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .lobes import Lobe
from .marks import checks
from .sheets import merged, written
from .train import Train

LIFT, RISE = 7.0, 80.0
LAW = {"lift": LIFT, "law": "simple harmonic", "rise_angle": RISE, "nose_dwell": 0.0}


def nose_sheet(radius, load, width, crown, moduli=(200e3, 0.29, 200e3, 0.29), seed=0, **changes):
    """A sheet whose lobe has this radius at its nose and is pressed with this load there [mm, N]."""
    drop = LIFT / 2 * (180 / RISE) ** 2  # s'' of the simple harmonic law at its end
    sheet = merged(engine(seed), lash={"intake": 0.05, "exhaust": 0.05}, **changes)
    sheet["lobe"] = {**LAW, "base_radius": radius - LIFT + drop, "width": width}
    model = linkage_of(sheet)
    full = LIFT * MM
    net, ratio = model.drop(full) - model.lash, model.ratio(full)
    rate = 40.0 if load > 1200 else 20.0
    sheet["spring"].update({"rate": rate, "installed_height": 40.0, "solid_height": 18.0,
                            "free_length": 40.0 + (load / ratio) / rate - net / MM})  # fmt: skip
    E1, nu1, E2, nu2 = moduli
    sheet["contact"] = {"lobe_modulus": E1, "lobe_poisson": nu1, "tappet_modulus": E2, "tappet_poisson": nu2,
                        **sheet.get("contact", {})}  # fmt: skip
    sheet["tappet"].update({"crown_radius": crown} if crown else {"crown_radius": None})
    if not crown:
        sheet["tappet"].pop("crown_radius")
        sheet["contact"]["face_form"] = "flat"
    return sheet


@pytest.mark.parametrize(
    ("radius", "load", "width", "crown", "moduli", "expected"),
    [
        # Boresi and Schmidt, Advanced Mechanics of Materials, 17.3: two cylinders of R 40, 20 mm wide,
        # 24.1 kN,
        # E 200 GPa, nu 0.29: 1447.0 MPa. On a flat face that is R 20; here a quarter of it, a sixteenth
        # of the load.
        (5.0, 24100 / 16, 5.0, None, (200e3, 0.29, 200e3, 0.29), 1447.0e6),
        # NAFEMS contact benchmark 1 (from memory): R 50 mm, steel 210 on aluminium 70 GPa, nu 0.3, 35 kN/mm:
        # exact 3585.362 MPa; a tenth of the size, a tenth of the load a width.
        (5.0, 3500.0 * 5.5 / 10, 5.5 / 10 * 10, None, (210e3, 0.3, 70e3, 0.3), None),
    ],
)
@checks(
    "wear.valves",
    "nose_stress nose_load",
    by="Boresi and Schmidt, Advanced Mechanics of Materials, Example 17.3",
    status="published",
)
def test_line_contact(tmp_path, radius, load, width, crown, moduli, expected):
    sheet = nose_sheet(radius, load, width, crown, moduli)
    valve = asked("wear", written(tmp_path, sheet))["valves"].of(role="intake")
    assert valve.si("nose_load") == pytest.approx(load, rel=1e-5)
    if expected is None:  # 35 kN/mm on R 50 and 0.35 kN/mm on R 5: a tenth of the load a radius, 1/sqrt(10)
        expected = 3585.362e6 * np.sqrt(load / width / 3500.0)
    assert valve.si("nose_stress") == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("lobe", "alpha", "k", "E"),
    # Exact ellipses (derived): alpha = B/A, k = a/b, second elliptic integral.
    [(26.0, 5, 2.8902, 1.1205), (12.0, 10, 4.4994, 1.0599), (10.0, 50, 12.0711, 1.0116)],
)
@checks("wear.valves", "nose_stress", by="ellipses solved with scipy.special", status="derived")
def test_ellipses(tmp_path, lobe, alpha, k, E):
    load = 900.0
    crown = (alpha - 1) * lobe
    sheet = nose_sheet(lobe, load, 24.0, crown, (210e3, 0.3, 130e3, 0.26))
    valve = asked("wear", written(tmp_path, sheet))["valves"].of(role="intake")
    # k from B/A and back: the condition of Hertz for k, its integrals by scipy.
    e2 = 1 - 1 / k**2
    assert (k**2 * ellipe(e2) - ellipk(e2)) / (ellipk(e2) - ellipe(e2)) == pytest.approx(alpha, rel=2e-4)
    assert ellipe(e2) == pytest.approx(E, abs=1e-4)
    star = 1 / ((1 - 0.3**2) / 210e9 + (1 - 0.26**2) / 130e9)
    R = 1 / (1 / lobe + 2 / crown) * MM
    b = (6 * E * load * R / (np.pi * k * 2 * star)) ** (1 / 3)
    assert valve.si("nose_stress") == pytest.approx(3 * load / (2 * np.pi * k * b * b), rel=3e-4)


@pytest.mark.parametrize(("crown", "expected"), [(760.0, 1068.9), (1500.0, 934.9), (2540.0, 844.7)])
@checks("wear.valves", "nose_stress crown_radius", by="crowned tappets computed apart", status="derived")
def test_crowned_tappets(tmp_path, crown, expected):
    # Steel 210 GPa, 0.3 on iron 130 GPa, 0.26; 1000 N, lobe radius 6 mm.
    sheet = nose_sheet(6.0, 1000.0, 25.0, crown, (210e3, 0.3, 130e3, 0.26))
    valve = asked("wear", written(tmp_path, sheet))["valves"].of(role="intake")
    assert valve.si("crown_radius") == pytest.approx(crown * MM, rel=1e-9)
    assert valve.si("nose_stress") == pytest.approx(expected * 1e6, rel=1e-4)


@checks("wear.valves", "nose_stress", by="ContactMechanics, boundary elements", status="other library")
def test_boundary_elements(tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ImportWarning)  # it looks for MPI and goes on without
        import ContactMechanics
        from SurfaceTopography import Topography
    lobe, crown, load = 12.0 * MM, 110.0 * MM, 700.0
    sheet = nose_sheet(12.0, load, 24.0, 110.0, (200e3, 0.27, 120e3, 0.27))
    valve = asked("wear", written(tmp_path, sheet))["valves"].of(role="intake")
    star = 1 / ((1 - 0.27**2) / 200e9 + (1 - 0.27**2) / 120e9)
    n, sizes = 96, (3.6e-3, 0.8e-3)
    x, y = ((np.arange(n) + 0.5 - n / 2) * size / n for size in sizes)
    heights = -(x[:, None] ** 2 / (2 * crown) + y[None, :] ** 2 * (1 / lobe + 1 / crown) / 2)
    half_space = ContactMechanics.FreeFFTElasticHalfSpace((n, n), star, sizes)
    system = ContactMechanics.Systems.NonSmoothContactSystem(half_space, Topography(heights, sizes))
    assert system.minimize_proxy(external_force=load, pentol=1e-11, maxiter=500).success
    pressure = np.abs(np.asarray(half_space.force)[:n, :n]) / (sizes[0] * sizes[1] / n**2)
    assert pressure[0].max() == pytest.approx(0.0), "the grid is too small for the contact"
    assert valve.si("nose_stress") == pytest.approx(pressure.max(), rel=5e-3)


@checks(
    "wear.valves",
    "lobe_taper rotation_arm lobe_edge_margin lobe_overhang crown_radius bore_clearance stem_in_guide "
    "tappet_hardness lobe_curvature least_face_diameter face_margin lift_deviation rotation_strength",
    by="form of lobe and face by hand, ellipses by scipy",
    status="derived",
)
@checks(
    "wear",
    "lift_spread.intake.spread lift_spread.intake.repeatability lift_spread.exhaust.spread "
    "lift_spread.exhaust.repeatability",
    by="numpy of the readings",
    status="derived",
)
def test_form(tmp_path):
    crown, width, face = 900.0, 14.0, 30.0
    sheet = nose_sheet(
        9.0,
        800.0,
        width,
        crown,
        engine={"cylinders": 4},
        control={"tip_friction": 0.0},
        contact={"taper_front": 0.0, "taper_rear": 0.021, "taper_distance": 12.0, "bore_offset": 1.1,
                 "bushing_bore": 19.065, "shaft_at_rocker": 18.995, "stem_in_guide": 0.045,
                 "tappet_hardness": 56.0, "seat_radius": 3.2, "seat_friction": 0.1, "friction": 0.07},
    )  # fmt: skip
    lifts = {"1I": 7.00, "2I": 6.98, "3I": 6.91, "4I": 7.02}
    valves = [{"valve": name, "lobe_lift [mm]": lift} for name, lift in lifts.items()]
    other = (7.00, 6.99, 6.97, 7.00)
    valves += [{"valve": f"{k}E", "lobe_lift [mm]": lift} for k, lift in enumerate(other, start=1)]
    answer = asked("wear", written(tmp_path, sheet, valves=valves))
    valve = answer["valves"].of(valve="1I")
    slope = np.arctan(0.021 / 12.0)
    reach = slope * crown * MM
    assert valve.si("lobe_taper") == pytest.approx(0.021 / 12.0 * width * MM, rel=1e-6)
    assert valve.si("rotation_arm") == pytest.approx(reach, rel=1e-5)
    assert valve.si("crown_radius") == pytest.approx(crown * MM)
    assert valve.si("bore_clearance") == pytest.approx(0.070 * MM, rel=1e-9)
    assert valve.si("stem_in_guide") == pytest.approx(0.045 * MM, rel=1e-9)
    assert valve.raw("tappet_hardness")["value"] == pytest.approx(56.0)
    median = np.median(list(lifts.values()))
    for name, lift in lifts.items():
        found = answer["valves"].of(valve=name).si("lift_deviation")
        assert found == pytest.approx((lift - median) * MM, abs=1e-9)
    spread = answer["lift_spread.intake"]
    assert spread.si("spread") == pytest.approx(np.std(list(lifts.values()), ddof=1) * MM, rel=1e-6)
    assert spread.si("repeatability") == pytest.approx(
        valve.u("lift_deviation") / np.sqrt(1 + np.pi / 8), rel=1e-6
    )

    exhaust = answer["lift_spread.exhaust"]
    assert exhaust.si("spread") == pytest.approx(np.std(other, ddof=1) * MM, rel=1e-6)
    assert exhaust.si("repeatability") == pytest.approx(spread.si("repeatability"), rel=1e-9)

    lobe, base = Lobe("simple harmonic", LIFT * MM, RISE * DEG), sheet["lobe"]["base_radius"] * MM
    theta = -np.pi + 2 * np.pi / 720 * np.arange(720)
    s, v, a = lobe.curves(theta)
    assert valve.si("lobe_curvature") == pytest.approx((base + s + a).min(), rel=1e-3)
    star = 1 / (2 * (1 - 0.29**2) / 200e9)
    train = Train(linkage_of(sheet), lobe, 0.0, 20e3)
    train.seat = 20e3 * (sheet["spring"]["free_length"] - 40.0) * MM
    far, torque, held, nose = 0.0, 0.0, 0.0, None
    for t, rate, accel, rise in zip(theta, v, a, s, strict=True):
        load = max(train.forces(t, 0.0)["lobe"], 0.0)
        long, narrow = semi_axes(load, base + rise + accel, crown * MM, star)
        low, high = (np.clip(reach + way * long, -5.9 * MM, 8.1 * MM) for way in (-1, 1))
        far = max(far, np.hypot(abs(rate) + narrow, max(abs(low), abs(high))))
        torque += 0.07 * load * (low + high) / 2
        held += 2 / 3 * 0.1 * load * 3.2 * MM
        if t == 0.0:
            nose = long
    assert valve.si("lobe_edge_margin") == pytest.approx(7.0 * MM - (reach - 1.1 * MM) - nose, rel=1e-3)
    assert valve.si("least_face_diameter") == pytest.approx(2 * far, rel=1e-3)
    assert valve.si("face_margin") == pytest.approx(face / 2 * MM - far, rel=2e-3)
    assert valve.si("rotation_strength") == pytest.approx(torque / held, rel=2e-3)
    chord = np.sqrt((face / 2 * MM) ** 2 - v**2)
    assert valve.si("lobe_overhang") == pytest.approx((8.1 * MM - chord).max(), abs=2e-6)


def semi_axes(load, lobe, crown, star):
    """Half axes of the ellipse of a crowned face on a lobe: k by root finding on its integrals."""
    if load <= 0:
        return 0.0, 0.0
    ratio = (1 / lobe + 1 / crown) * crown

    def short(k):
        m = 1 - 1 / k**2
        return (k**2 * ellipe(m) - ellipk(m)) / (ellipk(m) - ellipe(m)) - ratio

    k = brentq(short, 1.0001, 1e3)
    m = 1 - 1 / k**2
    R = 1 / (1 / lobe + 2 / crown)
    b = (6 * ellipe(m) * load * R / (np.pi * k * 2 * star)) ** (1 / 3)
    return k * b, b


@checks(
    "wear.valves",
    "tip_stress tip_sliding tip_edge_margin guide_side guide_pressure shaft_pressure shaft_sliding "
    "shaft_severity "
    "load_direction hole_apart",
    by="free bodies solved with numpy, line contact by hand",
    status="derived",
)
def test_pairs_beyond_the_pushrod(tmp_path):
    sheet = nose_sheet(
        9.0,
        900.0,
        14.0,
        900.0,
        contact={"bearing_width": 20.0, "oil_hole_angle": 40.0, "guide_length": 45.0, "tip_over_guide": 38.0,
                 "pad_modulus": 205e3, "tip_modulus": 200e3},
        control={"tip_friction": 0.12},
    )  # fmt: skip
    answer = asked("wear", written(tmp_path, sheet))
    valve = answer["valves"].of(role="intake")
    speeds = np.array(answer.raw("rpm")) * np.pi / 60
    lobe = Lobe("simple harmonic", LIFT * MM, RISE * DEG)
    train = Train(
        linkage_of(sheet), lobe, 20e3 * (sheet["spring"]["free_length"] - 40.0) * MM, 20e3, friction=0.12
    )
    loads = [train.forces(t, 0.0) for t in -np.pi + 2 * np.pi / 720 * np.arange(720)]
    of = {name: np.array([each[name] for each in loads]) for name in loads[0]}
    open_, top = of["lift"] > 0, speeds.max()
    # The masses are not known: only the slow load counts, at any speed the sliding.
    star = 1 / ((1 - 0.29**2) / 205e9 + (1 - 0.29**2) / 200e9)
    tip = of["tip"].max()
    radius = sheet["rocker"]["pad_radius"] * MM
    chord = min(9.0, 2 * (4.5 - 0.6)) * MM
    assert valve.si("tip_stress") == pytest.approx(np.sqrt(tip * star / (np.pi * radius * chord)), rel=2e-4)
    assert valve.si("tip_sliding") == pytest.approx(np.abs(of["slides"])[open_].max() * top, rel=1e-3)
    half = np.sqrt(4 * of["tip"] * radius / (np.pi * chord * star))
    reach = np.abs(of["contact"][:, 0]) + half
    assert valve.si("tip_edge_margin") == pytest.approx(3.9 * MM - reach[open_].max(), abs=2e-7)

    # Stem: two forces at the guide's ends hold it against the tip's, moments about either end.
    greatest = 0.0
    for each in np.array(loads)[open_]:
        above = 38.0 * MM - each["lift"]
        couple = each["side"] * above + each["tip"] * each["contact"][0]
        ends = np.linalg.solve([[1.0, 1.0], [0.0, 45.0 * MM]], [-each["side"], couple])
        greatest = max(greatest, *np.abs(ends))
    assert valve.si("guide_side") == pytest.approx(greatest, rel=1e-3)
    assert valve.si("guide_pressure") == pytest.approx(greatest / (9.0 * MM * 45.0 * MM / 4), rel=1e-3)

    shaft = np.hypot(of["shaft"][:, 0], of["shaft"][:, 1])
    pressure = shaft.max() / (19.0 * MM * 20.0 * MM)
    assert valve.si("shaft_pressure") == pytest.approx(pressure, rel=2e-4)
    sliding = np.abs(of["turn"]) * 9.5 * MM * top
    assert valve.si("shaft_sliding") == pytest.approx(sliding.max(), rel=1e-3)
    direction = valve.si("load_direction")
    # The shaft is pressed on the side that faces the load's source: its loaded arc lies opposite to the
    # force on it.
    apart = abs((40 * DEG - (direction + np.pi) + np.pi) % (2 * np.pi) - np.pi)
    assert valve.si("hole_apart") == pytest.approx(apart, abs=2e-4)
    both = (shaft / (19.0 * MM * 20.0 * MM) * sliding).max()
    both *= 800 * np.pi / 60 / top  # the greatest speed at which the load is known without the masses
    assert valve.si("shaft_severity") == pytest.approx(both, rel=1e-3)


@checks("wear.valves", "load_direction", by="free bodies solved with numpy", status="derived")
def test_direction_of_the_load_on_the_shaft(tmp_path):
    """Without friction on the tip: with it the direction at full lift, where the pad turns, has two."""
    sheet = nose_sheet(
        9.0, 900.0, 14.0, 900.0, contact={"bearing_width": 20.0}, control={"tip_friction": 0.0}
    )
    valve = asked("wear", written(tmp_path, sheet))["valves"].of(role="intake")
    train = Train(linkage_of(sheet), Lobe("simple harmonic", LIFT * MM, RISE * DEG), 300.0, 40e3)
    x, y, _ = train.forces(0.0, 0.0)["shaft"]
    assert valve.si("load_direction") == pytest.approx(np.arctan2(y, x), abs=2e-4)
