"""Speed of cam events and of synthesis from a card, as ratios to yardsticks measured in the same run.

Run it: python tests/benchmarks/bench_events.py. Events: 12 lobes x 50 lashes x 5 checking lifts at the
valve, both flanks, against scipy.optimize.brentq on the same curves (a sample of the roots, scaled up).
Synthesis and fit: against one symmetric eigenproblem of 199 unknowns, numpy.linalg.eigh.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq

from valvetrain.mechanics.cam.card import lift_curve_from_card
from valvetrain.mechanics.cam.events import lobe_events, sampled_pad_drop_inverse, tappet_lift_at
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS

REPEATS = 9


def median_seconds(function: Callable[[], object]) -> float:
    function()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    names = sorted(MOTION_LAWS)
    lobes = [LawLobe(names[k % 7], 7.6e-3, 1.15 + 0.01 * k, 1.2, 0, 3e-4, 0.35, 3e-4, 0.4) for k in range(12)]
    curves = [lift_curve_from_law(lobe) for lobe in lobes]
    samples = np.linspace(0, 7.6e-3, 100)
    inverse = sampled_pad_drop_inverse(samples, 1.5 * samples + 5 * samples**2)
    lash = np.linspace(2.5e-4, 7e-4, 50)[:, np.newaxis]
    check = np.array([0.0, 1e-4, 5.08e-4, 1.27e-3, 2.54e-3])

    def all_events() -> object:
        return lobe_events(curves, np.broadcast_to(tappet_lift_at(check, lash, inverse), (12, 50, 5)))

    levels = tappet_lift_at(check, lash, inverse)[::10].ravel()

    def by_brentq() -> None:
        for level in levels:
            for start, end in ((-np.pi, 0.0), (0.0, np.pi)):
                brentq(lambda x, c=level: float(curves[0].lift(x)) - c, start, end, xtol=1e-13)

    events = median_seconds(all_events)
    roots = median_seconds(by_brentq) * 3000 / levels.size
    print(f"events, 12 x 50 x 5: {events * 1e3:.1f} ms, {roots / events:.0f} times faster than brentq")

    lifts = np.array([1.5e-4, 5.08e-4, 1.27e-3, 5.08e-3])
    durations = lobe_events(curves[:1], lifts[np.newaxis]).duration[0]
    card = median_seconds(lambda: lift_curve_from_card(lifts, durations, 7.6e-3))
    rng = np.random.default_rng(0)
    matrix = rng.standard_normal((199, 199))
    solve = median_seconds(lambda: np.linalg.eigh(matrix @ matrix.T))
    print(
        f"synthesis from a card of four lifts: {card * 1e3:.1f} ms, {card / solve:.2f} times one eigh of 199"
    )

    angle = np.radians(np.arange(0, 360, 1.0))
    lift = lobes[0].curves(angle)[0]
    fit = median_seconds(lambda: lift_curve_from_table(angle, lift))
    print(f"fit of a one-degree table: {fit * 1e3:.1f} ms, {fit / solve:.1f} times one eigh of 199")


if __name__ == "__main__":
    main()
