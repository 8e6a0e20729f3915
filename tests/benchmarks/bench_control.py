"""Elastic train against scipy's solve_ivp (LSODA, with events): ratio of times at the same accuracy.

60 speeds x 3 cycles x 2 roles. solve_ivp runs a few of the 120 in full and its time is scaled to all; its
tolerance is the loosest of a few that is within 1e-4 of the peak lift of a much tighter run, as the elastic
train is. Both are judged over the first cycle, before grazing contacts make any two runs differ. Times are of
the processor, so that other work on the machine does not count.
Run: python tests/benchmarks/bench_control.py
"""

import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.laws import elastic_example as example
from tests.laws.elastic_reference import reference
from valvetrain.mechanics.dynamics.elastic_train import elastic_sweep

CYCLES = 3
ANGLES = 720
CRANK_RPM = np.linspace(1000.0, 6900.0, 60)
LOADS = np.array([360.0, 330.0])
SAMPLE = ((0, 5), (0, 20), (1, 30), (0, 40), (1, 50), (1, 58))


def seconds(run):
    start = time.process_time()
    run()
    return time.process_time() - start


def main():
    trains = example.train(seat_load=LOADS)
    single = [example.train(seat_load=load) for load in LOADS]
    drop, velocity = example.around(ANGLES)
    speed = CRANK_RPM * np.pi / 60.0
    own_time = statistics.median(
        seconds(lambda: elastic_sweep(trains, drop, velocity, speed, cycles=CYCLES)) for _ in range(3)
    )
    first = elastic_sweep(trains, drop, velocity, speed, cycles=1)
    stride = (first.angle.size - 1) // 360

    def run(lane, cycles, rtol, events):
        role, at = lane
        w = speed[at]
        times = np.linspace(0, 1, 361) * 2 * np.pi / w
        return reference(
            single[role],
            example.pad_drop,
            example.pad_velocity,
            w,
            cycles,
            rtol=rtol,
            events=events,
            t_eval=times,
        )

    exact = {lane: run(lane, 1, 1e-10, False).y[2] for lane in SAMPLE}
    own_error = max(np.abs(first.valve_lift[lane][::stride] - y).max() / y.max() for lane, y in exact.items())
    for rtol in (1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8):
        error = max(np.abs(run(lane, 1, rtol, True).y[2] - y).max() / y.max() for lane, y in exact.items())
        if error <= 1e-4:
            break
    took = [seconds(lambda lane=lane: run(lane, CYCLES, rtol, True)) for lane in SAMPLE]
    other_time = statistics.mean(took) * len(speed) * len(LOADS)
    print(f"{len(speed)} speeds x {CYCLES} cycles x {len(LOADS)} roles")
    print(f"elastic_sweep: {own_time:.2f} s, error {own_error:.1e} of the peak lift")
    print(
        f"solve_ivp LSODA rtol {rtol:g}: {other_time:.1f} s (from {len(SAMPLE)} of them), error {error:.1e}"
    )
    print(f"ratio {other_time / own_time:.0f}")


if __name__ == "__main__":
    main()
