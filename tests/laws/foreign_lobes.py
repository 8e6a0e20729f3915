"""Lobes of five families that no file of the project makes (invented), for trials of what a card leaves open.

A flank is lift [mm] on a grid of cam degrees from the nose outward: its main part runs from the nose to the
end of a ramp of constant speed with a rounded foot.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline

FAMILIES = ("polynomial", "harmonic", "spline", "trapezoid and sine", "asymmetric")
DEGREES = np.arange(0.0, 130.0, 0.05)


@dataclass(frozen=True)
class Foreign:
    """A lobe: both flanks' lifts [mm] on `DEGREES`, and the ramps' (height [mm], length [cam degrees])."""

    family: str
    lift: float
    opening: np.ndarray
    closing: np.ndarray
    ramps: tuple[tuple[float, float], tuple[float, float]]

    def angles(self, level: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
        """Cam degrees from the nose at which each flank has a lift [mm]."""
        return tuple(np.interp(-np.asarray(level), -side, DEGREES) for side in (self.opening, self.closing))


def foreign_lobes(each: int, seed: int) -> list[Foreign]:
    """`each` lobes of every family."""
    random, found = np.random.default_rng(seed), []
    for family in FAMILIES:
        made = 0
        while made < each:
            lift, half = random.uniform(5.6, 9.4), random.uniform(52.0, 74.0)
            kind = FAMILIES[random.integers(4)] if family == "asymmetric" else family
            ramp = _ramp(random, 0.3 if family == "harmonic" else 0.0)
            opening = _flank(random, kind, lift, half, ramp)
            closing, other = opening, ramp
            if family == "asymmetric":
                height = min(ramp[0] * random.uniform(1, 1.35), 0.4)
                other = height, ramp[1] * random.uniform(0.9, 1.4), ramp[2]
                closing = _flank(random, kind, lift, half * random.uniform(0.97, 1.1), other)
            if opening is not None and closing is not None:
                found.append(Foreign(family, lift, opening, closing, (ramp[:2], other[:2])))
                made += 1
    return found


def _ramp(random: np.random.Generator, without: float) -> tuple[float, float, float]:
    """Height [mm], length [cam degrees] and foot of a ramp."""
    if random.random() < without:
        return 0.0, 0.0, 0.0
    return random.uniform(0.178, 0.356), random.uniform(15, 38), random.uniform(0.1, 0.5)


def _flank(
    random: np.random.Generator, kind: str, lift: float, half: float, ramp: tuple[float, float, float]
) -> np.ndarray | None:
    height, length, foot = ramp
    speed = height / (length * (1 - foot / 2)) if height else 0.0
    make = {"polynomial": _polynomial, "harmonic": _harmonic, "spline": _spline}.get(kind, _law)
    main = make(random, lift, half, height, speed)
    if main is None:
        return None
    along = np.clip(half + length - DEGREES, 0.0, None)
    build = foot * length
    on_ramp = np.where(along < build, speed * along**2 / max(2 * build, 1e-9), speed * (along - build / 2))
    flank = np.maximum(np.where(half < DEGREES, on_ramp, main(np.clip(DEGREES / half, 0.0, 1.0))), 0.0)
    return None if np.any(np.diff(flank) > 1e-9) else flank


Main = Callable[[np.ndarray], np.ndarray]


def _polynomial(
    random: np.random.Generator, lift: float, half: float, height: float, speed: float
) -> Main | None:
    """Four or five powers that end on the ramp with its speed, without acceleration and jerk."""
    for _ in range(200):
        powers = np.cumsum([2, *random.integers(2, 9, 4)])[: 4 + random.integers(0, 2)].astype(float)
        orders = [np.prod([powers - k for k in range(order)], axis=0) * powers**0 for order in range(5)]
        system, right = np.array(orders[: powers.size]), [height - lift, -speed * half, 0.0, 0.0, 0.0]
        shares = np.linalg.solve(system, right[: powers.size])
        x = np.linspace(0, 1, 801)[:, np.newaxis]
        bend = (shares * powers * (powers - 1) * x ** (powers - 2)).sum(axis=1)
        signs = np.sign(bend[np.abs(bend) > 1e-6 * np.abs(bend).max()])
        falls = np.all(np.diff((shares * x**powers).sum(axis=1)) <= 1e-9)
        if falls and bend[0] < 0 and np.count_nonzero(np.diff(signs)) == 1 and (bend > 0).mean() > 0.15:
            return lambda u: lift + (shares * u[:, np.newaxis] ** powers).sum(axis=1)
    return None


def _taking_over(lift: float, half: float, height: float, speed: float, rise: Main) -> Main:
    """A rise from 0 to 1 over the main part that takes the ramp's speed over and loses it."""
    return lambda u: height + (lift - height) * rise(1 - u) + speed * half * (1 - u) * u**3


def _harmonic(random: np.random.Generator, lift: float, half: float, height: float, speed: float) -> Main:
    second, third = random.uniform(-0.15, 0.25), random.uniform(0, 0.06)

    def rise(u: np.ndarray) -> np.ndarray:
        first = 0.5 * (1 - np.cos(np.pi * u)) - 0.25 * second * (1 - np.cos(2 * np.pi * u))
        return first + 0.25 * third * (np.cos(3 * np.pi * u) - np.cos(np.pi * u))

    return _taking_over(lift, half, height, speed, rise)


def _law(random: np.random.Generator, lift: float, half: float, height: float, speed: float) -> Main:
    """Modified trapezoid or modified sine, integrated from their accelerations."""
    x = np.linspace(0, 1, 4001)
    if random.random() < 0.5:
        pieces = [x < 1 / 8, x < 3 / 8, x < 5 / 8, x < 7 / 8]
        shapes = [np.sin(4 * np.pi * x), 1.0, np.cos(4 * np.pi * (x - 3 / 8)), -1.0]
        bend = np.select(pieces, shapes, -np.cos(4 * np.pi * (x - 7 / 8)))
    else:
        bend = np.select(
            [x < 1 / 8, x < 7 / 8],
            [np.sin(4 * np.pi * x), np.cos(4 * np.pi / 3 * (x - 1 / 8))],
            -np.sin(4 * np.pi * (1 - x)),
        )
    first = _summed(bend, x)
    way = _summed(first - first[-1] * x, x)
    return _taking_over(lift, half, height, speed, lambda u: np.interp(u, x, way / way[-1]))


def _spline(
    random: np.random.Generator, lift: float, half: float, height: float, speed: float
) -> Main | None:
    """A cubic spline of acceleration: few coefficients up, the rest down, all of them random."""
    u, count = np.linspace(0, 1, 2001), 11
    knots = np.concatenate([np.zeros(3), np.linspace(0, 1, count - 2), np.ones(3)])
    for _ in range(100):
        up, down, first = np.zeros(count), np.zeros(count), int(random.integers(2, 5))
        up[1 : 1 + first] = random.uniform(0.5, 1.5, first)
        rest = count - 1 - first
        lean = 1 + random.uniform(-0.6, 1.2) * np.linspace(0, 1, rest)
        down[1 + first :] = -lean * np.exp(random.normal(0, 0.12, rest))
        speeds = [_summed(BSpline(knots, each, 3)(u), u) for each in (up, down)]
        ways = [_summed(each, u) for each in speeds]
        system = np.array([[each[-1] for each in speeds], [each[-1] for each in ways]])
        sizes = np.linalg.solve(system, [-speed * half, lift - height - speed * half])
        way = height + speed * half * u + sizes[0] * ways[0] + sizes[1] * ways[1]
        if sizes.min() > 0 and np.all(np.diff(way) >= 0):
            return lambda x, way=way: np.interp(1 - x, u, way)
    return None


def _summed(values: np.ndarray, x: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(x))])
