"""Lobes from their laws' accelerations, integrated numerically, and valve lift over the crank (derived)."""

from typing import Any

import numpy as np
from scipy.integrate import cumulative_simpson

from .linkage import Linkage

LAWS = {
    "constant acceleration": lambda u: np.where(u < 0.5, 4.0, -4.0),
    "simple harmonic": lambda u: np.cos(np.pi * u),
    "cycloidal": lambda u: np.sin(2 * np.pi * u),
    "3-4-5 polynomial": lambda u: 60 * u - 180 * u**2 + 120 * u**3,
    "4-5-6-7 polynomial": lambda u: u**2 * (420 - 1680 * u + 2100 * u**2 - 840 * u**3),
    "modified sine": lambda u: np.where(
        u < 1 / 8,
        np.sin(4 * np.pi * u),
        np.where(u > 7 / 8, np.sin(4 * np.pi * (u - 1)), np.sin(np.pi / 3 + 4 * np.pi * u / 3)),
    ),
}
"""Shape of each law's acceleration over the rise, 0 to 1, up to a factor."""


class Lobe:
    """Dwell, rise, nose dwell, return without ramps; lift [m] over cam angle [rad].

    Angles count from the lobe center: the middle between the two places 1.27 mm (0.050 in) below full lift,
    where a dial would read it.
    """

    def __init__(self, law: str, lift: float, rise: float, back: float | None = None, dwell: float = 0.0):
        self.u = np.linspace(0.0, 1.0, 8001)
        acceleration = LAWS[law](self.u)
        speed = cumulative_simpson(acceleration, x=self.u, initial=0.0)
        way = cumulative_simpson(speed, x=self.u, initial=0.0)
        self.factors = way / way[-1], speed / way[-1], acceleration / way[-1]
        self.height, self.rise, self.back, self.dwell = lift, rise, back or rise, dwell
        below = 1 - np.interp(1 - 1.27e-3 / lift, self.factors[0], self.u)
        self.center = below * (self.back - self.rise) / 2
        """Of the lobe, from the middle of its nose."""

    def curves(self, angle: Any) -> tuple[Any, Any, Any]:
        """Lift, and its first two derivatives by cam angle [rad]."""
        angle = np.asarray(angle, float) + self.center
        flank = np.where(angle < 0, self.rise, self.back)
        u = np.clip(1 - (np.abs(angle) - self.dwell / 2) / flank, 0.0, 1.0)
        inside = (u > 0) & ((u < 1) | (self.dwell == 0))
        s, v, a = (np.interp(u, self.u, each) for each in self.factors)
        sign = np.where(angle < 0, 1.0, -1.0)
        return (
            self.height * s,
            inside * sign * self.height * v / flank,
            inside * self.height * a / flank**2,
        )

    def lift(self, angle: Any) -> Any:
        """Tappet lift."""
        return self.curves(angle)[0]


def valve_lift(model: Linkage, lobe: Lobe, angles: Any) -> Any:
    """Valve lift at cam angles; the linkage is solved on a grid of lobe lifts and read through a spline."""
    from scipy.interpolate import CubicSpline

    grid = np.linspace(0.0, lobe.height, 161)
    drop = CubicSpline(grid, [model.drop(s) for s in grid])
    return np.maximum(0.0, drop(lobe.lift(angles)) - model.lash)
