"""Standard uncertainties in answers, against root finding and the library `uncertainties`."""

from dataclasses import replace

import numpy as np
import pytest
from uncertainties import ufloat

from .answers import asked
from .engine import DEG, MM, engine, linkage_of
from .marks import checks
from .sheets import merged, written

# Dimension of the linkage -> sheet section, key, standard uncertainty in the sheet's unit, unit.
DOUBTS = {
    "setback": ("shaft", "setback", 0.03, MM),
    "height": ("shaft", "height", 0.04, MM),
    "pad_arm": ("rocker", "pad_arm", 0.03, MM),
    "pad_radius": ("rocker", "pad_radius", 0.05, MM),
    "socket_arm": ("rocker", "socket_arm", 0.035, MM),
    "arm_angle": ("rocker", "arm_angle", 0.25, DEG),
    "length": ("pushrod", "length", 0.2, MM),
    "splay": ("pushrod", "splay", 0.1, MM),
    "tappet_setback": ("tappet", "setback", 0.1, MM),
    "tappet_angle": ("tappet", "angle", 0.3, DEG),
}


@pytest.mark.parametrize("seed", [0, 2])
@checks(
    "rocker.valves",
    "gross_lift net_lift mean_ratio ratio_at_full_lift contact_closed contact_full square_at_lift_fraction",
    by="differences of scipy.optimize.brentq, squares added",
    status="derived",
)
def test_doubt_of_lift_and_contact(tmp_path, seed):
    base = engine(seed)
    base["pushrod"]["splay"] = 5.0
    model, full = linkage_of(base), base["lobe"]["lift"] * MM
    sheet = merged(base, lash={"intake": f"{base['lash']['intake']} +/- 0.012"},
                   lobe={"lift": f"{base['lobe']['lift']} +/- 0.01"})  # fmt: skip
    for section, key, u, _ in DOUBTS.values():
        sheet[section][key] = f"{base[section][key]:.12g} +/- {u}"
    valve = asked("rocker", written(tmp_path, sheet))["valves"].of(role="intake")

    def outcome(model, full):
        net = model.drop(full) - model.lash
        return np.array([
            model.drop(full), net, model.drop(full) / full, model.ratio(full),
            np.sqrt(model.pad_arm**2 - (model.pad_radius - model.height) ** 2) - model.setback,
            model.contact(full), (model.pad_radius - model.height) / net,
        ])  # fmt: skip

    squares = np.zeros(7)
    for name, (*_, u, unit) in DOUBTS.items():
        step = u * unit / 50
        more, less = (replace(model, **{name: getattr(model, name) + way * step}) for way in (1, -1))
        squares += ((outcome(more, full) - outcome(less, full)) / (2 * step) * u * unit) ** 2
    for u, (more, less) in (
        (0.012 * MM, [(replace(model, lash=model.lash + way * 1e-7), full) for way in (1, -1)]),
        (0.010 * MM, [(model, full + way * 1e-7) for way in (1, -1)]),
    ):
        squares += ((outcome(*more) - outcome(*less)) / 2e-7 * u) ** 2
    names = ("gross_lift", "net_lift", "mean_ratio", "ratio_at_full_lift", "contact_closed", "contact_full",
             "square_at_lift_fraction")  # fmt: skip
    for name, square in zip(names, squares, strict=True):
        assert valve.u(name) == pytest.approx(np.sqrt(square), rel=4e-3), name


@checks(
    "spring.valves",
    "seat_load open_load bind_clearance retainer_clearance",
    by="the library uncertainties",
    status="other library",
)
def test_doubt_of_spring_loads(tmp_path):
    base = engine(1)
    # The lift is told by a dial, so that the springs' doubt stands alone.
    spring = {"rate": "28.0 +/- 0.4", "free_length": "52.0 +/- 0.08", "solid_height": "24.0 +/- 0.05",
              "installed_height": "41.0 +/- 0.06", "retainer_to_seal": "14.0 +/- 0.07"}  # fmt: skip
    sheet = merged(base, spring=spring)
    rows = [{"valve": name, "gross_lift": "9.6 +/- 0.03", "lash": "0.3 +/- 0.015"} for name in ("1I", "1E")]
    valve = asked("spring", written(tmp_path, sheet, valves=rows))["valves"][0]
    rate, free, solid = ufloat(28e3, 0.4e3), ufloat(52e-3, 0.08e-3), ufloat(24e-3, 0.05e-3)
    height, seal = ufloat(41e-3, 0.06e-3), ufloat(14e-3, 0.07e-3)
    net = ufloat(9.6e-3, 0.03e-3) - ufloat(0.3e-3, 0.015e-3)
    expected = {
        "seat_load": rate * (free - height),
        "open_load": rate * (free - height + net),
        "bind_clearance": height - net - solid,
        "retainer_clearance": seal - net,
    }
    for name, value in expected.items():
        assert valve.si(name) == pytest.approx(value.nominal_value, rel=1e-9), name
        assert valve.u(name) == pytest.approx(value.std_dev, rel=2e-3), name
