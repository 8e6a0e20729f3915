"""A cam lobe built from a motion law: ramp, rise, nose dwell, return, ramp.

Each ramp rises from the base circle with a velocity that grows smoothly over its first part and is
constant from there on; the flank takes that velocity over and loses it by the nose. Lift and velocity are
continuous everywhere, acceleration wherever the law's own is zero at its ends.
"""

from dataclasses import dataclass
from math import isfinite, pi

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.motion_laws import motion_law

__all__ = ["BLEND_FRACTION", "LawLobe"]

BLEND_FRACTION = 0.25
"""Part of a ramp's length over which its velocity builds up (common practice, no source)."""

Curves = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True)
class LawLobe:
    """Tappet lift over one cam revolution; angle 0 is the middle of the nose dwell [cam rad].

    Attributes:
        law: a name of `MOTION_LAWS`.
        lift: lobe lift, ramp included [m], > 0.
        rise_angle, return_angle: flanks without ramps [cam rad], > 0.
        nose_dwell: [cam rad], >= 0.
        opening_ramp_height, closing_ramp_height: lift at the ramp's lobe end [m], >= 0.
        opening_ramp_length, closing_ramp_length: [cam rad], > 0 where the height is.

    Raises:
        ValueError: a size outside these ranges, a lobe longer than a revolution, or a ramp so fast that
            its velocity alone would lift the flank past the nose.
    """

    law: str
    lift: float
    rise_angle: float
    return_angle: float
    nose_dwell: float = 0.0
    opening_ramp_height: float = 0.0
    opening_ramp_length: float = 0.0
    closing_ramp_height: float = 0.0
    closing_ramp_length: float = 0.0

    def __post_init__(self) -> None:
        """Refuse sizes that make no lobe."""
        motion_law(self.law)
        for name in ("lift", "rise_angle", "return_angle"):
            if not (isfinite(getattr(self, name)) and getattr(self, name) > 0):
                raise ValueError(f"{name} is {getattr(self, name)}; it must be a finite number above 0")
        for side in ("opening", "closing"):
            height, length = getattr(self, f"{side}_ramp_height"), getattr(self, f"{side}_ramp_length")
            if not (isfinite(height) and isfinite(length) and height >= 0 and length >= 0):
                raise ValueError(f"{side} ramp height {height}, length {length}: neither may be negative")
            if (height > 0) != (length > 0):
                raise ValueError(f"{side} ramp height {height}, length {length}: give both, or neither")
        if not (isfinite(self.nose_dwell) and self.nose_dwell >= 0):
            raise ValueError(f"nose_dwell is {self.nose_dwell}; it must be a finite number, 0 or more")
        if self.edges[-1] - self.edges[0] > 2 * pi * (1 + 1e-12):
            total = np.degrees(self.edges[-1] - self.edges[0])
            raise ValueError(f"the lobe is {total:.1f} cam degrees long; a revolution has 360")
        for side, angle in (("opening", self.rise_angle), ("closing", self.return_angle)):
            height, velocity = self._ramp(side)[0], self._ramp(side)[2]
            if height + velocity * angle / 2 >= self.lift:
                raise ValueError(
                    f"the {side} ramp (height {height}) is too fast or too high for a lift of {self.lift}"
                )

    def _ramp(self, side: str) -> tuple[float, float, float]:
        """Height [m], length [rad] and the constant velocity [m/rad] of a ramp."""
        height: float = getattr(self, f"{side}_ramp_height")
        length: float = getattr(self, f"{side}_ramp_length")
        return height, length, (height / (length * (1 - BLEND_FRACTION / 2)) if length > 0 else 0.0)

    @property
    def edges(self) -> FloatArray:
        """Start of ramp, start of rise, nose start, nose end, end of return, end of ramp [cam rad], [6]."""
        half = self.nose_dwell / 2
        opening, closing = half + self.rise_angle, half + self.return_angle
        return np.array(
            [-opening - self.opening_ramp_length, -opening, -half, half, closing,
             closing + self.closing_ramp_length]
        )  # fmt: skip

    @property
    def ramp_blends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where the ramps' velocity builds up and fades: two ranges of cam angle [rad]."""
        start, end = float(self.edges[0]), float(self.edges[5])
        return (
            (start, start + BLEND_FRACTION * self.opening_ramp_length),
            (end - BLEND_FRACTION * self.closing_ramp_length, end),
        )

    @property
    def breaks(self) -> FloatArray:
        """All angles at which the formula changes, rising [cam rad]."""
        inner = np.array((0.0, *motion_law(self.law).breaks, 1.0))
        edges = self.edges
        blend = np.ravel(self.ramp_blends)
        rise, back = edges[1] + inner * self.rise_angle, edges[4] - inner * self.return_angle
        return np.unique(np.concatenate([edges, blend, rise, back]))

    def curves(self, angle: ArrayLike) -> Curves:
        """Lift [m], velocity [m/rad], acceleration [m/rad^2], jerk [m/rad^3] at cam angles [rad].

        Any shape, any turn; NaN gives NaN. The infinite jerk of a law that steps is not shown.
        """
        turned = np.mod(np.asarray(angle, float) + pi, 2 * pi) - pi
        edges = self.edges
        # A lobe that reaches past half a turn on one side is found on the other.
        turned = np.where(turned > edges[5], turned - 2 * pi, turned)
        turned = np.where(turned < edges[0], turned + 2 * pi, turned)
        rising = turned <= 0
        opening = self._flank("opening", self.rise_angle, turned - edges[1])
        closing = self._flank("closing", self.return_angle, edges[4] - turned)
        lift, velocity, acceleration, jerk = (
            np.where(rising, up, sign * down)
            for up, down, sign in zip(opening, closing, (1, -1, 1, -1), strict=True)
        )
        return lift, velocity, acceleration, jerk

    def _flank(self, side: str, flank: float, x: FloatArray) -> Curves:
        """One side, x [rad] counted toward the nose from the lobe end of the ramp."""
        height, length, ramp_velocity = self._ramp(side)
        blend = BLEND_FRACTION * length
        s, v, a, j = motion_law(self.law)(x / flank)
        taken_over = ramp_velocity * flank
        rest = self.lift - height - taken_over / 2
        g, dg, ddg, dddg = _fading(x / flank)
        curves = (
            height + rest * s + taken_over * g,
            (rest * v + taken_over * dg) / flank,
            (rest * a + taken_over * ddg) / flank**2,
            (rest * j + taken_over * dddg) / flank**3,
        )
        if length == 0.0:
            return curves
        build, build_v, build_a, build_j = _building((x + length) / blend)
        after = np.maximum(x + length - blend, 0.0)
        ramp = (
            ramp_velocity * (blend * build + after),
            ramp_velocity * build_v,
            ramp_velocity * build_a / blend,
            ramp_velocity * build_j / blend**2,
        )
        s, v, a, j = (np.where(x < 0, low, high) for low, high in zip(ramp, curves, strict=True))
        return s, v, a, j


def _building(u: FloatArray) -> Curves:
    """A velocity that grows from 0 to 1 as the 3-4-5 step: its integral, itself and two derivatives."""
    x = np.clip(u, 0.0, 1.0)
    step = x**3 * (10 - 15 * x + 6 * x**2)
    return (
        x**4 * (2.5 - 3 * x + x**2),
        step,
        30 * x**2 * (1 - x) ** 2,
        60 * x * (1 - x) * (1 - 2 * x),
    )


def _fading(u: FloatArray) -> Curves:
    """A velocity that falls from 1 to 0 the same way; its integral ends at 1/2."""
    integral, velocity, acceleration, jerk = _building(u)
    return np.clip(u, 0.0, 1.0) - integral, 1 - velocity, -acceleration, -jerk
