"""Fit: bench readings of a known linkage, inferred again with lmfit on scipy's root finder."""

import lmfit
import numpy as np
import pytest

from .answers import asked
from .engine import DEG, MM, engine
from .linkage import Linkage
from .marks import checks
from .sheets import merged, written

# Parameter -> (sheet section, key, standard uncertainty written in the sheet, unit).
SHEET = {
    "setback": ("shaft", "setback", 0.10, MM),
    "height": ("shaft", "height", 0.15, MM),
    "pad_arm": ("rocker", "pad_arm", 0.12, MM),
    "pad_radius": ("rocker", "pad_radius", 0.20, MM),
    "socket_arm": ("rocker", "socket_arm", 0.15, MM),
    "arm_angle": ("rocker", "arm_angle", 0.8, DEG),
    "tappet_setback": ("tappet", "setback", 0.25, MM),
    "tappet_angle": ("tappet", "angle", 0.5, DEG),
}
# What the command says that it takes for granted of parts of one set: how far they differ.
OWN = {"setback": 0.05 * MM, "pad_arm": 0.04 * MM, "socket_arm": 0.04 * MM, "arm_angle": 0.1 * DEG}
DIAL, MARK, LASH = 0.004 * MM, 0.02 * MM, 0.0005 * MM
LIFTS = (1.2, 2.2, 3.2, 4.2, 5.2, 6.2)


def bench(tmp_path, seed, slip=None):
    """The command's answer to readings of a linkage that differs from the sheet's, and what lmfit infers."""
    base = merged(
        engine(seed),
        pushrod={"splay": 0.0},
        rocker={"nominal_ratio": None},
        adjuster=None,
        valve={"stem_height": "48.0 +/- 0.0001"},
        lash={"intake": "0.3 +/- 0.0005", "exhaust": 0.3},
    )
    rng = np.random.default_rng(seed)
    stated = {name: base[section][key] * unit for name, (section, key, _, unit) in SHEET.items()}
    sigma = {name: u * unit for name, (*_, u, unit) in SHEET.items()}
    rest = {"length": base["pushrod"]["length"] * MM, "lash": 0.3 * MM}
    true = Linkage(**{name: stated[name] + sigma[name] * rng.normal() for name in SHEET}, **rest)
    rows, readings = [], []
    for lift in LIFTS:
        value = true.drop(lift * MM) - true.lash + rng.normal(0, DIAL)
        told = value + (slip[1] * MM if slip and slip[0] == lift else 0.0)
        rows.append({"valve": "1I", "reading": "net lift", "tappet_lift [mm]": f"{lift} +/- 0.0001",
                     "value [mm]": f"{told / MM:.6f} +/- {DIAL / MM}", "from": ""})  # fmt: skip
        if not slip or slip[0] != lift:
            readings.append((lift * MM, value))
    mark = true.pad(contact_angle(true))[0] + rng.normal(0, MARK)
    rows.append({"valve": "1I", "reading": "closed mark", "tappet_lift [mm]": "",
                 "value [mm]": f"{mark / MM:.6f} +/- {MARK / MM}", "from": "axis"})  # fmt: skip
    sheet = merged(base)
    for name, (section, key, u, unit) in SHEET.items():
        sheet[section][key] = f"{stated[name] / unit:.9f} +/- {u}"
    answer = asked("fit", written(tmp_path, sheet, readings=rows), "--readings", "readings.csv")

    # The sheet's figure was read on one part: what that part has of its own is in it.
    wide = {name: float(np.hypot(sigma[name], OWN.get(name, 0.0))) for name in SHEET}
    start = lmfit.Parameters()
    for name in SHEET:
        start.add(name, 0.0)
    for name in OWN:
        start.add(f"own_{name}", 0.0)
    # What the command says that it takes for granted: the dial's zero to 0.010 mm, that of the ink to
    # 0.05 mm.
    for name in ("lash", "dial", "ink"):
        start.add(name, 0.0)

    def linkage(values):
        moved = {name: stated[name] + wide[name] * values[name] for name in SHEET}
        for name, spread in OWN.items():
            moved[name] += spread * values[f"own_{name}"]
        return Linkage(**moved, length=rest["length"], lash=rest["lash"] + LASH * values["lash"])

    def residuals(parameters):
        values = parameters.valuesdict()
        model = linkage(values)
        zero, blot = 0.010 * MM * values["dial"], 0.05 * MM * values["ink"]
        dial = [(model.drop(lift) - model.lash + zero - value) / DIAL for lift, value in readings]
        return np.array([*values.values(), *dial, (model.pad(contact_angle(model))[0] + blot - mark) / MARK])

    found = lmfit.minimize(residuals, start, method="leastsq", scale_covar=False, xtol=1e-10, ftol=1e-12)
    assert found.success
    return sheet, answer, linkage, found, stated, wide, true


def contact_angle(model):
    """Arm's angle with the pad resting on the closed tip."""
    return float(np.arcsin((model.pad_radius - model.height) / model.pad_arm))


@pytest.mark.parametrize("seed", [0, 3])
@checks("fit", "parameters", by="lmfit, least squares on the linkage", status="other library")
@checks(
    "fit.valves",
    "gross_lift net_lift mean_ratio sweep_width sweep_share sweep_middle chamfer_distance height "
    "stand_shim_change_for_least_sweep",
    by="lmfit, least squares on the linkage, its covariance carried on",
    status="other library",
)
@checks(
    "fit.shafts",
    "height stand_shim_change answers.shaft_height answers.stand_shim_change",
    by="lmfit, least squares on the linkage",
    status="other library",
)
def test_dimensions_inferred_again(tmp_path, seed):
    sheet, answer, linkage, found, stated, sigma, _ = bench(tmp_path, seed)
    names = list(found.params)
    values = found.params.valuesdict()
    for parameter in answer["parameters"]:
        name = next((n for n, (s, k, *_) in SHEET.items() if f"{s}.{k}" == parameter["key"].data), None)
        if name is None:
            continue
        own = found.params[name]
        row = answer.row("parameters", key=parameter["key"].data)
        value, doubt = row["value"] * SHEET[name][3], row["u"] * SHEET[name][3]
        # The command also takes a range of what is usual, five times as wide as it would be alone.
        assert value == pytest.approx(stated[name] + sigma[name] * own.value, abs=0.2 * sigma[name]), name
        assert doubt == pytest.approx(sigma[name] * own.stderr, rel=0.12), name

    full = sheet["lobe"]["lift"] * MM
    tip = (sheet["valve"]["stem_diameter"] / 2 - sheet["valve"]["tip_chamfer"]) * MM
    lean = sheet["shaft"]["stand_angle"] * DEG

    def outcome(vector):
        model = linkage(dict(zip(names, vector, strict=True)))
        gross = model.drop(full)
        net = gross - model.lash
        y = model.pad_radius - model.height - net * np.linspace(0, 1, 801)
        x = np.sqrt(model.pad_arm**2 - y**2) - model.setback
        return {
            "gross_lift": gross,
            "net_lift": net,
            "mean_ratio": gross / full,
            "sweep_width": np.ptp(x),
            "sweep_share": np.ptp(x) / gross,
            "sweep_middle": (x.max() + x.min()) / 2,
            "chamfer_distance": tip - np.abs(x).max(),
            "height": model.height,
            "stand_shim_change_for_least_sweep": (model.pad_radius - model.height - net / 2) / np.cos(lean),
        }

    # The command shows means over what is possible: drawn from the covariance that lmfit found.
    draws = np.random.default_rng(seed).multivariate_normal(list(values.values()), found.covar, 200)
    outcomes = [outcome(draw) for draw in draws]
    valve = answer["valves"].of(valve="1I")
    for name in outcomes[0]:
        drawn = np.array([each[name] for each in outcomes])
        # Where the lobe's own lift counts its dial does too, which is no part of the fit.
        doubt = max(drawn.std(), valve.u(name))
        assert valve.si(name) == pytest.approx(drawn.mean(), abs=0.4 * doubt), name
        if name in ("chamfer_distance", "sweep_middle", "height", "stand_shim_change_for_least_sweep"):
            assert valve.u(name) == pytest.approx(drawn.std(), rel=0.25), name
    height = stated["height"] + sigma["height"] * values["height"]
    shaft = answer["shafts"][0]
    shim = np.array([each["stand_shim_change_for_least_sweep"] for each in outcomes])
    for told in (shaft.si("height"), shaft["answers"][0].si("shaft_height")):
        assert told == pytest.approx(height, abs=0.2 * sigma["height"])
    for told in (shaft.si("stand_shim_change"), shaft["answers"][0].si("stand_shim_change")):
        assert told == pytest.approx(shim.mean(), abs=0.3 * shim.std())


@checks(
    "fit.set_aside",
    "read predicted",
    by="lmfit without the reading that was written wrong",
    status="other library",
)
def test_a_slip_is_set_aside(tmp_path):
    _, answer, linkage, found, *_ = bench(tmp_path, 0, slip=(4.2, 0.4))
    model = linkage(found.params.valuesdict())
    aside = answer["set_aside"][0]
    expected = model.drop(4.2 * MM) - model.lash
    assert aside.si("predicted") == pytest.approx(expected, abs=0.5 * DIAL)
    assert aside.si("read") == pytest.approx(expected + 0.4 * MM, abs=3 * DIAL)
