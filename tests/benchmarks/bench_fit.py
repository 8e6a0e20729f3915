"""Cost of the linkage's fit and of Monte Carlo, as ratios measured in one run.

Run: python tests/benchmarks/bench_fit.py
"""

import os
import sys
import time
import tracemalloc
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.engine_folders import engine_folder
from tests.laws.invented_engines import DEVIATION, LOBE_LIFT, MEAN, invented, plan, priors, with_calipers
from valvetrain.answers.simulation import simulating
from valvetrain.mechanics.fit.layout import PER_VALVE, SHARED, Layout
from valvetrain.mechanics.fit.linkage import fitted
from valvetrain.mechanics.fit.model import ReadingModel, linkage_outputs
from valvetrain.mechanics.uncertainty.monte_carlo import simulated
from valvetrain.questions.fit.study import fit_study
from valvetrain.questions.rocker.study import rocker_study as study_of_product
from valvetrain.setup.read import read_setup
from valvetrain.setup.tables.readings import read_readings

# Only what the study really depends on: the ink's, dial's and exposure's own terms are left out.
NAMES = tuple(
    name
    for name in (*SHARED, *PER_VALVE)
    if name not in ("ink_margin", "ink_zero", "dial_zero", "pushrod_length")
)


def median_time(call, repeats=5, clock=time.perf_counter):
    """Median of the times of several calls by that clock [s]."""
    times = []
    for _ in range(repeats):
        start = clock()
        call()
        times.append(clock() - start)
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


def product_study(samples):
    """Monte Carlo of a sheet's rocker study, twelve valves, and drawing its inputs alone [s]."""
    setup = read_setup(engine_folder("plain_six"))
    rows = study_of_product(setup).side.rows
    uncertain = [key for key in rows if np.any(setup.column(*key.split(".")).uncertainty > 0.0)]
    start = time.perf_counter()
    with simulating(samples, 1):
        study_of_product(setup)
    whole = time.perf_counter() - start
    generators = [np.random.Generator(np.random.SFC64(index)) for index in range(len(uncertain))]
    piece = 32768 // 12
    start = time.perf_counter()
    for _ in range(samples // piece):
        for generator in generators:
            generator.standard_normal((piece, 12))
    return whole, time.perf_counter() - start


def product_memory(samples):
    """Peak of traced memory of the same [MB]."""
    tracemalloc.start()
    product_study(samples)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def peak_memory(samples):
    """Peak of traced memory [MB]."""
    tracemalloc.start()
    simulation(samples, 1)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def two_shafts():
    """Fitting 16 valves x 12 readings on two shafts, with every rocker's own scatter [s]."""
    valves = 16
    shaft = np.arange(valves) % 2
    one = priors(valves)
    own = {
        "setback_of_shaft": (2.5e-4, shaft),
        "setback_of_valve": (5e-5, np.arange(valves)),
        "pad_arm_of_valve": (3e-5, np.arange(valves)),
        "socket_arm_of_valve": (3e-5, np.arange(valves)),
        "arm_angle_of_valve": (1.7e-3, np.arange(valves)),
    }
    together = replace(
        one,
        mean=dict(one.mean) | {name: np.array(0.0) for name in own},
        deviation=dict(one.deviation) | {name: np.array(spread) for name, (spread, _) in own.items()},
        of={"height": shaft} | {name: which for name, (_, which) in own.items()},
    )
    readings = with_calipers(plan(valves))
    layout = Layout(together)
    generator = np.random.default_rng(1)
    truth = layout.mean + layout.deviation * generator.standard_normal(layout.mean.size)
    exact = ReadingModel(readings, layout).predicted(truth[np.newaxis])[0]
    noisy = replace(readings, value=exact + readings.uncertainty * generator.standard_normal(exact.size))
    return median_time(lambda: fitted(noisy, together), 5, time.process_time), len(readings.kind)


def fit_command():
    """The whole question on a V8 of the samples, if it is there [s]."""
    folder = Path(__file__).resolve().parents[2] / "sample_geometry" / "pump_vee"
    if not (folder / "readings.csv").exists():
        return None
    setup = read_setup(folder)
    bench = read_readings(folder / "readings.csv", "readings.csv", setup)
    return median_time(lambda: fit_study(setup, bench, "readings.csv", "inch"), 3, time.process_time)


def main():
    """Print all ratios."""
    seconds, count = two_shafts()
    print(f"fit of 16 valves x 12 readings on two shafts ({count} readings): {seconds:.3f} s of processor")
    seconds = fit_command()
    if seconds is not None:
        print(f"fit of the sample with two shafts, answers and advice included: {seconds:.3f} s of processor")
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
    whole, alone = product_study(1_000_000)
    print(
        f"rocker study of a sheet, 1000000 engines of 12 valves: {whole / alone:.2f} x drawing the inputs "
        f"({whole:.1f} s)"
    )
    few, many = product_memory(20_000), product_memory(200_000)
    print(f"its peak memory, 2e5 against 2e4 engines: {many / few:.2f} x ({many:.1f} MB)")
    few, many = peak_memory(100_000), peak_memory(1_000_000)
    print(f"peak memory, 1e6 against 1e5 samples: {many / few:.2f} x ({many:.1f} MB)")


if __name__ == "__main__":
    main()
