"""Which shims come out and go in under which spring; springs that are right are left alone."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.questions.spring.evenness import least_even_height
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.mechanics.spring.shim_limits import ShimLimits
    from valvetrain.mechanics.spring.shim_reasons import LoadAt, ShimReason
    from valvetrain.mechanics.spring.shim_stacks import ShimStock
    from valvetrain.mechanics.spring.shims import ShimPlan

__all__ = ["ALIKE", "PLAN_SECONDS", "ShimsToBuy", "SpringShimPlan", "ValveShims", "spring_shim_plan"]

# Most shims under one spring where the sheet does not say: 0.060 in (common practice, no source).
USUAL_STACK = 1.524e-3
ALIKE = 12.7e-6
"""Shims closer together than this are one kind, and steps below it are none [m]: 0.0005 in."""
PLAN_SECONDS = 0.12
"""Most time for a plan in which a kind of shim runs short."""


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
        to_buy: what the drawer lacks for the plan that an unlimited one would give.
        proved: False where the time ran out before the plan was proved the best.
    """

    valves: tuple[ValveShims, ...]
    lowered: FloatArray
    to_buy: tuple[ShimsToBuy, ...] = ()
    proved: bool = True


def spring_shim_plan(
    setup: Setup,
    curves: SpringCurves,
    inputs: Mapping[str, FloatArray],
    now: Mapping[str, Quantity],
    *,
    every: bool = False,
) -> SpringShimPlan:
    """Choose shims for the springs that need them, or for every one.

    A spring needs shims when a load or clearance is outside its limit, or when its seat load is off the load
    wanted by more than its own uncertainty (k = 2). A spring that shims would set too low among the others
    of its role is not shimmed: it is another spring that is wanted.

    Args:
        setup: the setup.
        curves: of the springs.
        inputs: sheet key -> values [n]; those of the curves, "net lift", "set solid height".
        now: the springs as they stand.
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
    if not need.any():
        return SpringShimPlan((ValveShims(),) * count, np.zeros(count))
    from valvetrain.mechanics.spring.shim_reasons import shim_reasons

    height = now["installed_height"].value
    index = np.flatnonzero(need)
    stock = _drawer(setup, [fitted[each] for each in index])
    limits = _limits(setup, wanted[index], now["seat_load"].uncertainty)
    bare = height[index] + np.array([sum(fitted[each]) for each in index])
    lift, solid = inputs["net lift"][index], inputs["set solid height"][index]

    def load_at(height: FloatArray) -> FloatArray:
        full = np.full((height.shape[1], count), np.nan)
        full[:, index] = height.T
        return curves.total(inputs, full)[0][:, index].T

    bind = now["bind_clearance"]
    sure = bind.value - 2 * np.nan_to_num(bind.uncertainty) >= setup.limits["bind_clearance"].low
    doubt = np.where(sure, 2 * np.nan_to_num(bind.uncertainty), 0.0)[index]
    plan = _clear_of_bind(bare, lift, solid, load_at, stock, limits, locator[index], doubt)
    lower = np.zeros(count)
    # Shims alone: a locator raises no question of evenness while it goes under every spring.
    lower[index] = np.nan_to_num(plan.thickness - (bare - height[index]))
    floor = least_even_height(height, lower, setup.roles, setup.limits["installed_height_deviation"].low)[
        index
    ]
    if np.isfinite(floor).any():
        limits = replace(limits, height_low=floor - locator[index])
        plan = _clear_of_bind(bare, lift, solid, load_at, stock, limits, locator[index], doubt)
    windows = shim_reasons(bare - locator[index], lift, solid, load_at, limits, np.zeros(index.size))
    valves = [ValveShims()] * count
    lowered = np.zeros(count)
    hard_above = setup.limits["hardened_shims"].high
    for place, each in enumerate(index):
        own = _valve_shims(setup, stock, plan, place, fitted[each], windows[place])
        if own.reason is not None and np.isfinite(floor[place]):
            most = float(bare[place] - floor[place])
            uneven = replace(own.reason, code="uneven", thickness_high=most, wrong_spring=True)
            own = replace(own, reason=uneven, higher_low=np.nan, higher_high=np.nan, other_parts=())
        hard = own.reason is None and bool(own.stack) and bool(plan.after.seat_load[place] > hard_above)
        valves[each] = replace(own, hardened=hard)
        if own.reason is None:
            lowered[each] = sum(own.stack) + locator[each] - sum(fitted[each])
        else:
            lowered[each] = locator[each]
    to_buy = tuple(
        ShimsToBuy(thickness, int(number), _flag(setup, thickness, hard))
        for thickness, hard, number in zip(stock.thickness, stock.hardened, plan.shortage, strict=True)
        if number
    )
    return SpringShimPlan(tuple(valves), lowered, to_buy, plan.proved)


def _clear_of_bind(
    bare: FloatArray,
    lift: FloatArray,
    solid: FloatArray,
    load_at: "LoadAt",
    stock: "ShimStock",
    limits: "ShimLimits",
    locator: FloatArray,
    doubt: FloatArray,
) -> "ShimPlan":
    """Choose stacks that do not make a sure clearance doubtful; only where there is none, any within limits.

    `doubt` is the expanded uncertainty of each clearance to bind that is surely kept now, 0 elsewhere [m].
    """
    least = np.broadcast_to(np.asarray(limits.bind_clearance_low, float), doubt.shape)
    plan = _chosen(
        bare, lift, solid, load_at, stock, replace(limits, bind_clearance_low=least + doubt), locator
    )
    stays = ("unmeasured", "out_of_stock")
    without = np.array([reason is not None and reason.code not in stays for reason in plan.reasons])
    if not without.any() or not doubt.any():
        return plan
    eased = replace(limits, bind_clearance_low=np.where(without, least, least + doubt))
    return _chosen(bare, lift, solid, load_at, stock, eased, locator)


def _chosen(
    bare: FloatArray,
    lift: FloatArray,
    solid: FloatArray,
    load_at: "LoadAt",
    stock: "ShimStock",
    limits: "ShimLimits",
    locator: FloatArray,
) -> "ShimPlan":
    """Choose; a drawer of very many kinds is searched with fewer shims in a stack."""
    from valvetrain.mechanics.spring.shims import chosen_shims

    for most in range(limits.most_shims, 0, -1):
        try:
            return chosen_shims(
                bare,
                lift,
                solid,
                load_at,
                stock,
                replace(limits, most_shims=most),
                locator_thickness=locator,
                seconds=PLAN_SECONDS,
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


def _drawer(setup: Setup, fitted: list[tuple[float, ...]]) -> "ShimStock":
    """The drawer, and the shims that the planned springs now stand on: they can be used again."""
    from valvetrain.mechanics.spring.shim_stacks import ShimStock

    kinds: list[list[float]] = []  # thickness, count, soft
    for shim in setup.stock.spring_shims:
        number = np.inf if shim.count is None else float(shim.count)
        kinds.append([shim.thickness.value, number, float(shim.hardened is False)])
    for thickness in (each for stack in fitted for each in stack):
        own = next((kind for kind in kinds if abs(kind[0] - thickness) <= ALIKE), None)
        if own is None:
            kinds.append([thickness, 1.0, 0.0])
        else:
            own[1] += 1.0
    kinds.sort()
    return ShimStock(
        tuple(kind[0] for kind in kinds),
        tuple(kind[1] for kind in kinds),
        tuple(not kind[2] for kind in kinds),
    )


def _limits(setup: Setup, wanted: FloatArray, doubt: FloatArray) -> "ShimLimits":
    """Limits of the plan."""
    from valvetrain.mechanics.spring.shim_limits import ShimLimits

    seat = setup.limits["seat_load"]
    middle = 0.5 * (seat.low + seat.high)
    stack = setup.stock.spring_shim_stack
    known = doubt[np.isfinite(doubt)]
    return ShimLimits(
        seat_load_low=seat.low,
        seat_load_high=seat.high,
        bind_clearance_low=setup.limits["bind_clearance"].low,
        stack_limit=stack.value if stack else USUAL_STACK,
        open_load_high=setup.limits["open_load"].high,
        seat_load_target=np.where(np.isnan(wanted), middle, wanted),
        hardened_above=setup.limits["hardened_shims"].high,
        # Nearer to the load wanted than it is known means nothing: there an even set counts more.
        load_tolerance=float(np.median(known)) if known.size else 0.0,
    )


def _flag(setup: Setup, thickness: float, hard: bool) -> bool | None:
    """Return whether the stock says that shims of a thickness are hardened."""
    for shim in setup.stock.spring_shims:
        if shim.thickness.value == thickness and (shim.hardened is not False) == hard:
            return shim.hardened
    return None


def _needs(setup: Setup, now: Mapping[str, Quantity], wanted: FloatArray) -> BoolArray:
    """Say which springs need another stack."""
    needs = np.zeros(len(setup.trains), dtype=bool)
    for name in ("seat_load", "open_load", "bind_clearance"):
        limit, value = setup.limits[name], now[name].value
        needs |= (value < limit.low) | (value > limit.high)
    seat = now["seat_load"]
    return np.asarray(needs | (np.abs(seat.value - wanted) > 2 * seat.uncertainty))
