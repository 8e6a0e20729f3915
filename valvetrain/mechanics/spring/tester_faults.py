"""What is wrong with the load-height readings of one spring, in sentences that name the reading."""

import itertools
from collections.abc import Callable

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike

__all__ = ["HIGH_RATE", "LOW_RATE", "load_test_faults"]

# Rates of valve springs, single or sets, from a light checking spring to a racing triple: about 5 to
# 1500 lbf/in. Common practice, no source; wide, so that only a wrong unit falls outside.
LOW_RATE, HIGH_RATE = 900.0, 260e3
# No valve spring stands lower or taller. Common practice, no source.
LEAST_HEIGHT, GREATEST_HEIGHT = 0.012, 0.15


def _millimetres(value: float) -> str:
    return f"{value * 1e3:g} mm"


def _newtons(value: float) -> str:
    return f"{value:g} N"


def _stiffness(value: float) -> str:
    return f"{value / 1e3:.3g} N/mm"


def load_test_faults(
    height: ArrayLike,
    load: ArrayLike,
    *,
    length: Callable[[float], str] = _millimetres,
    force: Callable[[float], str] = _newtons,
    stiffness: Callable[[float], str] = _stiffness,
) -> list[tuple[int, str]]:
    """Faults of one spring's readings as (row, sentence), row counted from 0; empty if there are none.

    Args:
        height: [m], shape [readings]; NaN where not read.
        load: [N], shape [readings]; NaN where not read.
        length, force, stiffness: write a value [SI] with its unit, in the units of whoever reads it.

    A fault of the spring as a whole carries the row of its last reading (0 for no reading at all). Loads
    in psi cannot be found here: the testers that are printed so show pounds-force all the same, the number
    is right. Rows with a missing number count as not there.

    Raises:
        ValueError: where the two are not lists of the same length.
    """
    h, f = np.asarray(height, float), np.asarray(load, float)
    if h.ndim != 1 or h.shape != f.shape:
        raise ValueError(f"heights {h.shape} and loads {f.shape} must be two lists of the same length.")
    faults: list[tuple[int, str]] = []
    for row in np.flatnonzero(~(h > 0.0) & ~np.isnan(h)):
        faults.append((int(row), f"the height is {length(float(h[row]))}: it must be above zero"))
    for row in np.flatnonzero((f < 0.0) | np.isinf(f)):
        faults.append((int(row), f"the load is {force(float(f[row]))}: a spring only pushes"))
    rows = np.flatnonzero((h > 0.0) & (f >= 0.0) & np.isfinite(h) & np.isfinite(f))
    last = int(rows[-1]) if rows.size else 0
    if np.unique(h[rows]).size < 2:
        if rows.size >= 2:
            faults.append((last, "every reading is at the same height: a rate needs two different heights"))
        else:
            few = f"{rows.size} reading(s), fewer than two heights"
            faults.append((last, f"{few}: a rate needs loads at two different heights"))
        return faults
    order = rows[np.argsort(h[rows], kind="stable")]
    rising = False
    for lower, upper in itertools.pairwise(order):
        low, high = (f"{force(float(f[row]))} at {length(float(h[row]))}" for row in (lower, upper))
        if f[upper] > f[lower] and h[upper] > h[lower]:
            rising = True
            faults.append(
                (
                    int(upper),
                    f"the load rises with the height, {low} and {high}: are heights and travel mixed up, "
                    "or two readings swapped?",
                )
            )
    if rising:
        return faults
    tallest, lowest = int(order[-1]), int(order[0])
    if h[tallest] > GREATEST_HEIGHT:
        faults.append(
            (
                tallest,
                f"the height is {length(float(h[tallest]))}, taller than any valve spring stands: "
                "is it in millimetres and taken as inches?",
            )
        )
        return faults
    if h[lowest] < LEAST_HEIGHT:
        faults.append(
            (
                lowest,
                f"the height is {length(float(h[lowest]))}, lower than any valve spring stands: "
                "is it in inches and taken as millimetres, or is it the travel?",
            )
        )
        return faults
    rate = -float(np.polyfit(h[rows] - h[rows].mean(), f[rows], 1)[0])
    if not LOW_RATE <= rate <= HIGH_RATE:
        faults.append(
            (
                last,
                f"the rate comes out at {stiffness(rate)}, and valve springs have {stiffness(LOW_RATE)} to "
                f"{stiffness(HIGH_RATE)}: check the units of height and load, and each reading",
            )
        )
    return faults
