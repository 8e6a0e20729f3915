"""Speed of the spring studies, as ratios to plain yardsticks measured in the same run. Not a test.

Run: python tests/benchmarks/bench_springs.py
"""

import itertools
import statistics
import time

import numpy as np

from valvetrain.mechanics.spring.placing import best_placement
from valvetrain.mechanics.spring.placing_heights import HeightLimits
from valvetrain.mechanics.spring.placing_options import OK, OUT, PlacingOptions
from valvetrain.mechanics.spring.shim_limits import ShimLimits
from valvetrain.mechanics.spring.shim_stacks import ShimStock
from valvetrain.mechanics.spring.shims import chosen_shims
from valvetrain.mechanics.spring.tester import LoadTesterUncertainty, fitted_spring_line

MM = 1e-3
VALVES = 32


def median_time(function, repeats=9):
    function()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def shim_case(seed, counts):
    random = np.random.default_rng(seed)
    height = random.normal(44.5, 0.5, VALVES) * MM
    rate, load = random.normal(52e3, 2e3, (VALVES, 1, 1)), random.normal(420, 18, (VALVES, 1, 1))
    stock = ShimStock((0.38 * MM, 0.5 * MM, 0.76 * MM, 1.14 * MM, 1.52 * MM), counts)
    limits = ShimLimits(400.0, 510.0, 1.27 * MM, 1.55 * MM, open_load_high=1800.0, seat_load_target=455.0)
    return height, 11.4 * MM, 26.7 * MM, lambda at: load - rate * (at - 43.7 * MM), stock, limits


def sixteen(seed):
    """Sixteen tested springs for sixteen valves, heights held to 0.020 in about the middle of each role."""
    random = np.random.default_rng(seed)
    inch, newton = 0.0254, 4.4482216152605
    thickness = np.array([0.015, 0.030, 0.060]) * inch
    every = itertools.product(range(5), repeat=3)
    stacks = np.array([s for s in every if sum(s) <= 4 and np.dot(s, thickness) <= 0.0600001 * inch])
    valve, spring, stack = (
        each.ravel() for each in np.meshgrid(range(16), range(16), range(len(stacks)), indexing="ij")
    )
    height = np.round(random.normal(1.63, 0.008, 16), 3)[valve] * inch - (stacks @ thickness)[stack]
    load, rate = random.normal(80, 3, 16)[spring], random.normal(205, 5, 16)[spring]
    seat = (load + rate * (1.61 - height / inch)) * newton
    opened = seat + 0.37 * rate * newton
    out = (seat < 70 * newton) | (seat > 92 * newton)
    keep = ~out | (stack == 0)
    options = PlacingOptions(
        valve[keep],
        spring[keep],
        stacks[stack[keep]],
        height[keep],
        np.where(out, np.nan, seat)[keep],
        np.where(out, np.nan, opened)[keep],
        np.abs(seat - 80 * newton)[keep],
        (np.abs(seat - 80 * newton) > 0.03 * seat)[keep],
        np.where(out, OUT, OK)[keep],
        (stack > 0)[keep],
    )
    level = HeightLimits(-0.020 * inch, 0.020 * inch, np.full(16, 0.001 * inch))
    return options, np.array([6.0, 6.0, 3.0]), np.arange(16) % 2, level


def one_valve_at_a_time(height, lift, solid, load_at, stock, limits):
    """Yardstick: the plain search of nested loops, without spread, stock or reasons."""
    best = []
    for valve in range(VALVES):
        picks = []
        for number in range(limits.most_shims + 1):
            for stack in itertools.combinations_with_replacement(stock.thickness, number):
                if sum(stack) <= limits.stack_limit:
                    at = np.full((VALVES, 1, 1), height[valve] - sum(stack))
                    picks.append(abs(float(load_at(at)[valve, 0, 0]) - 455.0))
        best.append(min(picks))
    return best


def main():
    print(f"shims for {VALVES} valves, 5 thicknesses (target: under 200 ms)")
    yardstick = median_time(lambda: one_valve_at_a_time(*shim_case(1, ())), 3)
    print(f"  yardstick, each valve by nested loops        {yardstick * 1e3:9.2f} ms")
    for name, counts in (("unlimited stock", ()), ("short stock", (14.0, 10.0, 10.0, 5.0, 6.0))):
        spent = [median_time(lambda s=seed, c=counts: chosen_shims(*shim_case(s, c)), 3) for seed in range(9)]
        middle, worst = statistics.median(spent), max(spent)
        print(
            f"  {name:20} median {middle * 1e3:8.2f} ms, worst of 9 engines {worst * 1e3:8.2f} ms, "
            f"{middle / yardstick:6.2f} x yardstick"
        )

    print(
        "springs and shims to valves, 16 x 16 springs, three kinds of shim running short (target: under 1 s)"
    )
    spent, proved = [], 0
    for seed in range(9):
        case = sixteen(seed)
        start = time.process_time()
        proved += best_placement(*case, seconds=0.8).proved
        spent.append(time.process_time() - start)
    print(
        f"  median {statistics.median(spent) * 1e3:8.0f} ms, worst {max(spent) * 1e3:8.0f} ms of CPU, "
        f"{proved} of 9 proved the best in 0.8 s"
    )

    random = np.random.default_rng(3)
    print("straight-line fits, 10 000 springs of 4 readings")
    height = np.broadcast_to(np.array([44.0, 40.0, 36.0, 33.0]) * MM, (10_000, 4))
    load = 420 - 52e3 * (height - 0.044) + random.normal(0, 3, (10_000, 4))
    tester = LoadTesterUncertainty(load=3.0, zero=2.0)
    pairs = list(zip(height[:500], load[:500], strict=True))
    one_by_one = 20 * median_time(lambda: [np.polyfit(h, f, 1) for h, f in pairs], 3)
    together = median_time(lambda: fitted_spring_line(height, load, tester))
    print(f"  yardstick, numpy.polyfit one by one          {one_by_one * 1e3:9.1f} ms (500 measured, x 20)")
    print(f"  all at once with uncertainties               {together * 1e3:9.1f} ms", end="")
    print(f", {one_by_one / together:6.0f} x faster")


if __name__ == "__main__":
    main()
