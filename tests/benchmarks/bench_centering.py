"""Time of centering work: whole-shaft plans against the number of rockers, shims of one rocker, footprints.

Run it as a script. Times are medians of several runs; the ratios compare work done in this same run.
"""

import time
from statistics import median

import numpy as np

from valvetrain.mechanics.contact.tip_footprint import contact_on_tip, footprint_area
from valvetrain.mechanics.row.plan import plan_rows
from valvetrain.mechanics.row.shaft import Part, Rocker, Shim, Stand, end_fixing, single_rocker_shims

THOU = 25.4e-6
STOCK = [s * THOU for s in (2, 3, 5, 8, 10, 12, 15, 20, 25, 30)]
LIMITS = {"offset_tolerance": 6 * THOU, "clearance_low": 6 * THOU, "clearance_high": 12 * THOU}


def shaft(rng: np.random.Generator, rockers: int, prefix: str, shift: float = 0.0) -> tuple[Part, ...]:
    """Two rockers between each pair of stands, with shims here and there (invented)."""
    row: list[Part] = [end_fixing(f"{prefix} front", 0.0)]
    at = 0.0
    for number in range(rockers // 2):
        # A stack that would be right lies behind each bay; other shims are fitted.
        right = [float(s) for s in rng.choice(STOCK, 3)]
        play = float(rng.uniform(7, 11)) * THOU
        at += right[0]
        for role, behind in zip("IE", right[1:], strict=True):
            width = 25e-3 + rng.uniform(-3, 3) * THOU
            stem = at + play / 2 + width / 2 + rng.uniform(-4, 4) * THOU
            row.append(Shim(float(rng.choice(STOCK))))
            row.append(Rocker(f"{prefix}{number}{role}", width, width / 2, stem))
            at += width + behind
        at += play
        row.append(Stand(f"{prefix} stand {number}", at + 8e-3, 16e-3, shift))
        at += 16e-3
    return tuple(row)


def timed(work, runs: int = 3) -> float:
    """Median time [s]."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)


def main() -> None:
    """Print the table."""
    import scipy.optimize  # noqa: F401  # not part of what is timed

    drawers = (
        ("any number of each", None),
        ("3 of each", 3),
        ("2 of each", 2),
        ("1 of each", 1),
        ("none", 0),
    )
    for label, count in drawers:
        stock = dict.fromkeys(STOCK, count)
        first = None
        for rockers in (6, 12, 24, 48):
            rng = np.random.default_rng(12)
            rows = [shaft(rng, rockers // 2 // 2 * 2, name) for name in ("A", "B")]
            plan = plan_rows(rows, stock, **LIMITS)
            took = timed(lambda rows=rows, stock=stock: plan_rows(rows, stock, **LIMITS))
            first = first or took
            names = sum(len(p.rockers) for p in plan.positions)
            print(
                f"plan, {label}: {names} rockers, two shafts, ten thicknesses: {took * 1e3:7.1f} ms "
                f"({took / first:4.1f} times the smallest), feasible {plan.feasible}, proved {plan.proved}, "
                f"{plan.changes} changes"
            )
    for rockers in (4, 6, 12):
        rows = [shaft(np.random.default_rng(12), rockers, "A", 10 * THOU)]
        plan = plan_rows(rows, dict.fromkeys(STOCK), **LIMITS)
        took = timed(lambda rows=rows: plan_rows(rows, dict.fromkeys(STOCK), **LIMITS), 1)
        print(
            f"plan, stands that can be moved: {rockers} rockers: {took * 1e3:7.1f} ms, "
            f"feasible {plan.feasible}, proved {plan.proved}"
        )
    took = timed(
        lambda: [single_rocker_shims(k * THOU, 10 * THOU, STOCK, 6 * THOU, 12 * THOU) for k in range(12)]
    )
    print(f"shims beside one rocker, 12 valves: {took * 1e3:.1f} ms")
    x = np.linspace(-1e-3, 1e-3, 720) + np.zeros((24, 1))
    closed = timed(lambda: contact_on_tip(x, np.linspace(-1e-3, 1e-3, 24), 9e-3, 4e-3))
    area = timed(lambda: footprint_area(x, np.linspace(-1e-3, 1e-3, 24), 9e-3, 4e-3))
    bare = timed(lambda: np.sqrt(np.hypot(x, 1.0)))
    print(f"contact on the tip, 24 valves x 720 angles: {closed / bare:.1f} times one hypot and one sqrt")
    print(f"swept areas, 24 valves: {area * 1e3:.2f} ms")


if __name__ == "__main__":
    main()
