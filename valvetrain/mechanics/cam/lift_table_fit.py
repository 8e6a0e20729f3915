"""A smooth lift curve from a table of dial readings: its base circle, and the spline over the rest.

The smoothing is that of `lift_table_smoothing`.
"""

from dataclasses import dataclass
from math import pi

import numpy as np
from scipy.interpolate import PPoly

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.lift_curve import LiftCurve, lift_curve_from_pieces
from valvetrain.mechanics.cam.lift_table_smoothing import SmoothedTable, piece_matrix, smoothed

__all__ = ["LEAST_ROWS", "lift_curve_from_table"]

LEAST_ROWS = 8
"""Fewest readings that a curve is fitted to."""

SURE_BASE = np.radians(115.0)
"""Farther than this from the nose every lobe here considered is on its base circle [cam rad] (common
practice, no source: solid-tappet lobes last up to about 230 cam degrees, ramps included)."""

BASE_MARGIN = np.radians(6.0)
"""The curve may leave zero this long before the readings visibly do [cam rad]."""


@dataclass(frozen=True)
class _Base:
    """The base circle as the readings show it, and the part of the turn where the lobe may be."""

    offset: float
    runout: float
    start: float
    end: float
    rows: int
    spread: float


TOO_FEW = 0.10
"""With a base circle that was written down and not read, and fewer spare rows than this share of those that
the lobe was fitted to, the curve passes through its readings and says nothing of their noise (own trial over
laws with and without ramps, 1 to 5 degrees a row, no source)."""


def lift_curve_from_table(angle: ArrayLike, lift: ArrayLike, reading: float = 0.0) -> LiftCurve:
    """Fit a lift curve to readings over one cam revolution.

    Args:
        angle: cam angle of each reading [cam rad], rising, spanning one turn at most, shape [n], n >= 8;
            any spacing. The last may be the first a turn on.
        lift: tappet lift read [m], shape [n]. A reading on the base circle need not be zero.
        reading: standard uncertainty of a reading [m], for the noise of a table that cannot show its own.

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
    fit = smoothed(position, zeroed, free, width)
    used = int(np.sum(position < free + 5))
    if reading > 0.0 and base.rows and base.spread == 0.0 and fit.spare < TOO_FEW * used:
        fit = smoothed(position, zeroed, free, width, reading)
    full = np.zeros((6, pieces))
    padded = np.concatenate([np.zeros(5), fit.coefficients, np.zeros(5)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 6)
    powers = width ** -np.arange(5.0, -1.0, -1.0)
    full[:, : free + 5] = (windows @ piece_matrix()).T * powers[:, np.newaxis]
    breakpoints: FloatArray = origin + width * np.arange(pieces + 1.0)
    # Where the base circle was read its mean is unsure, too, and with it every lift.
    noise = _pooled_noise(fit, base)
    level = noise / np.sqrt(base.rows) if base.rows else 0.0
    doubt = np.full(pieces + 1, level)
    doubt[: free + 6] = np.sqrt((fit.doubt * noise) ** 2 + fit.rounded**2 + level**2)
    fitted = PPoly(full, breakpoints)(origin + np.mod(x - origin, 2 * pi))
    return lift_curve_from_pieces(
        breakpoints,
        full,
        "table",
        noise=noise,
        lift_uncertainty=float(np.sqrt(np.mean(doubt[: free + 6] ** 2))),
        lift_doubts=doubt,
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
    """Offset, runout and rows of the base circle, and where the lobe starts and ends."""
    middle = _rough_center(x, y)
    off = np.mod(x - middle + pi, 2 * pi) - pi
    sure = np.abs(off) > SURE_BASE
    offset, runout, noise, swing = 0.0, np.nan, 0.0, 0.0
    rows, spread = 0, 0.0
    before, after = bool(np.any(off < -SURE_BASE)), bool(np.any(off > SURE_BASE))
    if sure.sum() >= 3 and before and after:
        offset = float(np.median(y[sure]))
        left, rows = y[sure] - offset, int(sure.sum())
        if sure.sum() >= 8:
            wave = np.column_stack([np.ones(left.size), np.cos(off[sure]), np.sin(off[sure])])
            solved = np.linalg.lstsq(wave, left, rcond=None)[0]
            swing = float(np.hypot(solved[1], solved[2]))
            off_wave = np.abs(left - wave @ solved)
            noise = 1.4826 * float(np.median(off_wave))
            kept = off_wave[off_wave <= 4 * noise]
            spread = float(np.sqrt(np.sum(kept**2) / max(kept.size - 3, 1)))
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
    return _Base(offset, runout, middle - edges[0], middle + edges[1], rows, spread)


def _pooled_noise(fit: SmoothedTable, base: _Base) -> float:
    """Noise of the readings on lobe and base circle together.

    The smoothing was chosen to suit the lobe's readings, which makes their noise look a little small. A base
    circle that was written down as zeros, unread, must not make it smaller still.
    """
    spare = max(fit.spare, 1.0)
    more = max(base.rows - 3, 0)
    pooled = np.sqrt((fit.noise**2 * spare + base.spread**2 * more) / (spare + more))
    return float(max(fit.noise, pooled))


def _rough_center(x: FloatArray, y: FloatArray) -> float:
    """Middle of the readings above half lift, found as a direction so that wrap-around does no harm."""
    level = 0.5 * (np.max(y) + np.min(y))
    weight = np.where(y > level, y - level, 0.0)
    # Unequal spacing: each reading stands for the angle up to its neighbours.
    around = np.diff(np.concatenate([[x[-1] - 2 * pi], x, [x[0] + 2 * pi]]))
    weight *= np.minimum(around[:-1] + around[1:], np.radians(20.0))
    return float(np.angle(np.sum(weight * np.exp(1j * x))))
