"""Which shims go under which spring: the exact choice from the stock, every valve at once.

Installed height runs from the spring seat, on top of the shims, to the retainer's underside: a shim of
thickness t takes t from it. First as many valves as possible get a stack within all limits; then the seat
loads come as near to the wanted load as the stock allows (within the tolerance all are equal); then the
loads are as even as possible over the set; then the fewest shims are used.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.spring.shim_limits import ShimLimits, ShimmedSprings, within_limits
from valvetrain.mechanics.spring.shim_reasons import LoadAt, ShimReason, shim_reasons
from valvetrain.mechanics.spring.shim_selection import selected_options
from valvetrain.mechanics.spring.shim_stacks import ShimStock, shim_stacks

__all__ = ["ShimPlan", "chosen_shims"]


@dataclass(frozen=True)
class ShimPlan:
    """Shims for every valve; a valve without a stack has NaN and a reason.

    Attributes:
        stack: shims of each kind of the stock, shape [valves, kinds]; zeros without a stack.
        thickness: of the stack [m], shape [valves].
        before: the springs without shims (locator in place), arrays of shape [valves].
        after: the springs with the stack.
        spread: highest less lowest deviation from the wanted seat load over the valves with a stack [N];
            NaN with none.
        used: shims of each kind that the plan takes, shape [kinds].
        shortage: shims of each kind to buy so that every valve gets what an unlimited stock would give,
            shape [kinds].
        reasons: why a valve has no stack; None for one that has.
        proved: the plan is the best there is; False where the time ran out before that was shown.
    """

    stack: NDArray[np.int64]
    thickness: FloatArray
    before: ShimmedSprings
    after: ShimmedSprings
    spread: float
    used: NDArray[np.int64]
    shortage: NDArray[np.int64]
    reasons: tuple[ShimReason | None, ...]
    proved: bool = True


def chosen_shims(
    height: ArrayLike,
    lift: ArrayLike,
    solid_height: ArrayLike,
    load_at: LoadAt,
    stock: ShimStock,
    limits: ShimLimits,
    *,
    locator_thickness: ArrayLike = 0.0,
    seconds: float = np.inf,
) -> ShimPlan:
    """Choose a stack for every valve.

    Args:
        height: installed height with neither shims nor locator [m], shape [valves]; NaN where unmeasured.
        lift: full valve lift [m], broadcast to [valves].
        solid_height: of the spring [m], broadcast to [valves]; of a set, its `set_solid_height`.
        load_at: load [N] of each valve's spring at heights [m] of shape [valves, n]; it must grow as the
            height falls; NaN where the spring is untested.
        stock: the shims at hand.
        limits: for all valves, or arrays of shape [valves].
        locator_thickness: of the cup or locator under the spring, always fitted [m], broadcast to [valves].
        seconds: most time for the search when a kind of shim runs short; the best plan found by then is
            taken, and `proved` says so.

    Anything unknown of a valve leaves it without a stack, with "unmeasured" for a reason.

    Raises:
        ValueError: for a height that is not a list, or a stock that makes too many stacks to search.
    """
    bare = np.asarray(height, float)
    if bare.ndim != 1:
        raise ValueError(f"installed heights of shape {bare.shape} given: one height a valve is needed.")
    full = np.array(np.broadcast_to(np.asarray(lift, float), bare.shape))
    solid = np.array(np.broadcast_to(np.asarray(solid_height, float), bare.shape))
    start = bare - np.asarray(locator_thickness, float)
    stacks = shim_stacks(stock, limits.stack_limit, limits.most_shims)
    options = _in_place(start[:, np.newaxis] - stacks.thickness, full, solid, load_at)
    hard = np.broadcast_to(stacks.hardened, options.height.shape)
    allowed = within_limits(options, limits, hard)
    target = np.broadcast_to(limits.target, bare.shape)[:, np.newaxis]
    deviation = options.seat_load - target
    cost = np.maximum(np.abs(deviation) - limits.load_tolerance, 0.0)
    available = np.asarray(stock.count, float)
    chosen, wished, proved = selected_options(
        allowed, cost, deviation, stacks.counts, available, seconds=seconds
    )

    has = chosen >= 0
    stack = np.where(has[:, np.newaxis], stacks.counts[chosen], 0)
    thickness = np.where(has, stacks.thickness[chosen], np.nan)
    after = _in_place((start - thickness)[:, np.newaxis], full, solid, load_at)
    picked = deviation[np.flatnonzero(has), chosen[has]]
    used = stack.sum(axis=0)
    wanted = stacks.counts[wished[wished >= 0]].sum(axis=0)
    reasons: list[ShimReason | None] = [None] * bare.size
    if not has.all():
        if_hard = within_limits(options, limits, np.ones_like(hard))
        soft = np.sum(if_hard & ~allowed, axis=1).astype(float)
        found = shim_reasons(start, full, solid, load_at, limits, soft)
        for valve in np.flatnonzero(~has):
            reasons[valve] = _out_of_stock(found[valve]) if wished[valve] >= 0 else found[valve]
    return ShimPlan(
        stack=stack,
        thickness=thickness,
        before=_flat(_in_place(start[:, np.newaxis], full, solid, load_at)),
        after=_flat(after),
        spread=float(np.ptp(picked)) if picked.size else np.nan,
        used=used,
        shortage=np.where(
            np.isfinite(available), np.maximum(wanted - np.nan_to_num(available, posinf=0.0), 0.0), 0.0
        ).astype(np.int64),
        reasons=tuple(reasons),
        proved=proved,
    )


def _out_of_stock(reason: ShimReason) -> ShimReason:
    return ShimReason(
        "out_of_stock",
        reason.thickness_low,
        reason.thickness_high,
        False,
    )


def _in_place(height: FloatArray, lift: FloatArray, solid: FloatArray, load_at: LoadAt) -> ShimmedSprings:
    """Springs at heights of shape [valves, n]."""
    opened = height - lift[:, np.newaxis]
    return ShimmedSprings(height, load_at(height), load_at(opened), opened - solid[:, np.newaxis])


def _flat(springs: ShimmedSprings) -> ShimmedSprings:
    return ShimmedSprings(
        springs.height[:, 0], springs.seat_load[:, 0], springs.open_load[:, 0], springs.bind_clearance[:, 0]
    )
