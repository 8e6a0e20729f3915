"""Wear around the lobe: load, stress, speeds, film, heat and relative wear, worked apart by angle."""

import numpy as np
import pytest

from .answers import asked
from .engine import DEG, MM, linkage_of
from .lobes import Lobe
from .marks import checks
from .sheets import written
from .test_wear import LIFT, RISE, nose_sheet, semi_axes
from .train import Train

OIL = {"viscosity_40": 105.0, "viscosity_100": 14.2, "temperature": 100.0, "pressure_viscosity": 0.018,
       "density": 0.87}  # fmt: skip
ROUGH = {"lobe_roughness": 0.30, "tappet_roughness": 0.20, "friction": 0.07}


def lobe_and_train(sheet, rate=20e3):
    lobe = Lobe("simple harmonic", LIFT * MM, RISE * DEG)
    seat = rate * (sheet["spring"]["free_length"] - 40.0) * MM
    return lobe, Train(linkage_of(sheet), lobe, seat, rate)


def around(tmp_path, crown):
    sheet = nose_sheet(9.0, 800.0, 14.0, crown, contact=dict(ROUGH), oil=OIL, control={"tip_friction": 0.0})
    folder = written(tmp_path, sheet)
    answer = asked("wear", folder)
    # Density 0.87 at 15 degC; mineral oil loses about 0.65 kg/m^3 a degree (common practice, no source).
    viscosity = asked("oil", folder).si("viscosity") * (870 - 0.65 * 85)
    series = answer["over_lobe.series"].of(valve="1I", rpm=800.0)
    return sheet, answer, series, viscosity


@checks(
    "wear",
    "over_lobe.cam_angle over_lobe.series.load over_lobe.series.stress over_lobe.series.entrainment "
    "over_lobe.series.sliding valves.peak_stress",
    by="free bodies with numpy, ellipses by scipy, surface speeds of the profile's points",
    status="derived",
)
@checks(
    "wear",
    "over_lobe.series.film over_lobe.series.film_ratio valves.film_at_nose valves.film_ratio_nose",
    by="Hamrock and Dowson, least film of an ellipse: 3.63, 0.68, 0.49, -0.073, 1 - exp(-0.68 k)",
    status="published",
)
def test_around_a_crowned_contact(tmp_path):
    sheet, answer, series, viscosity = around(tmp_path, 900.0)
    theta = answer.si("over_lobe.cam_angle")
    lobe, train = lobe_and_train(sheet)
    base, crown, cam = sheet["lobe"]["base_radius"] * MM, 0.9, 800 * np.pi / 60
    star = 1 / (2 * (1 - 0.29**2) / 200e9)
    found = {
        name: series.si(name) for name in ("load", "stress", "entrainment", "sliding", "film", "film_ratio")
    }
    rough = np.hypot(0.30e-6, 0.20e-6)
    stresses = []
    for k in range(0, len(theta), max(1, len(theta) // 90)):
        s, _, a = (float(each) for each in lobe.curves(theta[k]))
        load = max(train.forces(theta[k], 0.0)["lobe"], 0.0)
        if load <= 0 or s < 0.3e-3:
            continue
        # The contact lies v beside the axis; it moves at a cam radian by a, the face stands still across.
        point = lambda t: lobe_point(lobe, base, t)  # noqa: E731
        step = 1e-4
        along_face = (point(theta[k] + step)[0] - point(theta[k] - step)[0]) / (2 * step)
        on_lobe = cam * (base + s + a)
        face = cam * a
        assert along_face == pytest.approx(a, rel=1e-3, abs=1e-6)
        assert found["load"][k] == pytest.approx(load, rel=2e-4)
        assert found["entrainment"][k] == pytest.approx((on_lobe + face) / 2, rel=2e-3, abs=1e-5)
        assert found["sliding"][k] == pytest.approx(on_lobe - face, rel=1e-4)
        radius = base + s + a
        long, narrow = semi_axes(load, radius, crown, star)
        pressure = 3 * load / (2 * np.pi * long * narrow)
        stresses.append(pressure)
        assert found["stress"][k] == pytest.approx(pressure, rel=1e-3)
        # Across the contact, where the oil is drawn in, lobe and crown curve together.
        Rx = 1 / (1 / radius + 1 / crown)
        E = 2 * star
        U, G, W = viscosity * abs(on_lobe + face) / 2 / (E * Rx), 0.018e-6 * E, load / (E * Rx**2)
        film = 3.63 * Rx * U**0.68 * G**0.49 * W**-0.073 * (1 - np.exp(-0.68 * long / narrow))
        assert found["film"][k] == pytest.approx(film, rel=3e-3), k
        assert found["film_ratio"][k] == pytest.approx(film / rough, rel=3e-3)
    assert answer["valves"][0].si("peak_stress") == pytest.approx(max(stresses), rel=2e-3)
    nose = int(np.argmin(np.abs((theta + np.pi) % (2 * np.pi) - np.pi)))
    assert answer["valves"][0].si("film_at_nose") == pytest.approx(found["film"][nose], rel=2e-3)
    assert answer["valves"][0].si("film_ratio_nose") == pytest.approx(found["film_ratio"][nose], rel=2e-3)


def lobe_point(lobe, base, angle):
    """Where the lobe touches a flat face: beside the tappet's axis by s', at the height of the face."""
    s, v, _ = (float(each) for each in lobe.curves(angle))
    return v, base + s


@checks(
    "wear",
    "over_lobe.series.temperature_rise valves.flash",
    by="Blok's flash temperature of a band, 1.11 mu w |v1 - v2|/(b1 sqrt v1 + b2 sqrt v2)/sqrt(2 b)",
    status="from memory",
)
@checks(
    "wear",
    "over_lobe.series.film",
    by="Dowson and Higginson: 2.65, 0.70, 0.54, -0.13 with the load a length",
    status="published",
)
@checks("wear", "over_lobe.series.relative_wear", by="Archard a length of lobe, by numpy", status="derived")
def test_around_a_flat_contact(tmp_path):
    sheet, answer, series, viscosity = around(tmp_path, None)
    theta = answer.si("over_lobe.cam_angle")
    lobe, train = lobe_and_train(sheet)
    base, cam, width = sheet["lobe"]["base_radius"] * MM, 800 * np.pi / 60, 14.0 * MM
    star = 1 / (2 * (1 - 0.29**2) / 200e9)
    carried = np.sqrt(50.0 * 7200.0 * 500.0)
    rise, film, wear = (series.si(name) for name in ("temperature_rise", "film", "relative_wear"))
    heats, depths, at = [], [], []
    for k in range(len(theta)):
        s, _, a = (float(each) for each in lobe.curves(theta[k]))
        load = max(train.forces(theta[k], 0.0)["lobe"], 0.0)
        if load <= 0 or s < 0.3e-3:
            continue
        one, other = cam * (base + s + a), cam * a
        band = np.sqrt(4 * load / width * (base + s + a) / (np.pi * star))
        heat = 1.11 * 0.07 * load / width * abs(one - other)
        heat /= carried * (np.sqrt(abs(one)) + np.sqrt(abs(other))) * np.sqrt(2 * band)
        heats.append(heat)
        assert rise[k] == pytest.approx(heat, rel=2e-3, abs=1e-3), k
        R, E = base + s + a, 2 * star
        U, G, W = viscosity * abs(one + other) / 2 / (E * R), 0.018e-6 * E, load / width / (E * R)
        assert film[k] == pytest.approx(2.65 * R * U**0.70 * G**0.54 * W**-0.13, rel=3e-3), k
        # A turn wears a place of the lobe by load a width times the way the face slides over it.
        depths.append(load / width * abs(one - other) / one)
        at.append(k)
    slowest = answer["over_lobe.series"].of(valve="1I", rpm=200.0).si("temperature_rise")
    assert np.nanmax(slowest) < np.nanmax(rise)
    most = max(depths)
    both = [answer["over_lobe.series"].of(valve=name, rpm=800.0).si("relative_wear") for name in ("1I", "1E")]
    scale = np.nanmax(wear) / most
    assert max(np.nanmax(each) for each in both) == pytest.approx(1.0, abs=2e-3)
    assert wear[at] == pytest.approx(np.array(depths) * scale, rel=3e-3)
    assert answer["valves"][0].si("flash") >= max(heats) * 0.999
    # At the higher speeds the masses would count, and they are not known.
    speeds = [answer["over_lobe.series"].of(valve="1I", rpm=r) for r in (200.0, 800.0)]
    hottest = max(np.nanmax(each.si("temperature_rise")) for each in speeds)
    assert answer["valves"][0].si("flash") == pytest.approx(hottest, rel=2e-2)
