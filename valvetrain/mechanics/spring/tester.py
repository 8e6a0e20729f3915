"""Straight-line fit of load against height from a spring tester, with its uncertainty.

Weighted least squares on F = mean load - k (height - mean height); centering makes the two parameters
uncorrelated (JCGM 100:2008, H.3, published, for the same device). Many springs are fitted at once: readings
are the last axis, everything before it springs or samples.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["LoadTesterUncertainty", "SpringLine", "fitted_spring_line"]


@dataclass(frozen=True)
class LoadTesterUncertainty:
    """Standard uncertainties of a spring tester.

    `load` and `height` are independent from reading to reading; the other three are the same unknown
    error in every reading of one tester, so more readings do not lessen them.

    Attributes:
        load: of one load reading [N].
        height: of one height reading [m].
        zero: of the load scale's zero [N].
        scale: of the load scale's gain, relative [-].
        height_zero: of the height scale's zero, such as an unmeasured retainer [m].
    """

    load: float = 0.0
    height: float = 0.0
    zero: float = 0.0
    scale: float = 0.0
    height_zero: float = 0.0

    def __post_init__(self) -> None:
        """Refuse uncertainties that are not finite and >= 0."""
        for name in ("load", "height", "zero", "scale", "height_zero"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value >= 0.0):
                raise ValueError(
                    f"tester uncertainty {name} is {value:g}: it must be finite and not negative."
                )


@dataclass(frozen=True)
class SpringLine:
    """A spring as a straight line, shape [...] for each array.

    Attributes:
        rate: k [N/m], positive for a real spring.
        rate_uncertainty: standard uncertainty of the rate, scale error included [N/m].
        mean_height: weighted mean of the tested heights [m].
        mean_load: load there [N].
        residual: root of the mean square residual, on the degrees of freedom [N]; NaN with two readings.
        freedom: readings less 2 [-]; negative where there is no line.
        mean_variance: variance of `mean_load` from the independent errors [N^2].
        rate_variance: variance of `rate` from the independent errors [N^2/m^2].
        tester: what was assumed of the tester.
    """

    rate: FloatArray
    rate_uncertainty: FloatArray
    mean_height: FloatArray
    mean_load: FloatArray
    residual: FloatArray
    freedom: FloatArray
    mean_variance: FloatArray
    rate_variance: FloatArray
    tester: LoadTesterUncertainty

    @property
    def free_height(self) -> FloatArray:
        """Height at which the line reaches no load [m]; a real end coil lifts off a little later."""
        return self.mean_height + self.mean_load / self.rate

    def load_at(self, height: ArrayLike) -> FloatArray:
        """Load at a height [N]; heights [m] broadcast with the springs; not cut off below zero."""
        return self.mean_load - self.rate * (np.asarray(height, float) - self.mean_height)

    def height_at(self, load: ArrayLike) -> FloatArray:
        """Height at a load [m], the inverse of `load_at`."""
        return self.mean_height - (np.asarray(load, float) - self.mean_load) / self.rate

    def load_uncertainty_at(self, height: ArrayLike) -> FloatArray:
        """Standard uncertainty of `load_at` [N], the height itself taken as exact.

        Add rate x (the uncertainty of the installed height) for a spring in its place.
        """
        distance = np.asarray(height, float) - self.mean_height
        shared = (
            self.tester.zero**2
            + (self.tester.scale * self.load_at(height)) ** 2
            + (self.rate * self.tester.height_zero) ** 2
        )
        return np.sqrt(self.mean_variance + distance**2 * self.rate_variance + shared)


def fitted_spring_line(
    height: ArrayLike,
    load: ArrayLike,
    tester: LoadTesterUncertainty | None = None,
    *,
    weight: ArrayLike = 1.0,
) -> SpringLine:
    """Fit one line to each spring's readings.

    Args:
        height: [m], shape [..., readings]; NaN where a reading is missing (it is left out).
        load: [N], the same shape.
        tester: its uncertainties; None means exact, so that only the scatter of the readings counts.
        weight: relative weight of each reading, broadcast; 1 for ordinary least squares.

    Returns:
        the lines; NaN where a spring has fewer than two different heights.

    The variance of one reading is load^2 + (k height)^2 of the tester, or that of the residuals where
    there are more than two readings and these scatter more. Two readings leave no residual: the uncertainty
    is then the tester's alone, and nothing shows that the spring is straight.

    Raises:
        ValueError: where shapes do not broadcast to at least one axis, or a weight is negative.
    """
    used_tester = tester or LoadTesterUncertainty()
    h, f, w = np.broadcast_arrays(
        np.asarray(height, float), np.asarray(load, float), np.asarray(weight, float)
    )
    if h.ndim == 0:
        raise ValueError("a spring test needs readings along the last axis: one number is no line.")
    if np.any(w < 0.0):
        raise ValueError(f"a weight is {np.nanmin(w):g}: weights must not be negative.")
    known = np.isfinite(h) & np.isfinite(f) & (w > 0.0)
    h, f, w = (np.where(known, array, 0.0) for array in (h, f, w))
    count = np.sum(known, axis=-1).astype(float)
    total = _or_nan(np.sum(w, axis=-1))
    mean_height = np.sum(w * h, axis=-1) / total
    mean_load = np.sum(w * f, axis=-1) / total
    from_mean = np.where(known, h - mean_height[..., np.newaxis], 0.0)
    # Heights that differ by less than a billionth of themselves are one height read twice.
    spread = np.sum(w * from_mean**2, axis=-1)
    spread = _or_nan(np.where(spread > (1e-9 * mean_height) ** 2 * total, spread, 0.0))
    rate = -np.sum(w * from_mean * (f - mean_load[..., np.newaxis]), axis=-1) / spread
    misfit = f - mean_load[..., np.newaxis] + rate[..., np.newaxis] * from_mean
    freedom = count - 2.0
    scatter = np.sum(w * np.where(known, misfit, 0.0) ** 2, axis=-1) / _or_nan(np.maximum(freedom, 0.0))
    instrument = used_tester.load**2 + (rate * used_tester.height) ** 2
    variance = np.fmax(instrument, scatter)
    rate_variance = variance / spread
    return SpringLine(
        rate=rate,
        rate_uncertainty=np.sqrt(rate_variance + (used_tester.scale * rate) ** 2),
        mean_height=mean_height,
        mean_load=mean_load,
        residual=np.sqrt(scatter),
        freedom=freedom,
        mean_variance=variance / total,
        rate_variance=rate_variance,
        tester=used_tester,
    )


def _or_nan(value: ArrayLike) -> FloatArray:
    """Zero made NaN, so that a division by nothing is unknown and not a warning."""
    array = np.asarray(value, float)
    return np.where(array > 0.0, array, np.nan)
