"""Which spring stands where on which shims: every way listed, judged and chosen from, every valve at once.

Installed height runs from the spring seat, on top of the shims, to the retainer's underside: a shim of
thickness t takes t from it. The order of the aims is that of `placing`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray
from valvetrain.mechanics.spring.placing import Placement, best_placement
from valvetrain.mechanics.spring.placing_heights import HeightLimits
from valvetrain.mechanics.spring.placing_options import NONE, OK, OUT, UNSURE, PlacingOptions
from valvetrain.mechanics.spring.shim_limits import ShimDoubts, ShimLimits, ShimmedSprings, within_limits
from valvetrain.mechanics.spring.shim_reasons import LoadAt, ReasonCode, ShimReason, shim_reasons
from valvetrain.mechanics.spring.shim_stacks import ShimStacks, ShimStock, shim_stacks

__all__ = ["DoubtAt", "ShimPlan", "chosen_shims"]

DoubtAt = Callable[[FloatArray], ShimDoubts]
Whole = NDArray[np.int64]
# More ways than this are not searched: the stack is then to be limited more closely.
MOST_OPTIONS = 20_000


@dataclass(frozen=True)
class ShimPlan:
    """A spring and shims for every valve; a valve that no stack puts right has NaN and a reason.

    Attributes:
        spring: index of the spring of each valve; -1 for one without, shape [valves].
        stack: shims of each kind of the stock, shape [valves, kinds]; zeros where it has a reason.
        thickness: of the stack [m], shape [valves].
        after: the springs with the stack, arrays of shape [valves].
        used: shims of each kind that the plan takes, shape [kinds].
        bought: of these, how many the drawer lacks, shape [kinds].
        verdict: of each valve, its height included, from `OK` to `NONE`; -1 where it is left alone.
        off_target: the seat load is farther from the load wanted than it is known, shape [valves].
        reasons: why a valve has no stack; None for one that has.
        proved: the plan is the best there is; False where the time ran out before that was shown.
        purchase: the plan with shims bought, where these put more right; None where they do not.
    """

    spring: Whole
    stack: Whole
    thickness: FloatArray
    after: ShimmedSprings
    used: Whole
    bought: Whole
    verdict: Whole
    off_target: BoolArray
    reasons: tuple[ShimReason | None, ...]
    proved: bool = True
    purchase: "ShimPlan | None" = None

    @property
    def faults(self) -> tuple[int, int, int]:
        """How many valves are outside a limit, inside by less than their doubt, off the load wanted."""
        return (
            int(np.sum(self.verdict >= OUT)),
            int(np.sum(self.verdict == UNSURE)),
            int(np.sum(self.off_target)),
        )


def chosen_shims(
    height: ArrayLike,
    lift: ArrayLike,
    solid_height: ArrayLike,
    load_at: LoadAt,
    stock: ShimStock,
    limits: ShimLimits,
    *,
    locator_thickness: ArrayLike = 0.0,
    may_take: BoolArray | None = None,
    doubt_at: DoubtAt | None = None,
    target_doubt: ArrayLike = 0.0,
    fitted: Whole | None = None,
    planned: BoolArray | None = None,
    roles: Whole | None = None,
    heights: HeightLimits | None = None,
    for_sale: BoolArray | None = None,
    seconds: float = np.inf,
) -> ShimPlan:
    """Choose a spring and a stack for every valve.

    Args:
        height: installed height with neither shims nor locator [m], shape [valves]; NaN where unmeasured.
        lift: full valve lift [m], broadcast to [valves].
        solid_height: of the springs [m], broadcast to [valves, springs].
        load_at: load [N] of each spring at heights [m] of shape [valves, springs, n]; it must grow as the
            height falls; NaN where the spring is untested.
        stock: the shims at hand, those now fitted included.
        limits: for all valves, or arrays of shape [valves].
        locator_thickness: of the cup or locator under the spring, always fitted [m], broadcast to [valves].
        may_take: whether a valve may take a spring, shape [valves, springs]; left out: each valve has its
            own one, and the springs' axis has length 1.
        doubt_at: by how much limits must be kept to be kept surely, for the same heights as `load_at`.
        target_doubt: how far a load may be from the load wanted without being off it [N], to [valves].
        fitted: shims now under each valve's spring, shape [valves, kinds]; none if left out. A valve that
            nothing puts right keeps them.
        planned: valves to be planned, the others stay as they are, shape [valves]; all if left out.
        roles: of the valves, whole numbers from 0; all alike if left out.
        heights: limits on the heights within a role; none if left out.
        for_sale: kinds that could be bought; with it `purchase` is looked for.
        seconds: most time for each search; the best plan found by then is taken, and `proved` says so.

    Anything unknown of a valve leaves it without a stack, with "unmeasured" for a reason.

    Raises:
        ValueError: for a height that is not a list, or a stock that makes too many ways to search.
    """
    bare = np.asarray(height, float)
    if bare.ndim != 1:
        raise ValueError(f"installed heights of shape {bare.shape} given: one height a valve is needed.")
    kinds = len(stock.thickness)
    shims = np.zeros((bare.size, kinds), np.int64) if fitted is None else fitted
    asked = np.ones(bare.size, bool) if planned is None else planned
    pairs = np.ones((bare.size, 1), bool) if may_take is None else may_take
    case = _Case(
        bare - np.asarray(locator_thickness, float),
        bare,
        np.broadcast_to(np.asarray(lift, float), bare.shape),
        np.broadcast_to(np.asarray(solid_height, float).T, pairs.T.shape).T,
        load_at,
        doubt_at,
        stock,
        limits,
        shims,
        asked,
        pairs,
        shared=may_take is not None,
        target_doubt=np.broadcast_to(np.asarray(target_doubt, float), bare.shape),
        stacks=shim_stacks(stock, limits.stack_limit, limits.most_shims, for_sale),
    )
    options, after = case.options()
    group = np.zeros(bare.size, np.int64) if roles is None else roles
    level = heights or HeightLimits(-np.inf, np.inf, np.zeros(bare.size))

    def placed(sale: BoolArray | None) -> ShimPlan:
        available = np.asarray(stock.count, float)
        found = best_placement(options, available, group, level, for_sale=sale, seconds=seconds)
        return case.plan(options, after, found)

    plan, purchase = placed(None), None
    if for_sale is not None and np.any(for_sale & np.isfinite(np.asarray(stock.count, float))):
        more = placed(for_sale)
        if more.bought.any() and more.faults < plan.faults:
            purchase = case.explained(more, options, None, limited=level.limited)
    return case.explained(plan, options, purchase, limited=level.limited)


@dataclass(frozen=True)
class _Case:
    """Everything that is asked; arrays as `chosen_shims` takes them, `start` with the locator in place."""

    start: FloatArray
    bare: FloatArray
    lift: FloatArray
    solid: FloatArray
    load_at: LoadAt
    doubt_at: DoubtAt | None
    stock: ShimStock
    limits: ShimLimits
    fitted: Whole
    asked: BoolArray
    pairs: BoolArray
    shared: bool
    target_doubt: FloatArray
    stacks: ShimStacks

    def options(self) -> tuple[PlacingOptions, ShimmedSprings]:
        """Every way to stand a spring at a valve, and what it gives, arrays of shape [options]."""
        valves, springs = self.pairs.shape
        under = self.fitted @ np.asarray(self.stock.thickness, float).reshape(-1)
        # The last stack is what is fitted now: that of a valve that nothing puts right.
        thickness = np.concatenate(
            [np.broadcast_to(self.stacks.thickness, (valves, self.stacks.shims.size)), under[:, np.newaxis]],
            axis=1,
        )
        hard = np.append(self.stacks.hardened, False)
        found = self._in_place(
            np.broadcast_to(
                (self.start[:, np.newaxis] - thickness)[:, np.newaxis], (valves, springs, hard.size)
            )
        )
        inside = within_limits(found, self.limits, hard)
        doubts = self.doubt_at(found.height) if self.doubt_at is not None else ShimDoubts()
        sure = within_limits(found, self.limits, hard, doubts)
        last = np.arange(hard.size) == hard.size - 1
        known = ~np.isnan(found.seat_load + found.open_load + found.bind_clearance)
        wanted = self.asked[:, np.newaxis] & self.pairs
        inside &= ~last  # among the stacks already, where it keeps the limits
        take = wanted[..., np.newaxis] & known & (inside | last)
        valve, spring, stack = np.nonzero(take)
        if valve.size > MOST_OPTIONS:
            raise ValueError(
                f"springs and shims make more than {MOST_OPTIONS} ways: lower the stack limit, the most "
                "shims in a stack, or the kinds of shim."
            )
        at = (valve, spring, stack)
        counts = np.where(
            last[stack][:, np.newaxis],
            self.fitted[valve],
            np.concatenate([self.stacks.counts, np.zeros((1, self.fitted.shape[1]), np.int64)])[stack],
        )
        verdict = np.where(inside[at] & sure[at], OK, np.where(inside[at], UNSURE, OUT))
        # A valve that is not planned, not measured, or may end without a spring, stays as it stands.
        stay = np.flatnonzero(~self.asked | self.shared | ~np.isin(np.arange(valves), valve))
        own = self._in_place(
            np.broadcast_to((self.start - under)[:, np.newaxis, np.newaxis], (valves, springs, 1))
        )
        alone = ~self.asked[stay] & (not self.shared)
        rest = ShimmedSprings(
            (self.bare - under)[stay],
            np.where(alone, own.seat_load[stay, 0, 0], np.nan),
            np.where(alone, own.open_load[stay, 0, 0], np.nan),
            np.full(stay.size, np.nan),
        )
        without = np.where(self.asked[stay] & np.isin(stay, valve), NONE, OK)
        after = ShimmedSprings(
            *(
                np.concatenate([getattr(found, name)[at], getattr(rest, name)])
                for name in ("height", "seat_load", "open_load", "bind_clearance")
            )
        )
        valve = np.concatenate([valve, stay])
        verdict = np.concatenate([verdict, without])
        target = np.broadcast_to(self.limits.target, self.bare.shape)[valve]
        away = np.nan_to_num(np.abs(after.seat_load - target))
        planned = self.asked[valve]
        compared = verdict < OUT
        counted = np.concatenate([counts, np.where(self.asked[stay][:, np.newaxis], self.fitted[stay], 0)])
        return PlacingOptions(
            valve=valve,
            spring=np.concatenate(
                [spring if self.shared else np.full(spring.size, -1), np.full(stay.size, -1)]
            ),
            shims=counted,
            height=after.height,
            seat_load=np.where(compared, after.seat_load - np.nan_to_num(target), np.nan),
            open_load=np.where(compared, after.open_load, np.nan),
            distance=np.where(planned, away, 0.0),
            off_target=planned & (away > self.target_doubt[valve]),
            verdict=verdict,
            lowers=np.concatenate([thickness[at[0], at[2]] > under[at[0]] + 1e-9, np.zeros(stay.size, bool)]),
        ), after

    def plan(self, options: PlacingOptions, after: ShimmedSprings, found: Placement) -> ShimPlan:
        """What was chosen, without the reasons."""
        taken = found.chosen
        right = (options.verdict[taken] < OUT) & self.asked & ~np.isnan(after.bind_clearance[taken])
        stack = np.where(right[:, np.newaxis], options.shims[taken], 0)
        used = options.shims[taken].sum(axis=0)
        available = np.asarray(self.stock.count, float)
        return ShimPlan(
            spring=options.spring[taken],
            stack=stack,
            thickness=np.where(right, stack @ np.asarray(self.stock.thickness, float).reshape(-1), np.nan),
            after=ShimmedSprings(
                *(
                    np.where(right, getattr(after, name)[taken], np.nan)
                    for name in ("height", "seat_load", "open_load", "bind_clearance")
                )
            ),
            used=used,
            bought=np.where(
                np.isfinite(available), np.maximum(used - np.nan_to_num(available, posinf=0), 0), 0
            ).astype(np.int64),
            verdict=np.where(self.asked, found.verdict, -1),
            off_target=options.off_target[taken],
            reasons=(None,) * self.bare.size,
            proved=found.proved,
        )

    def explained(
        self, plan: ShimPlan, options: PlacingOptions, purchase: ShimPlan | None, *, limited: bool
    ) -> ShimPlan:
        """The plan with a reason wherever a valve has no stack; `limited`: heights are."""
        without = self.asked & np.isnan(plan.thickness)
        if not without.any():
            return replace(plan, purchase=purchase)
        own = np.maximum(plan.spring, 0)
        every = np.arange(self.bare.size)

        def load_at(height: FloatArray) -> FloatArray:
            shape = (height.shape[0], self.pairs.shape[1], height.shape[1])
            loads = self.load_at(np.broadcast_to(height[:, np.newaxis], shape))
            return np.asarray(np.broadcast_to(loads, shape)[every, own])

        stands = (self.start[:, np.newaxis] - self.stacks.thickness)[:, np.newaxis]
        springs = self._in_place(np.broadcast_to(stands, (*self.pairs.shape, self.stacks.shims.size)))
        hard = within_limits(springs, self.limits, True) & ~within_limits(
            springs, self.limits, self.stacks.hardened
        )
        soft = hard[every, own].sum(axis=1).astype(float)
        reasons = shim_reasons(self.start, self.lift, self.solid[every, own], load_at, self.limits, soft)
        possible = np.zeros(self.bare.size, bool)
        same = (options.spring == plan.spring[options.valve]) & (options.verdict < OUT)
        possible[options.valve[same & ~np.isnan(options.seat_load)]] = True
        found: list[ShimReason | None] = [None] * self.bare.size
        for valve in np.flatnonzero(without):
            found[valve] = reasons[valve]
            if purchase is not None and purchase.reasons[valve] is None:
                found[valve] = replace(reasons[valve], code="out_of_stock", wrong_spring=False)
            elif possible[valve]:
                # A stack is there and was not taken: others took it, or it sets the spring too low.
                code: ReasonCode = "uneven" if limited else "out_of_stock"
                found[valve] = replace(reasons[valve], code=code, wrong_spring=limited)
        return replace(plan, reasons=tuple(found), purchase=purchase)

    def _in_place(self, height: FloatArray) -> ShimmedSprings:
        """Springs at heights of shape [valves, springs, n]."""
        opened = height - self.lift[:, np.newaxis, np.newaxis]
        seat, full = (np.broadcast_to(self.load_at(each), each.shape) for each in (height, opened))
        return ShimmedSprings(height, seat, full, opened - self.solid[..., np.newaxis])
