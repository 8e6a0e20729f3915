"""Which pushrods to replace, by which lengths at hand; and the best single length for the whole set."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.pushrod.adjuster import exposure_change_for
from valvetrain.mechanics.pushrod.length import beyond_centers
from valvetrain.mechanics.rocker.linkage import ClosedPosition, planar_length
from valvetrain.setup.setup import Setup

__all__ = ["PushrodPlan", "lengths_at_hand", "pushrod_plan"]

# Lengths tried on either side of those wanted, where only a step is known.
_BEYOND = 3

# A pushrod this near to a length at hand is that length: half of 0.001 in [m].
_SAME = 1.27e-5


@dataclass(frozen=True)
class PushrodPlan:
    """Lengths chosen, NaN at valves that are not measured.

    Attributes:
        lengths: between ball centers of every length chosen [m], longest first; empty where none is known,
            none serves, or every pushrod may stay.
        stated: the same by the convention of the sheet [m].
        chosen: index into `lengths` at each valve, -1 where none, shape [n].
        kept: the pushrod fitted stays, shape [n]: its adjuster has its reserve, or it has the one length.
        exposure: thread showing when the plan is done [m], shape [n].
        single_stated: best single length for the whole set, whether chosen or not, by the convention of the
            sheet [m]; NaN where no length leaves every adjuster its reserve.
        single_worst: how far the worst valve is from its wanted exposure with that length [m]; NaN likewise.
        split: not one length chosen for every valve: some pushrods stay, or several lengths are needed.
        reason: why no length is advised; empty where one is.
    """

    lengths: tuple[float, ...]
    stated: tuple[float, ...]
    chosen: np.ndarray
    kept: np.ndarray
    exposure: FloatArray
    single_stated: float
    single_worst: float
    split: bool
    reason: str


def lengths_at_hand(setup: Setup, wanted: FloatArray, now: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lengths that can be had: between ball centers, and as stated, both [m]; empty where unknown.

    The list of `[stock] pushrod_lengths`, or steps of `pushrod_step`: multiples of it by the convention of
    the pushrod, or, where that is not known, steps from the length now fitted.
    """
    pushrod = setup.trains[0].pushrod
    beyond = 0.0
    if pushrod.convention is not None:

        def size(name: str) -> float:
            found = getattr(pushrod, name)
            return float("nan") if found is None else float(found.value)

        hole = pushrod.oil_hole
        beyond = float(
            beyond_centers(
                pushrod.convention,
                lower_ball=size("lower_ball"),
                upper_ball=size("upper_ball"),
                gauge=size("gauge_diameter"),
                oil_hole=0.0 if hole is None else hole.value,
            )
        )
    stock = np.array(sorted(each.value for each in setup.stock.pushrod_lengths))
    if stock.size:
        return stock - beyond, stock
    step = setup.stock.pushrod_step
    known = wanted[np.isfinite(wanted)]
    if step is None or not known.size:
        return np.empty(0), np.empty(0)
    base = 0.0 if pushrod.convention is not None else float(np.median(now[np.isfinite(now)]))
    first = np.floor((known.min() + beyond - base) / step.value) - _BEYOND
    last = np.ceil((known.max() + beyond - base) / step.value) + _BEYOND
    stated = base + step.value * np.arange(first, last + 1)
    return stated - beyond, stated


def pushrod_plan(
    setup: Setup,
    closed: ClosedPosition,
    *,
    splay: FloatArray,
    axis_lean: FloatArray,
    exposure: FloatArray,
    wanted: FloatArray,
    greatest: FloatArray,
    now: FloatArray,
    fitted: np.ndarray,
) -> PushrodPlan:
    """Choose lengths so that every adjuster keeps its reserve, with the fewest pushrods replaced.

    A pushrod whose adjuster has its reserve stays, unless some must go and one length for the whole set
    replaces no more.
    Among lengths that replace as many, the worst adjuster is nearest to what is wanted. The reserve is the
    limit of the check `adjuster_reserve`. All arrays of shape [n]: [m], [rad]; `now` is the length found, and
    `fitted` says that it is a pushrod's own, not a checking pushrod's.
    """
    count = len(setup.valves)
    nothing = PushrodPlan(
        lengths=(),
        stated=(),
        chosen=np.full(count, -1),
        kept=np.zeros(count, bool),
        exposure=np.full(count, np.nan),
        single_stated=float("nan"),
        single_worst=float("nan"),
        split=False,
        reason="",
    )
    # What is proposed must not be outside the limit afterward.
    reserve = max(setup.limits["adjuster_reserve"].low, 0.0)
    ideal = now - (wanted - exposure)
    known = np.isfinite(ideal) & np.isfinite(greatest) & np.isfinite(closed.tappet_position)
    if not known.any():
        return nothing
    lengths, stated = lengths_at_hand(setup, np.where(known, ideal, np.nan), now)
    if not lengths.size:
        return nothing
    with np.errstate(invalid="ignore"):
        planar = planar_length(length=lengths[:, np.newaxis], splay=splay)
        showing = exposure + exposure_change_for(closed, planar, axis_lean)
        fits = (showing >= reserve) & (showing <= greatest - reserve)
        off = np.abs(showing - wanted)
    valves = np.flatnonzero(known)
    good = np.array([bool(fits[choice, valves].all()) for choice in range(len(lengths))])
    worst = np.where(np.isfinite(off[:, valves]), off[:, valves], np.inf).max(axis=1)
    with np.errstate(invalid="ignore"):
        kept = known & fitted & (exposure >= reserve) & (exposure <= greatest - reserve)
    replaced = np.flatnonzero(known & ~kept)
    single = int(np.argmin(np.where(good, worst, np.inf))) if good.any() else None
    reason = ""
    one_for_all = False
    if single is not None and replaced.size:
        has_it = known & fitted & (np.abs(now - lengths[single]) <= _SAME)
        one_for_all = int(np.count_nonzero(known & ~has_it)) <= len(replaced)
    if single is not None and one_for_all:
        groups = {single: [int(index) for index in valves]}
        kept = has_it
    else:
        groups = _groups(fits, off, replaced)
        missing = [setup.valves[index] for index in replaced if not fits[:, index].any()]
        if missing:
            whose = ", ".join(missing)
            reason = f"no length at hand brings the adjuster of {whose} onto its thread with its reserve"
    chosen, shown = np.full(count, -1), np.where(kept, exposure, np.nan)
    order = sorted(groups, reverse=True)
    for place, choice in enumerate(order):
        for index in groups[choice]:
            chosen[index], shown[index] = place, showing[choice, index]
    return PushrodPlan(
        lengths=tuple(float(lengths[choice]) for choice in order),
        stated=tuple(float(stated[choice]) for choice in order),
        chosen=chosen,
        kept=kept,
        exposure=shown,
        single_stated=float("nan") if single is None else float(stated[single]),
        single_worst=float("nan") if single is None else float(worst[single]),
        split=len(order) > 1 or (len(order) == 1 and not one_for_all and bool(kept.any())),
        reason=reason,
    )


def _groups(fits: np.ndarray, off: FloatArray, valves: np.ndarray) -> dict[int, list[int]]:
    """Length -> the valves that get it: one length where one fits all of them, else the fewest."""
    every = fits[:, valves].all(axis=1)
    if valves.size and every.any():
        worst = np.where(every, off[:, valves].max(axis=1), np.inf)
        return {int(np.argmin(worst)): [int(index) for index in valves]}
    return _covered(fits, off, valves)


def _covered(fits: np.ndarray, off: FloatArray, valves: np.ndarray) -> dict[int, list[int]]:
    """Give every valve a length, with the least number of lengths; a valve that none fits is left out.

    The lengths that fit a valve are neighbors, so taking the last one that fits the most demanding valve
    left, again and again, needs the fewest (stabbing of intervals).
    """
    left = [int(index) for index in valves if fits[:, index].any()]
    taken: list[int] = []
    rest = list(left)
    while rest:
        last = min(int(np.flatnonzero(fits[:, index]).max()) for index in rest)
        taken.append(last)
        rest = [index for index in rest if not fits[last, index]]
    groups: dict[int, list[int]] = {}
    for index in left:
        best = min((choice for choice in taken if fits[choice, index]), key=lambda choice: off[choice, index])
        groups.setdefault(best, []).append(index)
    # Within a group another length may suit all of it better.
    settled: dict[int, list[int]] = {}
    for members in groups.values():
        every = [choice for choice in range(len(fits)) if fits[choice, members].all()]
        best = min(every, key=lambda choice: float(off[choice, members].max()))
        settled.setdefault(best, []).extend(members)
    return settled
