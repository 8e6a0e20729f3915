"""Which shims come out and go in under which spring; springs that are right are left alone."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.spring.placing_heights import HeightLimits
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.questions.spring.drawer import (
    ALIKE,
    counts_fitted,
    drawer,
    hardness,
    kinds_for_sale,
    loads_wanted,
    plan_limits,
)
from valvetrain.questions.spring.ways import SpringWays
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.mechanics.spring.shim_limits import ShimLimits
    from valvetrain.mechanics.spring.shim_reasons import LoadAt, ShimReason
    from valvetrain.mechanics.spring.shim_stacks import ShimStock
    from valvetrain.mechanics.spring.shims import ShimPlan
    from valvetrain.questions.spring.match import SpringPool

__all__ = ["PLAN_SECONDS", "ShimsToBuy", "SpringShimPlan", "ValveShims", "spring_shim_plan"]

PLAN_SECONDS = 0.8
"""Most time for a plan, and for one with a purchase."""


@dataclass(frozen=True)
class ValveShims:
    """What to do with the shims of one valve; thicknesses [m].

    Attributes:
        planned: a plan was asked for this valve; without one everything else is empty.
        fitted: shims there now, as far as the sheet says.
        stack: shims that are to be there in all.
        take_out, put_in: the difference.
        reason: why there is no stack; None where there is one.
        higher_low, higher_high: range of how much higher (minus: lower) than now a retainer, keepers or the
            seat would have to let the spring stand, shims as they are, to keep every limit [m]; NaN where
            nothing does.
        other_parts: (kind, step) of "keepers" and "retainer" in stock that do it without touching the shims.
        hardened: the new stack's load asks for hardened shims.
    """

    planned: bool = False
    fitted: tuple[float, ...] = ()
    stack: tuple[float, ...] = ()
    take_out: tuple[float, ...] = ()
    put_in: tuple[float, ...] = ()
    reason: "ShimReason | None" = None
    higher_low: float = np.nan
    higher_high: float = np.nan
    other_parts: tuple[tuple[str, float], ...] = ()
    hardened: bool = False

    @property
    def changed(self) -> bool:
        """Whether a shim is to be moved."""
        return bool(self.take_out or self.put_in)


@dataclass(frozen=True)
class ShimsToBuy:
    """One line of the shopping list.

    Attributes:
        thickness: [m].
        number: how many.
        hardened: True, False, or None where not said.
    """

    thickness: float
    number: int
    hardened: bool | None


@dataclass(frozen=True)
class SpringShimPlan:
    """Shims of every valve.

    Attributes:
        valves: one entry a valve.
        lowered: how much the spring stands lower than now [m], shape [n].
        spring: index in the pool of each valve's spring; -1 without a pool or a spring, shape [n].
        to_buy: what the drawer lacks for the plan `purchase`, or, of that plan itself, for it.
        proved: False where the time ran out before the plan was proved the best.
        faults: how many valves are outside a limit, inside by less than their doubt, off the load wanted.
        purchase: the plan with these shims bought; None where no purchase puts more right.
    """

    valves: tuple[ValveShims, ...]
    lowered: FloatArray
    spring: NDArray[np.int64]
    to_buy: tuple[ShimsToBuy, ...] = ()
    proved: bool = True
    faults: tuple[int, int, int] = (0, 0, 0)
    purchase: "SpringShimPlan | None" = None


def spring_shim_plan(
    setup: Setup,
    rocker: RockerResult,
    curves: SpringCurves,
    now: Mapping[str, Quantity],
    pool: "SpringPool | None" = None,
    *,
    every: bool = False,
) -> SpringShimPlan:
    """Choose shims for the springs that need them, or for every one, and springs from the pool.

    A spring needs shims when a load or clearance is outside its limit, or when its seat load is off the load
    wanted by more than its own uncertainty (k = 2). A spring that shims would set too low among the others
    of its role is not shimmed: it is another spring that is wanted. A purchase is looked for where the
    drawer can run short.

    Args:
        setup: the setup.
        rocker: the rocker study, for its lifts.
        curves: of the springs as fitted.
        now: the springs as they stand.
        pool: springs that may go from valve to valve.
        every: plan every measured spring afresh.
    """
    count = len(setup.trains)
    wanted = setup.column("spring", "seat_load_target").value
    locator = np.nan_to_num(setup.column("spring", "locator_to_fit").value)
    fitted = [
        tuple(each.value for each in train.spring.shims_fitted if each.value > 0) for train in setup.trains
    ]
    need = np.ones(count, dtype=bool) if every else _needs(setup, now, wanted) | (locator > 0)
    need &= ~np.isnan(now["installed_height"].value)
    springs = np.full(count, -1)
    if not need.any():
        return SpringShimPlan((ValveShims(),) * count, np.zeros(count), springs)
    stock = drawer(setup, [own if each else () for own, each in zip(fitted, need, strict=True)])
    ways = SpringWays(setup, rocker, curves, pool)
    under = np.array([sum(own) for own in fitted])
    bare = now["installed_height"].value + under
    limits = plan_limits(setup, loads_wanted(setup, wanted, now, ways, bare))
    seat = now["seat_load"].uncertainty
    known = seat[np.isfinite(seat)]
    off = 2.0 * np.where(np.isfinite(seat), seat, np.median(known) if known.size else 0.0)
    deviation = setup.limits["installed_height_deviation"]
    plan = _chosen(
        bare,
        ways.lift,
        ways.solid,
        ways.load_at,
        stock,
        limits,
        locator_thickness=np.where(need, locator, 0.0),
        may_take=None if pool is None else pool.may_take,
        doubt_at=ways.doubts(bare, max(limits.stack_limit, float(under.max(initial=0.0)))),
        target_doubt=np.where(np.isnan(wanted), np.inf, off),
        fitted=counts_fitted(stock, fitted, need),
        planned=need,
        roles=np.unique(np.array(setup.roles), return_inverse=True)[1].astype(np.int64),
        heights=HeightLimits(
            deviation.low,
            deviation.high,
            2.0 * np.nan_to_num(now["installed_height"].uncertainty),
        ),
        for_sale=kinds_for_sale(setup, stock),
        seconds=PLAN_SECONDS,
    )
    case = _Told(setup, stock, limits, ways, bare, locator, fitted, need)
    found = case.told(plan)
    return found if plan.purchase is None else replace(found, purchase=case.told(plan.purchase))


@dataclass(frozen=True)
class _Told:
    """What a plan is told with."""

    setup: Setup
    stock: "ShimStock"
    limits: "ShimLimits"
    ways: SpringWays
    bare: FloatArray
    locator: FloatArray
    fitted: list[tuple[float, ...]]
    need: BoolArray

    def told(self, plan: "ShimPlan") -> SpringShimPlan:
        """What comes out and goes in at every valve."""
        from valvetrain.mechanics.spring.shim_reasons import shim_reasons

        count = self.bare.size
        own = np.maximum(plan.spring, 0)

        def load_at(height: FloatArray) -> FloatArray:
            return self.ways.loads_of(own, height)

        windows = shim_reasons(
            self.bare - self.locator,
            self.ways.lift,
            self.ways.solid[np.arange(count), own],
            load_at,
            self.limits,
            np.zeros(count),
        )
        hard_above = self.setup.limits["hardened_shims"].high
        valves = [ValveShims()] * count
        lowered = np.zeros(count)
        for each in np.flatnonzero(self.need):
            shims = _valve_shims(self.setup, self.stock, plan, int(each), self.fitted[each], windows[each])
            reason = shims.reason
            if reason is not None and reason.code == "uneven":
                shims = replace(shims, higher_low=np.nan, higher_high=np.nan, other_parts=())
            hard = reason is None and bool(shims.stack) and bool(plan.after.seat_load[each] > hard_above)
            valves[each] = replace(shims, hardened=hard)
            lowered[each] = self.locator[each]
            if reason is None:
                lowered[each] += sum(shims.stack) - sum(self.fitted[each])
        source = plan.purchase or plan
        to_buy = tuple(
            ShimsToBuy(thickness, int(number), hardness(self.setup, thickness, hard))
            for thickness, hard, number in zip(
                self.stock.thickness, self.stock.hardened, source.bought, strict=True
            )
            if number
        )
        return SpringShimPlan(tuple(valves), lowered, plan.spring, to_buy, plan.proved, plan.faults)


def _chosen(
    bare: FloatArray,
    lift: FloatArray,
    solid: FloatArray,
    load_at: "LoadAt",
    stock: "ShimStock",
    limits: "ShimLimits",
    **options: Any,
) -> "ShimPlan":
    """Choose; a drawer of very many kinds is searched with fewer shims in a stack."""
    from valvetrain.mechanics.spring.shims import chosen_shims

    for most in range(limits.most_shims, 0, -1):
        try:
            return chosen_shims(
                bare, lift, solid, load_at, stock, replace(limits, most_shims=most), **options
            )
        except ValueError:
            if most == 1:
                raise
    raise AssertionError("at least one round is run")


def _valve_shims(
    setup: Setup,
    stock: "ShimStock",
    plan: "ShimPlan",
    place: int,
    fitted: tuple[float, ...],
    window: "ShimReason",
) -> ValveShims:
    """Say what comes out and what goes in at one valve."""
    now = sum(fitted)
    low, high = now - window.thickness_high, now - max(window.thickness_low, 0.0)
    if not (np.isfinite(low) and low <= high):
        low = high = np.nan
    others = tuple(
        (kind, each.value)
        for kind, steps in (("keepers", setup.stock.keepers), ("retainer", setup.stock.retainers))
        for each in steps
        if low <= each.value <= high
    )
    own = ValveShims(True, fitted, fitted, higher_low=low, higher_high=high, other_parts=others)
    if plan.reasons[place] is not None:
        return replace(own, reason=plan.reasons[place])
    stack = [
        thickness
        for thickness, number in zip(stock.thickness, plan.stack[place], strict=True)
        for _ in range(int(number))
    ]
    stay, out = list(stack), []
    for shim in fitted:
        same = next((each for each in stay if abs(each - shim) <= ALIKE), None)
        if same is None:
            out.append(shim)
        else:
            stay.remove(same)
    return replace(
        own,
        stack=tuple(sorted(stack, reverse=True)),
        take_out=tuple(sorted(out, reverse=True)),
        put_in=tuple(sorted(stay, reverse=True)),
    )


def _needs(setup: Setup, now: Mapping[str, Quantity], wanted: FloatArray) -> BoolArray:
    """Say which springs need another stack."""
    needs = np.zeros(len(setup.trains), dtype=bool)
    for name in ("seat_load", "open_load", "bind_clearance"):
        limit, value = setup.limits[name], now[name].value
        needs |= (value < limit.low) | (value > limit.high)
    seat = now["seat_load"]
    return np.asarray(needs | (np.abs(seat.value - wanted) > 2 * seat.uncertainty))
