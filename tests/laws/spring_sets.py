"""Invented sets of springs, valves and a drawer of shims, and the best plan of each by another way.

The search here walks through the valves one by one. What the rest can still come to at best, for every set of
springs left and every content of the drawer, is a table worked out beforehand from the last valve to the
first; heights against the middle of their role are judged when a plan is complete.
"""

import itertools

import numpy as np

from valvetrain.mechanics.spring.placing_heights import HeightLimits
from valvetrain.mechanics.spring.placing_options import NONE, OK, OUT, UNSURE, PlacingOptions

__all__ = ["best_of_all", "random_set"]

IN, LBF = 0.0254, 4.4482216152605
EQUAL = 2e-3
THICKNESS = np.array([0.015, 0.030, 0.060]) * IN


def random_set(seed):
    """Options, drawer, roles and limits on heights of two to eight valves."""
    random = np.random.default_rng(seed)
    n = int(random.integers(2, 9))
    springs = n if n == 8 else n + int(random.integers(0, 2))
    every = itertools.product(range(5), repeat=3)
    stacks = np.array([s for s in every if sum(s) <= 4 and np.dot(s, THICKNESS) <= 0.0600001 * IN])
    most = (n // 2 + 2, n // 2 + 2, n // 4 + 2)
    available = np.array([random.integers(0, each) for each in most], float)
    height = np.round(random.normal(1.63, 0.012, n), 3) * IN
    load, rate = random.normal(80, 4, springs), random.normal(205, 6, springs)
    if n < 5:  # round loads, so that ties are common
        load, rate = np.round(load), np.round(rate / 5) * 5
    lift = np.where(np.arange(n) % 2, 0.37, 0.38) * IN
    valve, spring, stack = (
        each.ravel() for each in np.meshgrid(range(n), range(springs), range(len(stacks)), indexing="ij")
    )
    stands = height[valve] - (stacks @ THICKNESS)[stack]
    seat = (load[spring] + rate[spring] * (1.6 - stands / IN)) * LBF
    opened = seat + rate[spring] * LBF * lift[valve] / IN
    bind = stands - lift[valve] - 1.165 * IN
    low, high, doubt = 70 * LBF, 92 * LBF, 0.02 * seat
    out = (seat < low) | (seat > high) | (bind < 0.050 * IN)
    unsure = (seat - doubt < low) | (seat + doubt > high) | (bind < 0.052 * IN)
    verdict = np.where(out, OUT, np.where(unsure, UNSURE, OK))
    keep = ~out | (stacks[stack].sum(axis=1) == 0)
    distance = np.abs(seat - 80 * LBF)
    options = PlacingOptions(
        valve[keep],
        spring[keep],
        stacks[stack[keep]],
        stands[keep],
        np.where(out, np.nan, seat)[keep],
        np.where(out, np.nan, opened)[keep],
        distance[keep],
        (distance > doubt)[keep],
        verdict[keep],
        (stacks[stack].sum(axis=1) > 0)[keep],
    )
    room = {2: 0.012, 3: 0.012, 4: 0.012, 5: 0.025, 6: 0.025}.get(n, 0.050) * IN
    heights = HeightLimits(-room, room, np.full(n, 0.002 * IN if seed % 2 else 0.0))
    return options, available, np.arange(n) % 2, heights


def best_of_all(options, available, roles, heights):
    """What each aim comes to at best: no spring, out, faults, unsure, distance, ranges, shims."""
    n, springs = roles.size, int(options.spring.max()) + 1
    own = [np.flatnonzero(options.valve == each) for each in range(n)]
    weight = 1e6 * np.array([(3.0 * n + 1) ** power for power in (3, 2, 1, 0)])
    cost = options.distance + np.select(
        [options.verdict == NONE, options.verdict == OUT, options.verdict == UNSURE],
        [weight[:3].sum(), weight[1:3].sum(), weight[3]],
        0.0,
    )
    rest = _rest(options, available, own, cost, springs)
    best = None

    def walk(valve, taken, left, spent, picked):
        nonlocal best
        if valve == n:
            score = _score(options, np.array(picked), roles, heights)
            if best is None or _less(score, best):
                best = score
            return
        for each in own[valve][np.argsort(cost[own[valve]], kind="stable")]:
            mark = 1 << int(options.spring[each])
            remains = left - options.shims[each]
            if taken & mark or (remains < 0).any():
                continue
            least = spent + cost[each] + rest[valve + 1][(taken | mark, *remains.astype(int))]
            if best is not None:
                reached = weight @ np.array([best[0], best[1], best[2], best[3]]) + best[4]
                if least > reached + 2 * EQUAL:
                    continue
            walk(valve + 1, taken | mark, remains, spent + cost[each], [*picked, each])

    walk(0, 0, available.copy(), 0.0, [])
    return best


def _rest(options, available, own, cost, springs):
    """Least cost of the valves from each on: [springs taken, shims left of each kind]."""
    size = tuple(int(each) + 1 for each in available)
    masks = np.arange(1 << springs)
    rest = [np.zeros((1 << springs, *size))]
    for options_here in reversed(own):
        table = np.full((1 << springs, *size), np.inf)
        for each in options_here:
            used = options.shims[each]
            if any(used >= size):
                continue
            mark = 1 << int(options.spring[each])
            free = masks[(masks & mark) == 0]
            after = rest[0][free | mark][
                (slice(None), *(slice(0, total - number) for total, number in zip(size, used, strict=True)))
            ]
            here = table[(slice(None), *(slice(number, None) for number in used))]
            here[free] = np.minimum(here[free], cost[each] + after)
        rest.insert(0, table)
    return rest


def _score(options, picked, roles, heights):
    stands, verdict = options.height[picked], options.verdict[picked]
    low = np.array([np.median(stands[roles == role]) for role in roles])
    room = np.minimum(stands - low - heights.low, heights.high - stands + low) + 1e-9
    apart = room < 0
    worst = np.where(apart, OUT, np.where(room < heights.doubt, np.maximum(verdict, UNSURE), verdict))
    worst = np.maximum(worst, verdict)
    faults = np.where(apart, np.where(options.lowers[picked], 3, 1), 0).sum() + (verdict >= OUT).sum()
    ranges = 0.0
    for role in set(roles):
        for load in (options.seat_load, options.open_load):
            known = load[picked][roles == role]
            known = known[~np.isnan(known)]
            ranges += np.ptp(known) if known.size else 0.0
    counts = ((verdict == NONE).sum(), (worst >= OUT).sum(), faults, (worst == UNSURE).sum())
    return (*counts, options.distance[picked].sum(), ranges, options.shims[picked].sum())


def _less(one, other):
    for left, right in zip(one, other, strict=True):
        if abs(left - right) > EQUAL:
            return left < right
    return False
