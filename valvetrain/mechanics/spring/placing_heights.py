"""Installed heights against the middle of their role, for the search that places the springs.

The middle is the median of the heights that the plan itself leaves. A `MiddleBox` bounds it: as long as the
middle is known only to lie between two heights an option is judged by the best that it can be; boxes are
split until that is what it is. Of an odd number of valves the middle is one height, of an even number it
lies halfway between the two middle ones, which are bounded apart.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.spring.placing_options import OK, OUT, UNSURE

__all__ = ["HeightLimits", "MiddleBox", "height_verdict"]

Whole = NDArray[np.int64]
# A height this near its limit keeps it [m]: far below any measurement.
ROUNDING = 1e-9


@dataclass(frozen=True)
class HeightLimits:
    """Limits on a height less the middle of its role.

    Attributes:
        low: least [m], at most 0; -infinite where it is not limited.
        high: greatest [m], at least 0.
        doubt: by which a height must keep its limits to keep them surely [m], shape [valves].
    """

    low: float
    high: float
    doubt: FloatArray

    @property
    def limited(self) -> bool:
        """Whether there is any limit."""
        return bool(np.isfinite(self.low) or np.isfinite(self.high))


def height_verdict(least: FloatArray, most: FloatArray, doubt: FloatArray, limits: HeightLimits) -> Whole:
    """Best verdict on heights that lie between `least` and `most` from the middle [m]; `OK` for NaN."""
    with np.errstate(invalid="ignore"):
        inside = (most >= limits.low - ROUNDING) & (least <= limits.high + ROUNDING)
        low, high = limits.low + doubt, limits.high - doubt
        sure = (most >= low - ROUNDING) & (least <= high + ROUNDING) & (low <= high)
    return np.where(np.isnan(least) | sure, OK, np.where(inside, UNSURE, OUT))


@dataclass(frozen=True)
class MiddleBox:
    """Bounds of the two middle heights of one role; both are the same height for an odd number.

    Attributes:
        valves: how many valves of the role have a known height.
        lower: least and greatest height of the lower middle one [m].
        upper: of the upper one [m].
    """

    valves: int
    lower: tuple[float, float] = (-np.inf, np.inf)
    upper: tuple[float, float] = (-np.inf, np.inf)

    @property
    def middle(self) -> tuple[float, float]:
        """Least and greatest middle [m]."""
        return 0.5 * (self.lower[0] + self.upper[0]), 0.5 * (self.lower[1] + self.upper[1])

    def counted(self, height: FloatArray) -> list[tuple[BoolArray, int]]:
        """What the bounds ask for: (options, how many valves must take one of these at least)."""
        half = self.valves // 2
        first, second = (half + 1, half + 1) if self.valves % 2 else (half, half + 1)
        with np.errstate(invalid="ignore"):
            return [
                (height <= self.lower[1] + 0.5 * ROUNDING, first),
                (height >= self.lower[0] - 0.5 * ROUNDING, self.valves - first + 1),
                (height <= self.upper[1] + 0.5 * ROUNDING, second),
                (height >= self.upper[0] - 0.5 * ROUNDING, self.valves - second + 1),
            ]

    def split(self, stands: FloatArray, middle: float) -> "tuple[MiddleBox, MiddleBox] | None":
        """Split so that a plan's middle is told from one that it would need.

        In the part that holds the needed middle these heights are no longer allowed, or, of an even number,
        one of the two middle heights is bounded more closely; the other part no longer holds that middle.

        Args:
            stands: heights of the role's valves in the plan that the box allowed [m].
            middle: what this plan's middle would have to reach to be as good as was taken [m].

        Returns:
            two boxes; None where nothing is left to be split.
        """
        ordered = np.sort(stands)
        low, high = float(ordered[(self.valves - 1) // 2]), float(ordered[self.valves // 2])
        if middle < 0.5 * (low + high):
            # The same the other way up.
            parts = self._mirrored().split(-stands, -middle)
            return parts and (parts[1]._mirrored(), parts[0]._mirrored())
        if self.valves % 2:
            at = min(max(middle, low + ROUNDING), self.upper[1])
            if at <= low:
                return None
            below, above = (self.lower[0], at - ROUNDING), (at, self.lower[1])
            return replace(self, lower=below, upper=below), replace(self, lower=above, upper=above)
        at = max(2.0 * middle - low, high + ROUNDING)
        if at <= self.upper[1]:
            return self._upper(self.upper[0], at - ROUNDING), self._upper(at, self.upper[1])
        at = max(2.0 * middle - self.upper[1], low + ROUNDING)
        if at <= self.lower[1]:
            return self._lower(self.lower[0], at - ROUNDING), self._lower(at, self.lower[1])
        return None

    def _mirrored(self) -> "MiddleBox":
        """Heights counted downward: the lower middle becomes the upper one."""
        return replace(self, lower=(-self.upper[1], -self.upper[0]), upper=(-self.lower[1], -self.lower[0]))

    def _upper(self, least: float, most: float) -> "MiddleBox":
        """Bound the upper middle; the lower one is not above it."""
        return replace(self, upper=(least, most), lower=(self.lower[0], min(self.lower[1], most)))

    def _lower(self, least: float, most: float) -> "MiddleBox":
        """Bound the lower middle; the upper one is not below it."""
        return replace(self, lower=(least, most), upper=(max(self.upper[0], least), self.upper[1]))
