"""Invented engines of four cylinders on two shafts: what a shop measures of them, and what they truly are.

Every number is invented. One casting serves all rockers, each with its own scatter; each shaft has its
height. The linkage is solved here by bisection on its closure, apart from the package. Lengths in mm.
"""

import csv
from dataclasses import dataclass

import numpy as np

VALVES = tuple(f"{cylinder}{role}" for cylinder in range(1, 5) for role in "IE")
SHAFT = np.array([0 if name[0] in "13" else 1 for name in VALVES])
NAMES = ("left", "right")
WITHIN = {"pad_arm": 0.03, "socket_arm": 0.03, "arm_angle": np.radians(0.1), "setback": 0.05}
CALIPER, HEIGHT, DIAL, INK, FEELER, PROTRACTOR = 0.05, 0.025, 0.0125, 0.1, 0.018, np.radians(0.5)

SHEET = """
[sheet]
title = "Invented engine with two shafts"
units = "metric"
[engine]
cylinders = 4
shafts = { left = [1, 3], right = [2, 4] }
[shaft]
setback = "%(setback)s +/- 0.05"
[shaft.left]
%(left)s
[shaft.right]
%(right)s
[rocker]
pad_arm = "%(pad_arm)s +/- 0.05"
pad_radius = "%(pad_radius)s +/- %(pad_read)s"
socket_arm = "%(socket_arm)s +/- 0.05"
arm_angle = "%(arm_angle)s +/- 0.5"
nominal_ratio = %(ratio)s
[pushrod]
length = "%(pushrod)s +/- 0.05"
[tappet]
setback = "%(tappet_setback)s +/- 0.05"
angle = "%(tappet_angle)s +/- 0.5"
[valve]
stem_diameter = 8.7
tip_chamfer = 0.75
[lobe]
lift = "6.600 +/- 0.0001"
[stock]
stand_shims = [0.25, 0.5, 0.75, 1.0, 1.5]
[lash]
at = "valve"
state = "cold"
[instruments]
indicator = 0.0125
[tables]
valves = "valves.csv"
"""
LIFT = 6.6


@dataclass(frozen=True)
class Truth:
    """What the engine is, at every valve [n] or shaft [2], mm."""

    height: np.ndarray
    shaft_height: np.ndarray
    net_lift: np.ndarray
    mean_ratio: np.ndarray
    sweep_width: np.ndarray
    stand_shim: np.ndarray


class Linkage:
    """The rockers of all valves: columns [n]."""

    def __init__(self, part, height, lash):
        """Take the dimensions [mm, rad]."""
        self.part, self.height, self.lash = part, height, lash

    def angle(self, drop):
        return np.arcsin((self.part["pad_radius"] - self.height - drop) / self.part["pad_arm"])

    def tappet(self, drop):
        """Lower ball along the tappet's line with the pad's lowest point `drop` below the closed tip."""
        part = self.part
        turned, lean = self.angle(drop) + part["arm_angle"], part["tappet_angle"]
        across = part["socket_arm"] * np.cos(turned - lean) + part["tappet_setback"]
        return part["socket_arm"] * np.sin(turned - lean) - np.sqrt(part["pushrod"] ** 2 - across**2)

    def lift(self, rise):
        """Net lift for a rise of the tappet, by bisection."""
        base = self.tappet(-self.lash)
        low, high = -self.lash - 0.1, np.full(len(VALVES), 14.0)
        for _ in range(50):
            middle = 0.5 * (low + high)
            short = self.tappet(middle) - base < rise
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return np.maximum(low, 0.0)

    def contact(self, drop):
        return self.part["pad_arm"] * np.cos(self.angle(drop)) - self.part["setback"]

    def pattern(self):
        """Contact with the valve closed, and its ends over the lift."""
        net = self.lift(LIFT)
        places = np.stack([self.contact(net * share) for share in np.linspace(0, 1, 201)])
        return places[0], places.min(axis=0), places.max(axis=0)


def two_shaft_engine(seed, folder, *, low=1.5, gross=True, heights=True, closed=True, pad_read=0.05, ink=INK):
    """Write the sheet and its readings; return the truth.

    Args:
        seed: of the draw.
        folder: for the files.
        low: how much lower than right the left shaft stands.
        gross: one reading in twelve is grossly wrong.
        heights: the shafts' heights are measured; closed: marks are made with the valve closed.
        pad_read: how well the pad's radius is measured.
        ink: how the edges of ink scatter; the sheet does not say.
    """
    generator = np.random.default_rng(seed)
    n = generator.standard_normal
    arm, ratio = generator.uniform(32, 40), generator.uniform(1.42, 1.62)
    one = {
        "pad_arm": arm,
        "socket_arm": arm / ratio,
        "arm_angle": np.radians(generator.uniform(168, 182)),
        "pad_radius": generator.uniform(9, 14),
        "setback": arm - 0.15 + 0.1 * n(),
        "tappet_setback": 0.99 * arm / ratio,
        "tappet_angle": np.radians(generator.uniform(0, 6)),
        "pushrod": generator.uniform(180, 240),
    }
    part = {key: value + WITHIN.get(key, 0.0) * n(len(VALVES)) for key, value in one.items()}
    lash = 0.3 + 0.015 * n(len(VALVES))
    shaft = one["pad_radius"] - 0.5 * LIFT * ratio + 0.15 * n() - np.array([low, 0.0])
    stems = 48 + 0.08 * n(len(VALVES))
    height = shaft[SHAFT] - (stems - 48)
    rocker = Linkage(part, height, lash)
    net = rocker.lift(LIFT)
    at_rest, near, far = rocker.pattern()
    need = np.zeros(len(VALVES))
    for _ in range(5):  # square to the stem at half of the net lift that it then has
        need = part["pad_radius"] - height - 0.5 * Linkage(part, height + need, lash).lift(LIFT)
    truth = Truth(
        height,
        shaft,
        net,
        (net + lash) / LIFT,
        far - near,
        np.array([np.median(need[side == SHAFT]) for side in (0, 1)]),
    )
    rows = []
    for place in (0, 2, 3, 5, 6):
        for share in (0.35, 0.7, 1.0):
            read = rocker.lift(share * LIFT)[place] + DIAL * n()
            rows.append([VALVES[place], "net lift", f"{share * LIFT + DIAL * n():.3f}", read])
        rows.append([VALVES[place], "near edge", "", near[place] - 0.1 + ink * n()])
        rows.append([VALVES[place], "far edge", "", far[place] + 0.1 + ink * n()])
        if closed:
            rows.append([VALVES[place], "closed mark", "", at_rest[place] + ink * n()])
    if gross:
        for first in range(0, len(rows) - len(rows) % 12, 12):
            row = rows[first + int(generator.integers(12))]
            lifts = row[1] == "net lift"
            row[3] += generator.choice([-1, 1]) * (
                generator.uniform(0.3, 1.2) if lifts else generator.uniform(1.0, 2.2)
            )
    with (folder / "readings.csv").open("w", newline="") as file:
        csv.writer(file).writerows(
            [["valve", "reading", "tappet_lift", "value"], *([*a, f"{b:.3f}"] for *a, b in rows)]
        )
    with (folder / "valves.csv").open("w", newline="") as file:
        write = csv.writer(file)
        write.writerow(["valve", "stem_height", "lash"])
        for name, stem, gap in zip(VALVES, stems, lash, strict=True):
            write.writerow(
                [name, f"{stem + HEIGHT * n():.3f} +/- {HEIGHT}", f"{gap + FEELER * n():.3f} +/- {FEELER}"]
            )
    said = {
        key: f"{one[key] + CALIPER * n():.3f}"
        for key in ("setback", "pad_arm", "socket_arm", "pushrod", "tappet_setback")
    }
    said |= {key: f"{np.degrees(one[key] + PROTRACTOR * n()):.2f}" for key in ("arm_angle", "tappet_angle")}
    said |= {
        "pad_radius": f"{one['pad_radius'] + pad_read * n():.3f}",
        "pad_read": str(pad_read),
        "ratio": f"{ratio:.2f}",
    }
    for side, name in enumerate(NAMES):
        lines = ['reference_stem_height = "48 +/- 0.0001"']
        if heights:
            lines.append(f'height = "{shaft[side] + CALIPER * n():.3f} +/- {CALIPER}"')
        said[name] = "\n".join(lines)
    (folder / "setup.toml").write_text(SHEET % said)
    return truth
