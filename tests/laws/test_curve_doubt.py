"""Doubt of a table's slope and of a card's area, held against lobes of an own polynomial (invented)."""

import numpy as np
import pytest
from scipy.optimize import brentq

from valvetrain.mechanics.cam.card import lift_curve_from_card
from valvetrain.mechanics.cam.curve_doubt import card_area_doubt, table_slope_doubt
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table

LIFT = 7.2e-3


class Polynomial:
    """Symmetric lobe of even powers over a quartic ramp (invented); angles in cam degrees."""

    def __init__(self, half: float, ramp_height: float, ramp_length: float) -> None:
        self.half, self.height, self.length = half, ramp_height, ramp_length
        powers = np.array([2.0, 6.0, 10.0, 16.0])
        top = LIFT - ramp_height
        slope = 2 * ramp_height / ramp_length  # of 2u^3 - u^4 at u = 1
        system = [powers**0, powers, powers * (powers - 1), powers * (powers - 1) * (powers - 2)]
        self.powers, self.top = powers, top
        self.shares = np.linalg.solve(np.array(system), [-1.0, -slope * half / top, 0.0, 0.0])

    def lift(self, angle: float) -> float:
        angle = abs(angle)
        if angle < self.half:
            part = float(np.dot(self.shares, (angle / self.half) ** self.powers))
            return self.height + self.top * (1 + part)
        rest = max(0.0, (self.half + self.length - angle) / self.length)
        return self.height * (2 * rest**3 - rest**4)

    def half_width(self, level: float) -> float:
        return brentq(lambda angle: self.lift(angle) - level, 0.0, self.half + self.length)

    def slope(self, level: float) -> float:
        at, step = self.half_width(level), 1e-4
        return abs(self.lift(at + step) - self.lift(at - step)) / np.radians(2 * step)


LOBES = [
    Polynomial(half, height * 1e-3, length)
    for half in (60.0, 68.0)
    for height, length in ((0.15, 18.0), (0.22, 22.0), (0.3, 30.0))
]


def _card(lobe: Polynomial, lifts: tuple[float, ...]) -> np.ndarray:
    return np.array([np.radians(2 * lobe.half_width(level)) for level in lifts])


def test_area_moves_with_the_durations_as_its_doubt_says() -> None:
    lobe, lifts = LOBES[1], (0.15e-3, 1.27e-3, 5e-3)
    widths, move = _card(lobe, lifts), np.radians(1.0)
    grid = np.linspace(-np.pi, np.pi, 8001)

    def area(wide: np.ndarray) -> float:
        return float(np.sum(lift_curve_from_card(lifts, wide, LIFT).lift(grid)) * (grid[1] - grid[0]))

    sides = [(area(widths + move * row) - area(widths - move * row)) / 2 for row in np.eye(3)]
    written = card_area_doubt(lifts, widths, np.full(3, move), LIFT)
    assert written == pytest.approx(np.linalg.norm(sides) / area(widths), rel=0.25)


def test_slope_of_a_noisy_table_lies_within_its_doubt() -> None:
    random, angles = np.random.default_rng(3), np.arange(0.0, 360.0, 5.0)
    levels, noise = np.array([0.17e-3, 0.28e-3]), 0.0127e-3
    within = []
    for lobe in LOBES:
        true = np.array([lobe.slope(level) for level in levels])
        for _ in range(8):
            readings = [lobe.lift(angle - 180.0) for angle in angles] + random.normal(0, noise, angles.size)
            curve = lift_curve_from_table(np.radians(angles), readings)
            found = curve.velocity(crossings(curve, levels).opening)
            within.append(np.abs(found / true - 1) < 2 * table_slope_doubt(levels, noise))
    assert 0.80 < np.mean(within) <= 1.0


def test_doubt_of_a_table_grows_with_noise_and_toward_the_base_circle() -> None:
    assert float(table_slope_doubt(0.2e-3, 0.0)) == pytest.approx(0.04)
    assert np.all(np.diff(table_slope_doubt([0.1e-3, 0.2e-3, 0.4e-3], 0.01e-3)) < 0)
    assert np.isnan(table_slope_doubt(0.0, 0.01e-3))


def test_a_card_above_its_own_lift_is_refused() -> None:
    with pytest.raises(ValueError, match="not below the lobe lift"):
        card_area_doubt((0.1e-3, LIFT), (2.0, 1.0), (0.0, 0.0), LIFT)
