"""The rocker as constraint equations handed to scipy's root finder; nothing of the package is used.

Frame: origin at the tip of the closed valve, y along the stem out of the head, x from the shaft to the stem.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from scipy.optimize import brentq

RELATIVE = 4 * float(np.finfo(float).eps)


@dataclass(frozen=True)
class Linkage:
    """Dimensions [m, rad] of one rocker, as the sheet names them."""

    setback: float
    height: float
    pad_arm: float
    pad_radius: float
    socket_arm: float
    arm_angle: float
    length: float
    tappet_setback: float
    tappet_angle: float = 0.0
    splay: float = 0.0
    lash: float = 0.0
    pad_outline: Any = None  # points [n, 2] from the shaft axis, x along the pad arm

    def pad(self, phi: float) -> tuple[float, float]:
        """Lowest point of the pad (x, y) with the pad arm at phi."""
        if self.pad_outline is not None:
            x, y = np.asarray(self.pad_outline).T
            turned_x, turned_y = x * np.cos(phi) - y * np.sin(phi), x * np.sin(phi) + y * np.cos(phi)
            low = int(np.argmin(turned_y))
            return turned_x[low] - self.setback, turned_y[low] + self.height
        x = self.pad_arm * np.cos(phi) - self.setback
        return x, self.pad_arm * np.sin(phi) + self.height - self.pad_radius

    def balls(self, phi: float, travel: float) -> tuple[Any, Any]:
        """Upper and lower ball in space."""
        angle = phi + self.arm_angle
        shaft = np.array([-self.setback, self.height, 0.0])
        upper = shaft + np.array(
            [self.socket_arm * np.cos(angle), self.socket_arm * np.sin(angle), self.splay]
        )
        across = np.array([-np.cos(self.tappet_angle), -np.sin(self.tappet_angle), 0.0])
        along = np.array([-np.sin(self.tappet_angle), np.cos(self.tappet_angle), 0.0])
        return upper, shaft + self.tappet_setback * across + travel * along

    def closed_angle(self) -> float:
        """Pad-arm angle on the base circle, the lash open."""
        return brentq(lambda p: self.pad(p)[1] - self.lash, -1.2, 1.2, xtol=1e-15, rtol=RELATIVE)

    @cached_property
    def _closed(self) -> tuple[float, float]:
        phi = self.closed_angle()
        span = lambda t: np.linalg.norm(np.subtract(*self.balls(phi, t))) - self.length  # noqa: E731
        return phi, brentq(span, -1.5 * self.length, -0.3 * self.length, xtol=1e-15, rtol=RELATIVE)

    def closed(self) -> tuple[float, float]:
        """Pad-arm angle and tappet travel on the base circle, the lash open."""
        return self._closed

    def angle(self, lift: float) -> float:
        """Pad-arm angle at a tappet lift."""
        phi, travel = self.closed()
        to = travel + lift
        span = lambda p: np.linalg.norm(np.subtract(*self.balls(p, to))) - self.length  # noqa: E731
        return brentq(span, phi - 0.9, phi + 0.05, xtol=1e-15, rtol=RELATIVE)

    def drop(self, lift: float) -> float:
        """Fall of the pad's lowest point from the base circle."""
        return self.lash - self.pad(self.angle(lift))[1]

    def contact(self, lift: float) -> float:
        """Contact from the stem axis."""
        return self.pad(self.angle(lift))[0]

    def lift_for(self, drop: float) -> float:
        """Tappet lift that gives a pad drop: the arm first, from the pad alone, then the tappet."""
        start, travel = self.closed()
        phi = brentq(lambda p: self.pad(p)[1] - self.lash + drop, start - 0.9, start + 0.05, xtol=1e-15)
        span = lambda t: np.linalg.norm(np.subtract(*self.balls(phi, t))) - self.length  # noqa: E731
        return brentq(span, travel - 0.001, travel + 0.02, xtol=1e-15, rtol=RELATIVE) - travel

    def ratio(self, lift: float, step: float = 1e-5) -> float:
        """d(pad drop)/d(tappet lift), a difference of fourth order."""
        f = [self.drop(lift + k * step) for k in (-2, -1, 1, 2)]
        return (f[0] - 8 * f[1] + 8 * f[2] - f[3]) / (12 * step)

    def raised(self, shim: float, lean: float = 0.0) -> "Linkage":
        """After a stand shim: the shaft moves along the stand's axis, the lash is reset at the adjuster."""
        x, y = shim * np.sin(lean), shim * np.cos(lean)
        out = x * np.cos(self.tappet_angle) + y * np.sin(self.tappet_angle)
        return self.adjusted(
            setback=self.setback - x, height=self.height + y, tappet_setback=self.tappet_setback + out
        )

    def adjusted(self, **changes: float) -> "Linkage":
        """With other dimensions, the lower ball where it was: the rod's length is made to suit."""
        phi, travel = self.closed()
        lower = self.balls(phi, travel)[1]
        other = replace(self, **changes)
        upper = other.balls(other.closed_angle(), 0.0)[0]
        return replace(other, length=float(np.linalg.norm(upper - lower)))

    def tip_raised(self, rise: float) -> "Linkage":
        """After a lash cap or the like: tip higher, shaft and lower ball where they were, lash reset."""
        phi, travel = self.closed()
        lower = self.balls(phi, travel)[1] - [0.0, rise, 0.0]
        other = replace(self, height=self.height - rise)
        upper = other.balls(other.closed_angle(), 0.0)[0]
        return replace(other, length=float(np.linalg.norm(upper - lower)))

    def touching(self, full: float, count: int = 200) -> tuple[Any, Any]:
        """(tappet lifts, contacts) from touch to full lobe lift."""
        lifts = np.linspace(self.lift_for(self.lash), full, count)
        return lifts, np.array([self.contact(s) for s in lifts])


def extreme(function: Callable[[float], float], lifts: Any, values: Any, sign: int) -> float:
    """Greatest (sign 1) or least (-1) of a function sampled at lifts, refined by a parabola of three."""
    k = int(np.argmax(sign * values))
    if k in (0, len(lifts) - 1):
        return float(values[k])
    a, b, c = np.polyfit(lifts[k - 1 : k + 2], values[k - 1 : k + 2], 2)
    return float(c - b * b / (4 * a))
