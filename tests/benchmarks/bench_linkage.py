"""Rate of the rocker linkage, as ratios measured in one run. Not collected by pytest.

1. a million tappet lifts against the bare numpy expression (one hypot, arccos, arctan2, sin, cos a point);
2. the same against scipy's brentq on the constraint equation, a point at a time;
3. a stand-shim study of 24 valves x 50 shims x 720 angles, in seconds and in bare expressions.
"""

import math
import statistics
import time

import numpy as np
from scipy.optimize import brentq

from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop, pad_drop_and_ratio, swung
from valvetrain.mechanics.rocker.stand_shims import shimmed

ROCKER = {
    "setback": 0.0365,
    "height": 0.0066,
    "pad_arm": 0.0365,
    "pad_radius": 0.0127,
    "socket_arm": 0.0245,
    "arm_angle": math.radians(168.0),
    "lash": 0.0004,
    "pushrod_planar_length": 0.220,
    "tappet_setback": 0.0255,
    "tappet_angle": math.radians(4.0),
}
POINTS = 1_000_000
REPEATS = 11


def seconds(*functions):
    """Median time of each function, the repeats interleaved so that a slow spell hits all alike."""
    times = [[] for _ in functions]
    for _ in range(REPEATS):
        for function, taken in zip(functions, times, strict=True):
            start = time.perf_counter()
            function()
            taken.append(time.perf_counter() - start)
    return [statistics.median(taken) for taken in times]


def main():
    """Print the ratios."""
    lift = np.linspace(0.0, 0.008, POINTS)
    closed = closed_position(**ROCKER)
    below = -float(closed.tappet_position) - lift
    line, lever = ROCKER["tappet_setback"], ROCKER["socket_arm"]
    rod = ROCKER["pushrod_planar_length"]

    def bare():
        distance = np.hypot(line, below)
        angle = np.arccos((distance**2 + (lever**2 - rod**2)) / (2 * lever * distance))
        turned = angle - np.arctan2(line, below)
        return np.sin(turned), np.cos(turned)

    shims = np.linspace(-0.001, 0.002, 50)[:, np.newaxis]
    valves = closed_position(**{**ROCKER, "height": ROCKER["height"] + np.linspace(-4e-4, 4e-4, 24)})
    angles = 0.0075 * np.sin(np.linspace(0.0, np.pi, 720)) ** 2

    def shim_study():
        return swung(shimmed(valves, shims, stand_angle=0.02), angles).contact_x

    assert shim_study().shape == (50, 24, 720)
    plain, alone, lean, full, study = seconds(
        bare,
        lambda: pad_drop(closed, lift),
        lambda: pad_drop_and_ratio(closed, lift),
        lambda: swung(closed, lift),
        shim_study,
    )
    start_angle = float(closed.pad_angle)
    shaft_side = ROCKER["arm_angle"] - ROCKER["tappet_angle"]

    def stretch(angle, depth):
        across = line + lever * math.cos(angle + shaft_side)
        return math.hypot(across, lever * math.sin(angle + shaft_side) + depth) - rod

    sample = below[:: POINTS // 2000]
    start = time.perf_counter()
    found = [
        brentq(stretch, start_angle - 0.6, start_angle + 1e-9, args=(float(depth),), xtol=1e-12)
        for depth in sample
    ]
    each = (time.perf_counter() - start) / len(sample)
    turned = swung(closed, lift[:: POINTS // 2000]).pad_angle
    print(f"largest difference from brentq                        {np.abs(turned - found).max():.1e} rad")
    print(f"pad drop, 1e6 points / bare expression                {alone / plain:.2f}   (target: at most 2)")
    print(f"pad drop and ratio, 1e6 points / bare expression      {lean / plain:.2f}   (target: at most 2)")
    print(f"everything of `swung`, 1e6 points / bare expression   {full / plain:.2f}")
    print(
        f"brentq a point / pad drop a point                     {each / (alone / POINTS):.0f}"
        "   (target: at least 1000)"
    )
    print(f"stand-shim study 24 x 50 x 720 / bare expression      {study / plain:.2f}   ({study:.3f} s)")


if __name__ == "__main__":
    main()
