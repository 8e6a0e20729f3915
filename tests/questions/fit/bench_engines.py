"""Invented engines as they come to the bench: a sheet, a table of readings, and the truth behind them.

Every number is invented. The truth is drawn from the ranges that the fit states for what is not measured (so
the ranges are right in this test, and what is tested is what becomes of them), measurements and readings from
the uncertainties that the sheet states. The ink's edges come from a rocker drawn as a circle on an arm, not
from the package.
"""

from pathlib import Path

import numpy as np

from valvetrain.mechanics.rocker.linkage import closed_position, pad_drop

VALVES = ("1I", "1E", "2I", "2E")
LIFT, LASH = 6.6, 0.35  # mm
WITHIN = {"setback": 0.05, "pad_arm": 0.03, "socket_arm": 0.03, "arm_angle": np.radians(0.1)}  # mm, rad
DIAL, INK, LASH_READ, STEM_READ, RATIO_READ = 0.010, 0.10, 0.02, 0.03, 0.02

SHEET = """
[sheet]
title = "Invented engine at the bench"
units = "metric"
[engine]
cylinders = 2
[shaft]
setback = "{setback:.3f} +/- {setback_read}"
reference_stem_height = 48
[rocker]
nominal_ratio = {ratio:.4f}
{measured}
[pushrod]
length = "{rod:.2f} +/- 0.25"
[tappet]
setback = "{line:.2f} +/- 0.5"
[valve]
stem_diameter = 8.7
tip_chamfer = 0.75
[lobe]
lift = {lift}
[instruments]
indicator = 0.010
[lash]
at = "valve"
state = "cold"
[tables]
valves = "valves.csv"
"""


def drawn_rocker(generator):
    """Dimensions of the rocker and its shaft [mm, rad], drawn from the ranges that the fit states."""
    normal = generator.standard_normal
    setback = 36 + 4 * normal()  # narrower than stated: it is measured in every sheet here
    arm = setback + normal()
    radius = max(12 + 3 * normal(), 3.0)
    ratio = 1.5 + 0.08 * normal()
    lever = arm / ratio + 1.5 * normal()
    return {
        "setback": setback,
        "height": radius - 0.5 * (LIFT * ratio - LASH) + 2 * normal(),
        "pad_arm": arm,
        "pad_radius": radius,
        "socket_arm": lever,
        "arm_angle": np.radians(172 + 5 * normal()),
        "lash": LASH,
        "pushrod_planar_length": 200 + 20 * generator.uniform(),
        "tappet_setback": lever + 2 * normal(),
        "tappet_angle": np.radians(3 * normal()),
    }


def pattern(rocker, height, lift):
    """Where a circle on an arm touches a tip that falls by `lift`: with the valve closed, least, greatest."""
    above = rocker["pad_radius"] - np.linspace(0, lift, 201) - height
    across = np.sqrt(rocker["pad_arm"] ** 2 - above**2) - rocker["setback"]
    return across[0], across.min(), across.max()


def bench_engine(seed, folder: Path, *, gross=False, setback_read=0.3, measured=False, closed_mark=False):
    """Write setup.toml, valves.csv and readings.csv; return the truth at every valve [mm, 1]."""
    generator = np.random.default_rng(seed)
    normal = generator.standard_normal
    rocker = drawn_rocker(generator)
    tips = 0.1 * normal(len(VALVES))
    heights = rocker["height"] - tips
    own = {key: rocker[key] + spread * normal(len(VALVES)) for key, spread in WITHIN.items()}
    rockers = [rocker | {key: each[place] for key, each in own.items()} for place in range(len(VALVES))]

    def net(place, lift):
        closed = closed_position(**{**rockers[place], "height": heights[place]})
        return float(pad_drop(closed, np.array([lift]))[0]) - LASH

    lifts = np.array([net(place, LIFT) for place in range(len(VALVES))])
    bands = [pattern(*each) for each in zip(rockers, heights, lifts, strict=True)]
    rows = []
    for place in (0, 1, 2):
        zero = 0.01 * normal()
        for at in np.linspace(1.2, 6.4, 6):
            read = net(place, at + DIAL * normal()) + zero + DIAL * normal()
            rows.append([VALVES[place], "net lift", f"{at:.2f}", read])
    dial = len(rows)
    reach = 0.10 + 0.05 * normal()
    for place, (_, near, far) in enumerate(bands):
        zero = 0.05 * normal()
        rows.append([VALVES[place], "near edge", "", near - reach + zero + INK * normal()])
        rows.append([VALVES[place], "far edge", "", far + reach + zero + INK * normal()])
    if gross:  # one in twelve or more: a dial reading and an edge of the ink
        slips = (LASH, 0.27, -0.27, 0.8, -0.8)  # lash included, digits written wrong
        rows[generator.integers(dial)][3] += slips[generator.integers(len(slips))]
        rows[dial + generator.integers(8)][3] += generator.choice([-1, 1]) * generator.uniform(0.4, 0.8)
    if closed_mark:
        rows.append(["1I", "closed mark", "", bands[0][0] + INK * normal()])
    table = "\n".join(f"{valve},{kind},{at},{value:.2f}" for valve, kind, at, value in rows)
    (folder / "readings.csv").write_text(f"valve,reading,tappet_lift,value\n{table}\n")
    stems = 48 + tips + STEM_READ * normal(len(VALVES))
    lashes = LASH + LASH_READ * normal(len(VALVES))
    table = "\n".join(
        f"{valve},{stem:.3f} +/- {STEM_READ},{lash:.3f} +/- {LASH_READ}"
        for valve, stem, lash in zip(VALVES, stems, lashes, strict=True)
    )
    (folder / "valves.csv").write_text(f"valve,stem_height,lash\n{table}\n")
    calipers = (
        f'pad_arm = "{rocker["pad_arm"] + 0.3 * normal():.2f} +/- 0.3"\n'
        f'pad_radius = "{rocker["pad_radius"] + normal():.2f} +/- 1.0"'
    )
    mean_ratio = (lifts + LASH) / LIFT
    (folder / "setup.toml").write_text(
        SHEET.format(
            setback=rocker["setback"] + setback_read * normal(),
            setback_read=setback_read,
            ratio=mean_ratio.mean() * (1 + RATIO_READ * normal()),
            measured=calipers if measured else "",
            rod=rocker["pushrod_planar_length"] + 0.25 * normal(),
            line=rocker["tappet_setback"] + 0.5 * normal(),
            lift=LIFT,
        )
    )
    return {
        "sweep_width": np.array([far - near for _, near, far in bands]) * 1e-3,
        "mean_ratio": mean_ratio,
        "height": heights * 1e-3,
    }
