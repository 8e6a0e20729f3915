"""A spring whose rate grows as it is compressed, from three or more tested heights.

The load is a quadratic of the height, held convex and falling over the tested range. That form was chosen
before an interpolating curve because a shop has three to five readings: the quadratic has the fewest
parameters that show a changing rate, it smooths the readings' error, and its covariance gives every load an
uncertainty. Outside the tested heights it is not to be trusted: `in_tested_range` says so.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.spring.tester import LoadTesterUncertainty

__all__ = ["ProgressiveSpring", "fitted_progressive_spring"]


@dataclass(frozen=True)
class ProgressiveSpring:
    """Load = a - b x + c x^2 with x = height - center, for one spring.

    Attributes:
        center: mean tested height [m].
        coefficients: a [N], b [N/m], c [N/m^2], shape [3]; c is never negative.
        covariance: of the coefficients from the independent errors, shape [3, 3].
        least_height: lowest tested height [m].
        greatest_height: highest tested height [m].
        residual: root of the mean square residual on the degrees of freedom [N]; NaN with three readings.
        straight: the readings show no growing rate, so c was held at 0.
        tester: what was assumed of the tester.
    """

    center: float
    coefficients: FloatArray
    covariance: FloatArray
    least_height: float
    greatest_height: float
    residual: float
    straight: bool
    tester: LoadTesterUncertainty

    def load_at(self, height: ArrayLike) -> FloatArray:
        """Load [N] at heights [m] of any shape."""
        return np.asarray(self._basis(height) @ self.coefficients)

    def rate_at(self, height: ArrayLike) -> FloatArray:
        """Tangent rate, the load gained for each metre of compression, at heights of any shape [N/m]."""
        x = np.asarray(height, float) - self.center
        return np.asarray(self.coefficients[1] - 2.0 * self.coefficients[2] * x)

    def load_uncertainty_at(self, height: ArrayLike) -> FloatArray:
        """Standard uncertainty of `load_at` [N], the height itself taken as exact."""
        basis = self._basis(height)
        own = np.einsum("...i,ij,...j->...", basis, self.covariance, basis)
        shared = (
            self.tester.zero**2
            + (self.tester.scale * self.load_at(height)) ** 2
            + (self.tester.height_zero * self.rate_at(height)) ** 2
        )
        return np.asarray(np.sqrt(own + shared))

    def rate_uncertainty_at(self, height: ArrayLike) -> FloatArray:
        """Standard uncertainty of `rate_at` [N/m]."""
        x = np.asarray(height, float) - self.center
        slope = np.stack([np.zeros_like(x), np.ones_like(x), -2.0 * x], axis=-1)
        own = np.einsum("...i,ij,...j->...", slope, self.covariance, slope)
        bend = 2.0 * self.coefficients[2] * self.tester.height_zero
        return np.asarray(np.sqrt(own + (self.tester.scale * self.rate_at(height)) ** 2 + bend**2))

    def in_tested_range(self, height: ArrayLike) -> BoolArray:
        """Whether the heights lie between the lowest and the highest tested; False for NaN."""
        h = np.asarray(height, float)
        return np.asarray((h >= self.least_height) & (h <= self.greatest_height))

    def _basis(self, height: ArrayLike) -> FloatArray:
        x = np.asarray(height, float) - self.center
        return np.stack([np.ones_like(x), -x, x * x], axis=-1)


def fitted_progressive_spring(
    height: ArrayLike, load: ArrayLike, tester: LoadTesterUncertainty | None = None
) -> ProgressiveSpring:
    """Fit the convex quadratic to the readings of one spring.

    Args:
        height: [m], shape [readings]; readings with a NaN are left out.
        load: [N], shape [readings].
        tester: its uncertainties; None means exact.

    The variance of a reading is the tester's, or the residuals' where these scatter more, as for the
    straight line. Where the best quadratic bends the wrong way the best straight line is taken.

    Raises:
        ValueError: for fewer than three different heights, or a load that does not fall with the height
            over the whole tested range.
    """
    used_tester = tester or LoadTesterUncertainty()
    h, f = np.asarray(height, float), np.asarray(load, float)
    if h.ndim != 1 or h.shape != f.shape:
        raise ValueError(f"heights {h.shape} and loads {f.shape} must be two lists of the same length.")
    known = np.isfinite(h) & np.isfinite(f)
    h, f = h[known], f[known]
    if np.unique(h).size < 3:
        raise ValueError(
            f"a progressive spring needs loads at three different heights: there are {np.unique(h).size}."
        )
    center, half = float(h.mean()), float(np.ptp(h)) / 2.0
    x = (h - center) / half  # scaled, so that the normal equations stay well conditioned
    columns = np.stack([np.ones_like(x), -x, x * x], axis=-1)
    solution = np.linalg.lstsq(columns, f, rcond=None)[0]
    straight = bool(solution[2] <= 0.0)
    free = 2 if straight else 3
    if straight:
        solution = np.append(np.linalg.lstsq(columns[:, :2], f, rcond=None)[0], 0.0)
    spare = h.size - free
    scatter = float(np.sum((f - columns @ solution) ** 2)) / spare if spare else np.nan
    scaling = np.array([1.0, 1.0 / half, 1.0 / half**2])
    coefficients = solution * scaling
    slope = coefficients[1] - 2.0 * coefficients[2] * (h - center)
    if slope.min() <= 0.0:
        raise ValueError(
            "the load does not fall as the height grows over the whole tested range: "
            "a reading is wrong, or heights and travel are mixed up."
        )
    # Each reading's height error counts with the spring's own rate there.
    instrument = used_tester.load**2 + (used_tester.height * slope) ** 2
    inverse = np.zeros((3, h.size))
    inverse[:free] = np.linalg.pinv(columns[:, :free])
    covariance = (inverse * np.fmax(instrument, scatter)) @ inverse.T
    return ProgressiveSpring(
        center=center,
        coefficients=coefficients,
        covariance=covariance * np.outer(scaling, scaling),
        least_height=float(h.min()),
        greatest_height=float(h.max()),
        residual=float(np.sqrt(scatter)),
        straight=straight,
        tester=used_tester,
    )
