"""Cost of the linkage's fit and of Monte Carlo, as ratios measured in one run.

Run: python tests/benchmarks/bench_fit.py
"""

import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "laws"))

from invented_engines import DEVIATION, LOBE_LIFT, MEAN, invented, plan, priors, with_calipers

from valvetrain.mechanics.linkage_fit import fitted
from valvetrain.mechanics.linkage_fit_model import linkage_outputs
from valvetrain.mechanics.linkage_fit_readings import PER_VALVE, SHARED
from valvetrain.mechanics.monte_carlo import simulated

# Only what the study really depends on: the ink's, dial's and exposure's own terms are left out.
NAMES = tuple(
    name
    for name in (*SHARED, *PER_VALVE)
    if name not in ("ink_margin", "ink_zero", "dial_zero", "pushrod_length")
)


def median_time(call, repeats=5):
    """Median of the wall-clock times of several calls [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def draws_alone(samples, columns):
    """The random inputs only, with the generator that the Monte Carlo uses."""
    generators = [np.random.Generator(np.random.SFC64(index)) for index in range(len(NAMES))]
    rows = 32768 // columns
    for _ in range(samples // rows):
        for generator in generators:
            generator.standard_normal((rows, columns))


def rocker_study(inputs):
    """The whole rocker study of the fit: lift, ratio, sweep and its middle, pushrod length."""
    return linkage_outputs(inputs, np.full(1, LOBE_LIFT))


def simulation(samples, columns):
    """Monte Carlo of the rocker study, every one of its eleven dimensions uncertain."""
    values = {name: np.full(columns, MEAN[name]) for name in NAMES}
    spread = {name: np.full(columns, 0.1 * DEVIATION[name]) for name in NAMES}
    return simulated(rocker_study, values, spread, samples=samples, seed=1)


def peak_memory(samples):
    """Peak of traced memory [MB]."""
    tracemalloc.start()
    simulation(samples, 1)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def main():
    """Print all ratios."""
    _, readings, _ = invented(1, 12, with_calipers(plan(12)))
    seconds = median_time(lambda: fitted(readings, priors(12)))
    print(f"fit of 12 valves x 12 readings: {seconds:.3f} s = {seconds:.2f} of the one second allowed")
    for samples, columns in ((1_000_000, 1), (100_000, 12)):
        whole = median_time(lambda s=samples, c=columns: simulation(s, c), 3)
        alone = median_time(lambda s=samples, c=columns: draws_alone(s, c), 3)
        print(
            f"Monte Carlo, {samples} samples x {columns} valves: {whole / alone:.2f} x drawing the inputs "
            f"({whole:.2f} s)"
        )
    few, many = peak_memory(100_000), peak_memory(1_000_000)
    print(f"peak memory, 1e6 against 1e5 samples: {many / few:.2f} x ({many:.1f} MB)")


if __name__ == "__main__":
    main()
