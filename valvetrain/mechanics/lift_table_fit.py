"""A smooth lift curve from a table of dial readings: periodic smoothing spline, smoothing from the noise.

Uniform B-splines of degree five on the whole turn, least squares plus a multiple of the integral of jerk
squared. The multiple is `DERIVATIVE_FACTOR` times that of greatest marginal likelihood of the readings
(restricted maximum likelihood of the equivalent random-effects model: G. Wahba, *Annals of Statistics* 13
(1985), "generalized maximum likelihood"; S. N. Wood, *Generalized Additive Models*; memory), which, unlike
cross-validation, seldom undersmooths a short table.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from scipy.interpolate import BSpline, PPoly
from scipy.linalg import eigh

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.lift_curve import LiftCurve, lift_curve_from_pieces

__all__ = ["LEAST_ROWS", "lift_curve_from_table"]

LEAST_ROWS = 8
"""Fewest readings that a curve is fitted to."""

SURE_BASE = np.radians(115.0)
"""Farther than this from the nose every lobe here considered is on its base circle [cam rad] (common
practice, no source: solid-tappet lobes last up to about 230 cam degrees, ramps included)."""

BASE_MARGIN = np.radians(6.0)
"""The curve may leave zero this long before the readings visibly do [cam rad]."""


DERIVATIVE_FACTOR = 8.0
"""The best smoothing for lift is too little for acceleration; this much more of it gave the least error of
peak acceleration over noisy tables of all motion laws without harm to durations (own trial, no source)."""


@dataclass(frozen=True)
class _Base:
    """The base circle as the readings show it, and the part of the turn where the lobe may be."""

    offset: float
    runout: float
    start: float
    end: float


def lift_curve_from_table(angle: ArrayLike, lift: ArrayLike) -> LiftCurve:
    """Fit a lift curve to readings over one cam revolution.

    Args:
        angle: cam angle of each reading [cam rad], rising, spanning one turn at most, shape [n], n >= 8;
            any spacing. The last may be the first a turn on.
        lift: tappet lift read [m], shape [n]. A reading on the base circle need not be zero.

    Returns:
        `LiftCurve`, exactly 0 on the base circle. With readings all round, the mean of those on the base
        circle is taken off (`zero_offset`) and their once-per-turn part reported (`runout`), not removed
        from the lobe. A table of the lobe alone is taken as zeroed, the base circle lying between its ends.

    Raises:
        ValueError: too few rows, unequal lengths, a NaN or infinity, angles not rising or more than a turn,
            or no lift. `lift_table_faults.table_faults` says more, row by row.
    """
    x, y = np.asarray(angle, float), np.asarray(lift, float)
    _refuse(x, y)
    base = _base_circle(x, y)
    zeroed = y - base.offset
    step = float(np.median(np.diff(x)))
    pieces = int(np.clip(round(2 * pi / step), 144, 240))
    origin, width = base.start, 2 * pi / pieces
    span = (base.end - base.start) / width
    # Coefficient j spans pieces j .. j+5: all of its support must lie where the lobe may be.
    free = int(np.ceil(span)) - 5
    position = np.mod(x - origin, 2 * pi) / width
    fit = _smoothed(position, zeroed, free)
    full = np.zeros((6, pieces))
    padded = np.concatenate([np.zeros(5), fit.coefficients, np.zeros(5)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 6)
    powers = width ** -np.arange(5.0, -1.0, -1.0)
    full[:, : free + 5] = (windows @ _piece_matrix()).T * powers[:, np.newaxis]
    breakpoints: FloatArray = origin + width * np.arange(pieces + 1.0)
    fitted = PPoly(full, breakpoints)(origin + np.mod(x - origin, 2 * pi))
    return lift_curve_from_pieces(
        breakpoints,
        full,
        "table",
        noise=fit.noise,
        lift_uncertainty=fit.noise * np.sqrt(min(1.0, fit.freedom / fit.used)),
        zero_offset=base.offset,
        runout=base.runout,
        base_start=origin + width * (free + 5),
        base_end=origin,
        table_angle=x,
        residuals=zeroed - fitted,
    )


def _refuse(x: FloatArray, y: FloatArray) -> None:
    """Raise ValueError for a table that no curve can be fitted to."""
    if x.ndim != 1 or x.shape != y.shape:
        raise ValueError(f"angle has shape {x.shape}, lift {y.shape}; both must be one column of one length")
    if x.size < LEAST_ROWS:
        raise ValueError(f"the lift table has {x.size} rows; at least {LEAST_ROWS} are needed")
    bad = np.flatnonzero(~(np.isfinite(x) & np.isfinite(y)))
    if bad.size:
        raise ValueError(f"lift table row {bad[0]} is not a finite number")
    falling = np.flatnonzero(np.diff(x) <= 0)
    if falling.size:
        raise ValueError(f"the angle does not rise from row {falling[0]} to row {falling[0] + 1}")
    if x[-1] - x[0] > 2 * pi * (1 + 1e-9):
        turn = np.degrees(x[-1] - x[0])
        raise ValueError(f"the table spans {turn:.1f} degrees; a cam revolution has 360 cam degrees")
    if not np.ptp(y) > 0:
        raise ValueError("the lift table shows no lift at all")


def _base_circle(x: FloatArray, y: FloatArray) -> _Base:
    """Offset and runout of the base circle, and where the lobe starts and ends."""
    middle = _rough_center(x, y)
    off = np.mod(x - middle + pi, 2 * pi) - pi
    sure = np.abs(off) > SURE_BASE
    offset, runout, noise, swing = 0.0, np.nan, 0.0, 0.0
    before, after = bool(np.any(off < -SURE_BASE)), bool(np.any(off > SURE_BASE))
    if sure.sum() >= 3 and before and after:
        offset = float(np.median(y[sure]))
        left = y[sure] - offset
        if sure.sum() >= 8:
            wave = np.column_stack([np.ones(left.size), np.cos(off[sure]), np.sin(off[sure])])
            solved = np.linalg.lstsq(wave, left, rcond=None)[0]
            swing = float(np.hypot(solved[1], solved[2]))
            noise = 1.4826 * float(np.median(np.abs(left - wave @ solved)))
            # The part of a sine seen on less than half a turn is told from noise only when it is large.
            share = np.sqrt(np.diag(np.linalg.inv(wave.T @ wave)))
            seen = swing > 4 * noise * float(np.hypot(share[1], share[2])) and swing > 0
            runout = 2 * swing if seen else 0.0
            swing = swing if seen else 0.0
            offset += float(solved[0]) if seen else float(np.mean(left[np.abs(left) <= 3 * noise]))
    height = float(np.max(y)) - offset
    tolerance = max(3.5 * noise + 2 * swing, 3e-5 * height)
    order = np.argsort(off)
    off, low = off[order], (y[order] - offset) <= tolerance
    edges = []
    for sign in (-1.0, 1.0):
        away = sign * off
        # The lobe's end: the nearest reading on the base circle beyond which all others are, too.
        raised = away[(~low) & (away > 0) & (away <= SURE_BASE)]
        end = float(raised.max()) if raised.size else 0.0
        beyond = away[low & (away > end)]
        edges.append(min((float(beyond.min()) if beyond.size else end) + BASE_MARGIN, np.radians(175.0)))
    return _Base(offset, runout, middle - edges[0], middle + edges[1])


def _rough_center(x: FloatArray, y: FloatArray) -> float:
    """Middle of the readings above half lift, found as a direction so that wrap-around does no harm."""
    level = 0.5 * (np.max(y) + np.min(y))
    weight = np.where(y > level, y - level, 0.0)
    # Unequal spacing: each reading stands for the angle up to its neighbours.
    around = np.diff(np.concatenate([[x[-1] - 2 * pi], x, [x[0] + 2 * pi]]))
    weight *= np.minimum(around[:-1] + around[1:], np.radians(20.0))
    return float(np.angle(np.sum(weight * np.exp(1j * x))))


@lru_cache(maxsize=1)
def _piece_matrix() -> FloatArray:
    """Powers (highest first) of a piece's polynomial for each of its six coefficients, [6, 6]."""
    element = PPoly.from_spline(BSpline.basis_element(np.arange(7.0), extrapolate=False))
    inside = [int(np.searchsorted(element.x, k + 0.5)) - 1 for k in range(6)]
    # Coefficient j is in its piece number 5 - row for row j of the window.
    matrix: FloatArray = np.array([element.c[:, inside[5 - row]] for row in range(6)])
    return matrix


@dataclass(frozen=True)
class _Fit:
    coefficients: FloatArray
    noise: float
    freedom: float
    used: int


def _smoothed(position: FloatArray, lift: FloatArray, free: int) -> _Fit:
    """Coefficients of the lobe part, `position` in pieces from where the lobe may start."""
    inside = position < free + 5
    t, y = position[inside], lift[inside]
    piece = np.minimum(t.astype(int), free + 4)
    local = (t - piece)[:, np.newaxis] ** np.arange(5, -1, -1)
    design = np.zeros((y.size, free + 10))
    np.put_along_axis(design, piece[:, np.newaxis] + np.arange(6), local @ _piece_matrix().T, axis=1)
    design = design[:, 5:-5]
    jerk = _piece_matrix()[:, :3] * np.array([60.0, 24.0, 6.0])
    moments = 1.0 / (np.array([2, 1, 0])[:, np.newaxis] + np.array([2, 1, 0]) + 1)
    block = jerk @ moments @ jerk.T
    penalty = np.zeros((free + 10, free + 10))
    for k in range(free + 5):
        penalty[k : k + 6, k : k + 6] += block
    penalty = penalty[5:-5, 5:-5]
    gram = design.T @ design
    # Rough scale that brings both parts to one size; the choice below spans 20 decades about it.
    scale = float(np.trace(gram) / np.trace(penalty)) * 1e-3
    roughness, vectors = eigh(scale * penalty, gram + scale * penalty)
    roughness = np.clip(roughness, 1e-16, 1.0)
    seen = vectors.T @ (design.T @ y)
    weight = np.logspace(-10, 12, 221)[:, np.newaxis]
    denominator = 1 - roughness + weight * roughness
    misfit = np.maximum(y @ y - np.sum(seen**2 / denominator, axis=1), 1e-18 * float(y @ y))
    likelihood = y.size * np.log(misfit) + np.sum(np.log(denominator) - np.log(weight), axis=1)
    best = int(np.argmin(likelihood))
    residual = y - design @ (vectors @ (seen / denominator[best]))
    freedom = float(np.sum((1 - roughness) / denominator[best]))
    noise = float(np.sqrt(residual @ residual / max(y.size - freedom, 1.0)))
    smoother = 1 - roughness + DERIVATIVE_FACTOR * weight[best] * roughness
    coefficients = vectors @ (seen / smoother)
    return _Fit(coefficients, noise, float(np.sum((1 - roughness) / smoother)), y.size)
