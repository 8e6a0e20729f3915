"""One pushrod length for the whole set from those that can be had, or the least number of lengths."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.adjuster import exposure_change_for
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.pushrod_length import beyond_centers
from valvetrain.mechanics.rocker_linkage import ClosedPosition, planar_length
from valvetrain.setup.setup import Setup

__all__ = ["PushrodPlan", "lengths_at_hand", "pushrod_plan"]

# Lengths tried on either side of those wanted, where only a step is known.
_BEYOND = 3


@dataclass(frozen=True)
class PushrodPlan:
    """Lengths chosen, NaN at valves that are not measured.

    Attributes:
        lengths: between ball centers of every length chosen [m], longest first: one, or more where the set
            must be split; empty where none is known or none serves.
        stated: the same by the convention of the sheet [m].
        chosen: index into `lengths` at each valve, -1 where none, shape [n].
        exposure: thread showing with it [m], shape [n].
        single_worst: how far the worst valve is from its wanted exposure with the best single length [m].
        split: the set needs more than one length.
        reason: why no length is advised; empty where one is.
    """

    lengths: tuple[float, ...]
    stated: tuple[float, ...]
    chosen: np.ndarray
    exposure: FloatArray
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
) -> PushrodPlan:
    """Choose lengths so that every adjuster keeps its reserve and the worst is nearest to what is wanted.

    The reserve is the limit of the check `adjuster_reserve`. All arrays of shape [n]: [m], [rad]; `now` is
    the length fitted.
    """
    count = len(setup.valves)
    nothing = PushrodPlan((), (), np.full(count, -1), np.full(count, np.nan), float("nan"), False, "")
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
    if good.any():
        groups = {int(np.argmin(np.where(good, worst, np.inf))): [int(index) for index in valves]}
    else:
        groups = _covered(fits, off, valves)
        if sum(map(len, groups.values())) < len(valves):
            missing = [setup.valves[index] for index in valves if not fits[:, index].any()]
            whose = ", ".join(missing)
            reason = f"no length at hand brings the adjuster of {whose} onto its thread with its reserve"
            nothing = PushrodPlan(
                (), (), np.full(count, -1), np.full(count, np.nan), float("nan"), False, reason
            )
            if not groups:
                return nothing
    chosen, shown = np.full(count, -1), np.full(count, np.nan)
    order = sorted(groups, reverse=True)
    for place, choice in enumerate(order):
        for index in groups[choice]:
            chosen[index], shown[index] = place, showing[choice, index]
    return PushrodPlan(
        lengths=tuple(float(lengths[choice]) for choice in order),
        stated=tuple(float(stated[choice]) for choice in order),
        chosen=chosen,
        exposure=shown,
        single_worst=float(worst.min()),
        split=len(order) > 1,
        reason=nothing.reason,
    )


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
