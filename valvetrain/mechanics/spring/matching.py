"""Which measured spring goes on which valve, so that the loads of the set come out even.

`loads[valve, spring]` is the load of that spring at that valve's height. The assignments themselves are
scipy's: bipartite matching (Hopcroft and Karp) and the linear assignment problem.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["NO_SPRING", "SpringMatch", "closest_matching", "least_spread_matching"]

NO_SPRING = -1
Assignment = NDArray[np.int64]


@dataclass(frozen=True)
class SpringMatch:
    """A spring for each valve.

    Attributes:
        spring: index of the spring, `NO_SPRING` for a valve left without one, shape [valves].
        load: its load there [N], NaN without a spring, shape [valves].
        spread: highest less lowest load less target [N]; NaN with no valve matched.
    """

    spring: Assignment
    load: FloatArray
    spread: float


def least_spread_matching(loads: ArrayLike, target: ArrayLike = 0.0) -> SpringMatch:
    """Match so that highest less lowest load is least; among those, nearest together in sum of squares.

    Args:
        loads: [N], shape [valves, springs], springs at least as many as valves; NaN forbids that pair
            (untested spring, unmeasured height, or a clearance that it would not keep).
        target: subtracted before loads are compared, where valves want different loads [N], shape [valves].

    Returns:
        the match. Valves with no known load at all are left out; the others are all matched.

    Raises:
        ValueError: where the known pairs cannot give every other valve a spring of its own.
    """
    table, rows = _known(loads, target)
    if not rows.size:
        return _match(np.asarray(loads, float), rows, np.zeros(0, np.int64), target)
    low, high = _narrowest_window(table)
    inside = (table >= low) & (table <= high)
    middle = 0.5 * (low + high)
    columns = _assigned(np.where(inside, (table - middle) ** 2, np.inf))
    return _match(np.asarray(loads, float), rows, columns, target)


def closest_matching(loads: ArrayLike, target: ArrayLike) -> SpringMatch:
    """Match so that the sum of |load - target| over the valves is least; arguments as above."""
    table, rows = _known(loads, target)
    columns = _assigned(np.where(np.isnan(table), np.inf, np.abs(table)))
    return _match(np.asarray(loads, float), rows, columns, target)


def _known(loads: ArrayLike, target: ArrayLike) -> tuple[FloatArray, Assignment]:
    """Deviations of the valves that have any known load, and which valves these are."""
    table = np.asarray(loads, float)
    if table.ndim != 2:
        raise ValueError(f"loads of shape {table.shape} given: needed is a row a valve, a column a spring.")
    deviation = table - np.broadcast_to(np.asarray(target, float), table.shape[:1])[:, np.newaxis]
    rows = np.flatnonzero(np.isfinite(deviation).any(axis=1))
    known = deviation[rows]
    if _matched(np.isfinite(known)) < rows.size:
        raise ValueError(
            f"{rows.size} valves cannot each be given a spring of their own: too few springs are measured "
            "or allowed."
        )
    return np.where(np.isfinite(known), known, np.nan), rows


def _matched(allowed: NDArray[np.bool_]) -> int:
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_bipartite_matching

    if not allowed.size:
        return 0
    return int(np.sum(maximum_bipartite_matching(csr_array(allowed), perm_type="column") >= 0))


def _assigned(cost: FloatArray) -> Assignment:
    from scipy.optimize import linear_sum_assignment

    if not cost.size:
        return np.zeros(0, np.int64)
    return np.asarray(linear_sum_assignment(cost)[1], np.int64)


def _narrowest_window(table: FloatArray) -> tuple[float, float]:
    """The narrowest [low, high] in which every valve can have a spring of its own.

    Two ends move up through the sorted loads. Windows in which some valve has no load at all are passed
    over by arithmetic, and so are those no narrower than the best known; only the rest are matched.
    """
    valves = table.shape[0]
    values = np.unique(table[np.isfinite(table)])
    ordered = np.sort(np.where(np.isnan(table), np.inf, table), axis=1)
    # A first good window: near the median in squares, which is often the narrowest or close to it.
    center = float(np.median(values))
    first = _assigned(np.where(np.isnan(table), np.inf, (table - center) ** 2))
    chosen = table[np.arange(valves), first]
    best = (float(chosen.min()), float(chosen.max()))
    for low in values:
        # Least end at which each valve has a load in the window.
        position = np.sum(ordered < low, axis=1)
        if np.any(position >= table.shape[1]):
            break
        least = float(ordered[np.arange(valves), position].max())
        if not np.isfinite(least):
            break
        # Narrow this window as long as it beats the best: halving over the ends between the two bounds.
        ends = values[(values >= least) & (values - low < best[1] - best[0])]
        if not ends.size or _matched((table >= low) & (table <= ends[-1])) < valves:
            continue
        below, above = -1, ends.size - 1
        while above - below > 1:
            middle = (below + above) // 2
            if _matched((table >= low) & (table <= ends[middle])) == valves:
                above = middle
            else:
                below = middle
        best = (float(low), float(ends[above]))
    return best


def _match(loads: FloatArray, rows: Assignment, columns: Assignment, target: ArrayLike) -> SpringMatch:
    spring = np.full(loads.shape[0], NO_SPRING, np.int64)
    spring[rows] = columns
    load = np.full(loads.shape[0], np.nan)
    load[rows] = loads[rows, columns]
    deviation = (load - np.asarray(target, float))[rows]
    return SpringMatch(spring, load, float(np.ptp(deviation)) if rows.size else np.nan)
