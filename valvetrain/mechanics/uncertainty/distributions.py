"""Shapes of a measured value's distribution: draws of unit standard deviation and coverage factors.

A reading's last digit, a feeler's step or a stated tolerance is rectangular; the sum of two of those a
trapezoid; everything with many causes is normal. Half widths: JCGM 100:2008 (GUM) 4.3.7 to 4.3.9,
JCGM 101:2008 table 1 (both from memory).
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["NORMAL", "RECTANGULAR", "TRIANGULAR", "Distribution", "trapezoid"]


@dataclass(frozen=True)
class Distribution:
    """The shape of a distribution, whatever its middle and width.

    Attributes:
        kind: "normal", or "trapezoid" (symmetric; rectangle and triangle are its ends).
        top: length of the flat top over the length of the base, 0 (triangle) to 1 (rectangle); of no
            meaning for a normal one.
    """

    kind: Literal["normal", "trapezoid"]
    top: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a top outside 0 to 1."""
        if self.kind not in ("normal", "trapezoid"):
            raise ValueError(f"distribution is {self.kind!r}; allowed: normal, trapezoid")
        if not 0.0 <= self.top <= 1.0:
            raise ValueError(f"top of the trapezoid is {self.top:g}; allowed: 0 to 1 of its base")

    @property
    def half_width(self) -> float:
        """Half the base over the standard deviation: sqrt(6/(1 + top^2)); infinite for a normal one."""
        if self.kind == "normal":
            return math.inf
        return math.sqrt(6.0 / (1.0 + self.top * self.top))

    def drawn(self, generator: np.random.Generator, shape: tuple[int, ...]) -> FloatArray:
        """Draws of zero mean and unit standard deviation.

        Consecutive calls continue one stream, so that two calls of 5 rows give what one of 10 gives.
        """
        if self.kind == "normal":
            return generator.standard_normal(shape)
        if self.top == 1.0:
            draws = generator.random(shape)
            draws -= 0.5
            draws *= 2.0 * self.half_width
            return draws
        # The sum of two rectangles is a trapezoid; pairs are drawn together to keep the stream in step.
        pair = generator.random((*shape, 2))
        pair -= 0.5
        pair *= self.half_width * np.array([1.0 + self.top, 1.0 - self.top])
        return np.asarray(pair.sum(axis=-1))

    def quantiles(self, levels: FloatArray) -> FloatArray:
        """Quantiles at `levels`, each above 0 and below 1, in standard deviations from the middle."""
        if self.kind == "normal":
            from scipy.special import ndtri

            return np.asarray(ndtri(levels))
        # From the nearer end: the slope holds (1 - top)/(1 + top)/2 of the probability, then the top.
        near = np.minimum(levels, 1.0 - np.asarray(levels, float))
        slope = 0.5 * (1.0 - self.top) / (1.0 + self.top)
        height = 1.0 / (1.0 + self.top)  # of the density, over a half width of 1
        on_slope = np.sqrt(2.0 * (1.0 - self.top) * np.minimum(near, slope) / height)
        place = -1.0 + on_slope + np.maximum(near - slope, 0.0) / height
        return np.asarray(self.half_width * np.where(np.asarray(levels) <= 0.5, place, -place))

    def coverage_factor(self, probability: float = 0.95) -> float:
        """Half length of the interval that holds `probability`, over the standard deviation.

        Trapezoid: (1 - sqrt((1 - p)(1 - top^2)))/sqrt((1 + top^2)/6), valid while the interval's ends
        lie on the slopes; else on the flat top, p (1 + top)/2/sqrt((1 + top^2)/6) (EA-4/02 S10, 10.13).
        """
        if not 0.0 < probability < 1.0:
            raise ValueError(f"coverage probability is {probability:g}; allowed: between 0 and 1")
        if self.kind == "normal":
            from scipy.special import ndtri

            return float(ndtri(0.5 + 0.5 * probability))
        on_top = 0.5 * probability * (1.0 + self.top)
        if on_top > self.top:
            on_top = 1.0 - math.sqrt((1.0 - probability) * (1.0 - self.top**2))
        return self.half_width * on_top


def trapezoid(top: float) -> Distribution:
    """A symmetric trapezoid; `top` is its flat top over its base, 0 to 1."""
    return Distribution("trapezoid", top)


NORMAL = Distribution("normal")
RECTANGULAR = Distribution("trapezoid", 1.0)
TRIANGULAR = Distribution("trapezoid", 0.0)
