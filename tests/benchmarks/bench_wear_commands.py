"""The studies behind `wear`, `oil` and the record, as ratios to a yardstick of the same run. Not collected.

Yardsticks: numpy's power function on as many numbers as the contact study has points; one dense solve of the
network's size; numpy's sort of the record's values. Median of several runs, once everything is loaded.
"""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from valvetrain.questions.oil.study import oil_study
from valvetrain.questions.record.study import record_study
from valvetrain.questions.rocker.study import rocker_study
from valvetrain.questions.spring.study import spring_study
from valvetrain.questions.wear.study import wear_study
from valvetrain.setup.read import read_setup
from valvetrain.setup.tables.wear_log import read_wear_log

SAMPLE = Path(__file__).parents[2] / "tests" / "engines" / "plain_six"


def seconds(run: Callable[[], object], repeats: int = 7) -> float:
    """Return the median time of several runs, after one to warm up."""
    run()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def main() -> None:
    """Print the times and ratios."""
    setup = read_setup(SAMPLE)
    rocker = rocker_study(setup)
    spring = spring_study(setup, rocker)
    rng = np.random.default_rng(1)
    numbers = rng.uniform(1, 2, 12 * 5 * 720)
    power = seconds(lambda: numbers**0.68)
    found = seconds(lambda: wear_study(setup, rocker, spring))
    print(f"wear, 12 lobes x 720 x 5: {found:.3f} s (target 0.2), {found / power:.0f} x one power each")

    matrix = rng.normal(size=(40, 40)) + 50 * np.eye(40)
    dense = seconds(lambda: np.linalg.solve(matrix, np.ones(40)))
    found = seconds(lambda: oil_study(setup))
    print(f"oil, 5 layouts new and worn: {found:.3f} s, {found / dense:.0f} x one dense solve of that size")

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        rows = ["hours,valve,lash_found,lash_left,state,lobe_lift,turned,remarks"]
        for hour in range(8334):
            for valve in setup.valves:
                lash, lift = 0.019 + 0.0005 * rng.normal(), 0.26 + 0.0005 * rng.normal()
                rows.append(f"{hour},{valve},{lash:.4f},,cold,{lift:.4f},yes,")
        path.write_text("\n".join(rows))
        values = rng.normal(size=2 * (len(rows) - 1))
        order = seconds(lambda: np.sort(values))

        def diagnosed() -> None:
            log = read_wear_log(path, "log.csv", setup.valves, system="inch", instruments={})
            record_study(setup, log)

        found = seconds(diagnosed, 3)
        print(
            f"record, {len(rows) - 1:,} rows read and diagnosed: {found:.2f} s (target 1), "
            f"{found / order:.0f} x one sort"
        )


if __name__ == "__main__":
    main()
