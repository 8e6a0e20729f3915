"""The smoothing spline through a lift table's readings, and how sure it is at every angle.

Uniform B-splines of degree five, least squares plus a multiple of the integral of weight times jerk squared.
The multiple follows from the greatest marginal likelihood of the readings (restricted maximum likelihood of
the equivalent random-effects model: G. Wahba, *Annals of Statistics* 13 (1985), "generalized maximum
likelihood"; S. N. Wood, *Generalized Additive Models*; memory), which, unlike cross-validation, seldom
undersmooths a short table.

Two passes: the first, with equal weights, shows where the lobe's jerk is large (where a ramp meets its
flank); the second weighs jerk there less, so that the corner is not rounded while ramp and nose stay smooth.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import BSpline, PPoly
from scipy.linalg import eigh

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["SmoothedTable", "piece_matrix", "smoothed"]

FIRST_FACTOR = 8.0
"""The first pass smooths this much more than the likelihood says, lest noise pass for a corner."""

DERIVATIVE_FACTOR = 4.0
"""The best smoothing for lift is too little for acceleration; this much more of it gave the least errors of
peak acceleration over noisy tables with and without ramps that do no harm to durations (own trial, no
source)."""

REACH = np.radians(3.0)
"""Jerk is averaged over this standard deviation of angle for its weight [cam rad] (own trial, no source)."""

LEAST_JERK = 0.02
"""Squared jerk below this share of its mean gets no more weight (own trial, no source)."""


@dataclass(frozen=True)
class SmoothedTable:
    """A fitted lobe part.

    Attributes:
        coefficients: of the B-splines [m], shape [free].
        noise: rms of the readings about the curve [m], with `spare` degrees of freedom.
        doubt: standard uncertainty of the lift at the pieces' edges over the noise [-], shape [free + 6].
        rounded: lift that the smoothing for the derivatives' sake takes off there [m], shape [free + 6].
    """

    coefficients: FloatArray
    noise: float
    spare: float
    doubt: FloatArray
    rounded: FloatArray


@lru_cache(maxsize=1)
def piece_matrix() -> FloatArray:
    """Powers (highest first) of a piece's polynomial for each of its six coefficients, [6, 6]."""
    element = PPoly.from_spline(BSpline.basis_element(np.arange(7.0), extrapolate=False))
    inside = [int(np.searchsorted(element.x, k + 0.5)) - 1 for k in range(6)]
    # Coefficient j is in its piece number 5 - row for row j of the window.
    matrix: FloatArray = np.array([element.c[:, inside[5 - row]] for row in range(6)])
    return matrix


@lru_cache(maxsize=1)
def _jerk_block() -> FloatArray:
    """Integral over a piece of the products of its six coefficients' jerks, [6, 6]."""
    jerk = piece_matrix()[:, :3] * np.array([60.0, 24.0, 6.0])
    moments = 1.0 / (np.array([2, 1, 0])[:, np.newaxis] + np.array([2, 1, 0]) + 1)
    block: FloatArray = jerk @ moments @ jerk.T
    return block


def smoothed(
    position: FloatArray, lift: FloatArray, free: int, width: float, reading: float = 0.0
) -> SmoothedTable:
    """Fit the lobe part of a table; outside of it the curve is 0.

    Args:
        position: of each reading, in pieces from where the lobe may start, shape [n]; those beyond
            free + 5 pieces are left out.
        lift: read there, less the base circle's [m], shape [n].
        free: number of B-splines whose support lies where the lobe may be.
        width: of a piece [cam rad].
        reading: noise that the readings have at least [m].
    """
    inside = position < free + 5
    design, y = _design(position[inside], free), lift[inside]
    first = _fitted(design, y, np.ones(free + 5), FIRST_FACTOR, reading)
    padded = np.concatenate([np.zeros(5), first.coefficients, np.zeros(5)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 6)
    jerk = np.sum((windows @ _jerk_block()) * windows, axis=1)
    apart = np.subtract.outer(np.arange(free + 5.0), np.arange(free + 5.0)) * (width / REACH)
    kernel = np.exp(-0.5 * apart**2)
    around = kernel @ jerk / kernel.sum(axis=1)
    return _fitted(design, y, 1.0 / (around / around.mean() + LEAST_JERK), DERIVATIVE_FACTOR, reading)


def _design(position: FloatArray, free: int) -> FloatArray:
    """Value of every free B-spline at positions in pieces, shape [n, free]."""
    piece = np.minimum(position.astype(int), free + 4)
    local = (position - piece)[:, np.newaxis] ** np.arange(5, -1, -1)
    design = np.zeros((position.size, free + 10))
    np.put_along_axis(design, piece[:, np.newaxis] + np.arange(6), local @ piece_matrix().T, axis=1)
    return design[:, 5:-5]


def _fitted(
    design: FloatArray, y: FloatArray, weights: FloatArray, factor: float, reading: float
) -> SmoothedTable:
    """One pass, jerk squared weighed by `weights` at each piece, shape [free + 5]."""
    free = design.shape[1]
    penalty = np.zeros((free + 10, free + 10))
    for k, weight in enumerate(weights):
        penalty[k : k + 6, k : k + 6] += weight * _jerk_block()
    penalty = penalty[5:-5, 5:-5]
    gram = design.T @ design
    # Rough scale that brings both parts to one size; the choice below spans 20 decades about it.
    scale = float(np.trace(gram) / np.trace(penalty)) * 1e-3
    roughness, vectors = eigh(scale * penalty, gram + scale * penalty)
    roughness = np.clip(roughness, 1e-16, 1.0)
    seen = vectors.T @ (design.T @ y)
    multiple = np.logspace(-10, 12, 221)[:, np.newaxis]
    denominator = 1 - roughness + multiple * roughness
    misfit = np.maximum(y @ y - np.sum(seen**2 / denominator, axis=1), 1e-18 * float(y @ y))
    misfit = misfit + y.size * reading**2
    likelihood = y.size * np.log(misfit) + np.sum(np.log(denominator) - np.log(multiple), axis=1)
    best = int(np.argmin(likelihood))
    residual = y - design @ (vectors @ (seen / denominator[best]))
    freedom = float(np.sum((1 - roughness) / denominator[best]))
    noise = float(np.sqrt(residual @ residual / max(y.size - freedom, 1.0)))
    smoother = 1 - roughness + factor * multiple[best] * roughness
    # Covariance of the random-effects model: what noise moves, and what smoothing rounds off on average
    # (D. Nychka, Journal of the American Statistical Association 83 (1988), memory).
    edges = _design(np.arange(free + 6.0), free) @ vectors
    doubt = np.sqrt(np.sum(edges**2 / denominator[best], axis=1))
    rounded = edges @ (seen / denominator[best] - seen / smoother)
    noise = max(noise, reading)
    return SmoothedTable(vectors @ (seen / smoother), noise, y.size - freedom, doubt, rounded)
