"""Record: slopes of inspections against Sen's example, pymannkendall and scipy.stats.theilslopes."""

import numpy as np
import pymannkendall
import pytest
from scipy.stats import theilslopes

from .answers import asked
from .engine import MM, engine
from .marks import checks
from .sheets import merged, written

MADE = 7.0  # mm, of every lobe


def recorded(tmp_path, readings):
    """The answer about a record; readings: valve -> rows of (time, lash found, left, lobe lift) [mm]."""
    sheet = merged(engine(0), engine={"cylinders": 2}, record={"engine": "made up"}, lobe={"lift": MADE})
    rows = []
    for valve, each in readings.items():
        for time, found, left, lift in each:
            row = {"engine": "made up", "hours": time, "valve": valve, "state": "cold", "turned": "yes"}
            lengths = {"lash_found [mm]": found, "lash_left [mm]": left, "lobe_lift [mm]": lift}
            rows.append({**row, **lengths})
    rows.sort(key=lambda row: row["hours"])
    folder = written(tmp_path, sheet, log=rows)
    return asked("wear", folder, "--log", "log.csv", "--by", "hours")["valves"]


def steady(times, start=0.30, seed=0):
    """A healthy valve: its lash scatters by the feeler."""
    noise = np.random.default_rng(seed).normal(0, 0.004, len(times))
    return [(float(t), f"{start + n:.5f}", "", 7.0) for t, n in zip(times, noise, strict=True)]


@checks(
    "wear.valves",
    "lash_change last_lash",
    by="Sen, Journal of the American Statistical Association 63 (1968): slope 4",
    status="published",
)
def test_sen(tmp_path):
    x, y = np.array([1, 2, 3, 4, 10, 12, 18]), np.array([9, 15, 19, 20, 45, 55, 78])
    rows = [(float(100 * t), f"{0.25 + 0.001 * v:.6f}", "", "") for t, v in zip(x, y, strict=True)]
    others = {name: steady(100 * x, seed=k) for k, name in enumerate(("1E", "2I", "2E"))}
    valve = recorded(tmp_path, {"1I": rows, **others}).of(valve="1I")
    assert valve.si("lash_change") == pytest.approx(4 * 17 * 1e-6, rel=1e-9)
    assert valve.si("last_lash") == pytest.approx((0.25 + 0.078) * MM, rel=1e-9)


# The example of pymannkendall's documentation prints a slope of 0.04 a step.
EXAMPLE = (4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69)


@checks("wear.valves", "lash_change lift_change", by="pymannkendall.original_test", status="other library")
def test_slopes_of_another_library(tmp_path):
    times = np.arange(10) * 50.0 + 50
    found = pymannkendall.original_test(EXAMPLE)
    assert found.slope == pytest.approx(0.04)
    lift = 7.0 - 0.002 * np.array([0.1, 1.2, 1.8, 3.3, 3.9, 5.2, 5.8, 7.1, 8.0, 9.3])
    falling = pymannkendall.original_test(lift)
    rows = [
        (float(t), f"{0.3 + 0.001 * v:.6f}", "", f"{each:.6f}")
        for t, v, each in zip(times, EXAMPLE, lift, strict=True)
    ]
    others = {name: steady(times, seed=k) for k, name in enumerate(("1E", "2I", "2E"))}
    valve = recorded(tmp_path, {"1I": rows, **others}).of(valve="1I")
    assert valve.si("lash_change") == pytest.approx(found.slope * 9 * 1e-6, rel=1e-6)
    assert valve.si("lift_change") == pytest.approx(falling.slope * 9 * MM, rel=1e-6)


@pytest.mark.parametrize("seed", range(3))
@checks(
    "wear.valves",
    "lash_change lift_change last_lash last_lift lift_left seat_recession",
    by="scipy.stats.theilslopes, resets summed with numpy",
    status="other library",
)
def test_resets_and_wear(tmp_path, seed):
    rng = np.random.default_rng(seed)
    times = np.cumsum(rng.uniform(60, 120, 9))
    # The seat sinks: lash closes by 0.4 um an hour; it is reset at the fourth look. The lobe loses 0.3 um
    # an hour.
    true = 0.32 - 0.0004 * (times - times[0]) + rng.normal(0, 0.004, 9)
    left = np.full(9, np.nan)
    true[4:] += 0.12
    left[3] = true[3] + 0.12
    lift = 7.0 - 0.0003 * (times - times[0]) + rng.normal(0, 0.003, 9)
    true, left, lift = (np.round(each, 5) for each in (true, left, lift))
    rows = [(f"{t:.4f}", v, "" if np.isnan(after) else after, each)
            for t, v, after, each in zip(times, true, left, lift, strict=True)]  # fmt: skip
    rows = [(float(t), *rest) for t, *rest in rows]
    others = {name: steady(times, seed=10 * seed + k) for k, name in enumerate(("1E", "2I", "2E"))}
    valve = recorded(tmp_path, {"1I": rows, **others}).of(valve="1I")
    after = np.where(np.isnan(left), true, left)
    growth = np.concatenate([[0.0], np.cumsum(true[1:] - after[:-1])])
    t = np.array([row[0] for row in rows])
    slope, span = theilslopes(growth, t).slope, t[-1] - t[0]
    assert valve.si("lash_change") == pytest.approx(slope * span * MM, rel=1e-6)
    # Only a lash that closes is a seat that sinks.
    assert valve.si("seat_recession") == pytest.approx(-slope * span * MM, rel=1e-6)
    fall = theilslopes(lift, t)
    assert valve.si("lift_change") == pytest.approx(fall.slope * span * MM, rel=1e-6)
    level = np.median(lift + fall.slope * (t[-1] - t))
    assert valve.si("lift_left") == pytest.approx((MADE - level) * MM, abs=2e-9)
    assert valve.si("last_lash") == pytest.approx(true[-1] * MM, rel=1e-9)
    assert valve.si("last_lift") == pytest.approx(lift[-1] * MM, rel=1e-9)
