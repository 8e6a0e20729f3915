"""One option for every valve: least cost, then least spread, then fewest shims, exactly.

While no kind of shim runs short each valve is chosen by itself for cost, and the least spread is the
narrowest window of loads that holds an option of every valve. When a kind runs short all valves are tied
together, and the same three aims are solved one after another as integer programs by HiGHS
(`scipy.optimize.milp`). Where the time for that is bounded, the best answer found by then is kept.
"""

import time

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["NO_OPTION", "selected_options"]

NO_OPTION = -1
# Costs and loads that differ by less than this part of the largest are equal: ten times what the solver
# itself tells apart, because a limit as tight as its own accuracy can make it fail.
EQUAL = 1e-5
Choice = NDArray[np.int64]


def selected_options(
    allowed: BoolArray,
    cost: FloatArray,
    deviation: FloatArray,
    counts: NDArray[np.int64],
    available: FloatArray,
    *,
    seconds: float = np.inf,
) -> tuple[Choice, Choice, bool]:
    """Choose one option a valve.

    Args:
        allowed: option is within the limits, shape [valves, options].
        cost: >= 0, shape [valves, options].
        deviation: load less its target, whose range over the set is the spread, shape [valves, options].
        counts: shims of each kind that an option takes, shape [options, kinds].
        available: shims of each kind, infinite where unlimited, shape [kinds].
        seconds: most time for the integer programs.

    Returns:
        (chosen, wished, proved): option of each valve or `NO_OPTION`, shape [valves]; `wished` is what would
        be chosen with an unlimited stock; `proved` is False where the time ran out.
    """
    wished = _unlimited(allowed, cost, deviation, counts.sum(axis=1))
    used = counts[wished[wished >= 0]].sum(axis=0)
    if np.all(used <= available):
        return wished, wished, True
    chosen, proved = _limited(allowed, cost, deviation, counts, available, seconds)
    return chosen, wished, proved


def _unlimited(allowed: BoolArray, cost: FloatArray, deviation: FloatArray, shims: Choice) -> Choice:
    chosen = np.full(allowed.shape[0], NO_OPTION, np.int64)
    valves = np.flatnonzero(allowed.any(axis=1))
    if not valves.size:
        return chosen
    price = np.where(allowed, cost, np.inf)[valves]
    least = price.min(axis=1, keepdims=True)
    open_options = price <= least + 1e-9 * np.abs(deviation[valves][allowed[valves]]).max()
    loads = deviation[valves]
    row, column = np.nonzero(open_options)
    order = np.argsort(loads[row, column], kind="stable")
    row, column = row[order], column[order]
    value = loads[row, column]
    ends = _window_ends(row, valves.size)
    starts = np.flatnonzero(ends < row.size)
    widths = value[ends[starts]] - value[starts]
    slack = 1e-9 * max(float(np.ptp(value)), 1e-300)
    best: tuple[int, Choice] | None = None
    for start in starts[widths <= widths.min() + slack]:
        top = value[start] + widths.min() + slack
        fits = open_options & (loads >= value[start]) & (loads <= top)
        if not fits.any(axis=1).all():
            continue
        pick = np.where(fits, shims[np.newaxis, :], np.iinfo(np.int64).max).argmin(axis=1)
        total = int(shims[pick].sum())
        if best is None or total < best[0]:
            best = (total, pick)
    assert best is not None  # the narrowest window itself always fits
    chosen[valves] = best[1]
    return chosen


def _window_ends(row: Choice, valves: int) -> Choice:
    """For each start in the sorted options, the first end by which every valve has appeared."""
    ends = np.full(row.size, row.size, np.int64)
    seen, missing, end = [0] * valves, valves, -1
    rows = row.tolist()
    for start, leaving in enumerate(rows):
        while missing and end + 1 < len(rows):
            end += 1
            seen[rows[end]] += 1
            missing -= seen[rows[end]] == 1
        if missing:
            break
        ends[start] = end
        seen[leaving] -= 1
        missing += seen[leaving] == 0
    return ends


def _narrowest_window(row: Choice, load: FloatArray) -> tuple[float, float]:
    """The narrowest window of loads in which every valve of `row` has an option, stock left aside."""
    order = np.argsort(load, kind="stable")
    _, valve = np.unique(row[order], return_inverse=True)
    value = load[order]
    ends = _window_ends(valve, int(valve.max()) + 1)
    starts = np.flatnonzero(ends < row.size)
    start = starts[np.argmin(value[ends[starts]] - value[starts])]
    return float(value[start]), float(value[ends[start]])


def _limited(
    allowed: BoolArray,
    cost: FloatArray,
    deviation: FloatArray,
    counts: NDArray[np.int64],
    available: FloatArray,
    seconds: float,
) -> tuple[Choice, bool]:
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array, hstack, vstack

    valves = allowed.shape[0]
    row, column = np.nonzero(allowed)
    options = row.size
    # Unknowns: every allowed option, "valve left out" for each valve, highest and lowest deviation.
    size = options + valves + 2
    left_out = slice(options, options + valves)
    load_scale = max(float(np.abs(deviation[row, column]).max()), 1e-300)
    load = deviation[row, column] / load_scale
    price = cost[row, column] / max(float(cost[row, column].max()), 1e-300)

    of_valve = csr_array((np.ones(options), (row, np.arange(options))), shape=(valves, options))
    at_load = csr_array((load, (row, np.arange(options))), shape=(valves, options))
    one = csr_array(np.eye(valves))
    empty = csr_array((valves, 1))
    ones = csr_array(np.ones((valves, 1)))
    kinds = np.flatnonzero(np.isfinite(available))
    takes = csr_array(counts[column][:, kinds].T.astype(float))
    rules = [
        LinearConstraint(hstack([of_valve, one, empty, empty]), 1.0, 1.0),
        LinearConstraint(hstack([takes, csr_array((kinds.size, valves + 2))]), -np.inf, available[kinds]),
        # highest >= each load and lowest <= each load; a valve left out binds neither (loads are -1 to 1).
        LinearConstraint(
            vstack([hstack([-at_load, 2.0 * one, ones, empty]), hstack([at_load, 2.0 * one, empty, -ones])]),
            0.0,
            np.inf,
        ),
    ]
    lower, upper = np.zeros(size), np.ones(size)
    lower[-2:] = -1.0
    whole = np.ones(size)
    whole[-2:] = 0.0

    deadline = time.monotonic() + seconds
    start = _in_turn(allowed, cost, counts, available)
    best = np.zeros(size)
    best[:options] = start[row] == column
    best[left_out] = start == NO_OPTION
    proved = True

    def tight(answer: FloatArray) -> FloatArray:
        """Whole numbers made whole, and the two ends of the spread put on the loads taken."""
        whole_answer = np.round(answer)
        taken = load[whole_answer[:options] == 1.0]
        whole_answer[-2:] = (taken.max(), taken.min()) if taken.size else (0.0, 0.0)
        return whole_answer

    def solved(objective: FloatArray) -> FloatArray | None:
        """Best answer found in time; None where none was found."""
        nonlocal proved
        left = deadline - time.monotonic()
        if left <= 0.0:
            proved = False
            return None
        limited = {"time_limit": left} if np.isfinite(left) else {}
        result = milp(
            objective,
            constraints=rules,
            bounds=Bounds(lower, upper),
            integrality=whole,
            options={"mip_rel_gap": 0.0, **limited},
        )
        proved &= result.status == 0
        if result.x is None and not limited:
            raise RuntimeError(f"the shim plan could not be solved: {result.message}")
        return None if result.x is None else np.asarray(result.x, float)

    def improved(answer: FloatArray, objective: FloatArray) -> FloatArray:
        """The better of the answer and what the solver finds from the same rules."""
        found = solved(objective)
        if found is None or objective @ tight(found) > objective @ answer:
            return answer
        return tight(found)

    best = tight(best)
    aim = np.zeros(size)
    # Each cost is at most 1: one more valve left out always weighs more than all costs together.
    aim[left_out] = valves + 1.0
    aim[:options] = price
    best = improved(best, aim)
    missing, costs = np.zeros(size), np.zeros(size)
    missing[left_out] = 1.0
    costs[:options] = price
    rules.append(LinearConstraint(missing[np.newaxis], -np.inf, float(missing @ best)))
    rules.append(LinearConstraint(costs[np.newaxis], -np.inf, float(costs @ best) + EQUAL))
    spread = np.zeros(size)
    spread[-2:] = 1.0, -1.0
    if float(missing @ best) == float(np.sum(~allowed.any(axis=1))):
        # Every valve that has an option gets one: no plan is narrower than the narrowest window without
        # regard to the stock, and none need be wider than one found at once by nearness to that window.
        # Options too far from loads that some valve must have are then out of the question.
        low, high = _narrowest_window(row, load)
        near = np.zeros(size)
        near[:options] = np.maximum(np.maximum(load - high, low - load), 0.0)
        nearest = solved(near)
        if nearest is not None and spread @ tight(nearest) < spread @ best:
            best = tight(nearest)
        room = float(spread @ best) + EQUAL
        each = [load[row == valve] for valve in np.unique(row)]
        must_reach, must_keep = max(own.min() for own in each), min(own.max() for own in each)
        upper[:options][(load > must_keep + room) | (load < must_reach - room)] = 0.0
        rules.append(LinearConstraint(spread[np.newaxis], high - low - EQUAL, room))
    best = improved(best, spread)
    rules.append(LinearConstraint(spread[np.newaxis], -np.inf, float(spread @ best) + EQUAL))
    fewest = np.zeros(size)
    fewest[:options] = counts[column].sum(axis=1)
    best = improved(best, fewest)
    taken = np.flatnonzero(best[:options] == 1.0)
    chosen = np.full(valves, NO_OPTION, np.int64)
    chosen[row[taken]] = column[taken]
    return chosen, proved


def _in_turn(
    allowed: BoolArray, cost: FloatArray, counts: NDArray[np.int64], available: FloatArray
) -> Choice:
    """A plan that the stock allows, found at once: valves with the fewest options choose first."""
    chosen = np.full(allowed.shape[0], NO_OPTION, np.int64)
    left = available.copy()
    for valve in np.argsort(allowed.sum(axis=1), kind="stable"):
        fits = allowed[valve] & (counts <= left).all(axis=1)
        if fits.any():
            chosen[valve] = np.where(fits, cost[valve], np.inf).argmin()
            left -= counts[chosen[valve]]
    return chosen
