"""The stand shim of each shaft, from the stock: one shim serves every valve, and the worst one counts."""

import itertools
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import output
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.rocker.pad_effect import Effect, PadSide, effect
from valvetrain.questions.rocker.shaft_heights import ShaftGroup, shaft_groups
from valvetrain.setup.linkage_columns import height_over_tip
from valvetrain.setup.setup import Setup

__all__ = ["ShaftPlan", "StandPlan", "shim_choices", "stand_plan"]

# Shims laid on each other under one stand where `[stock] stand_shim_stack` does not say (our judgment).
MOST_TOGETHER = 2

# Two choices whose worst valves differ by less than this share of lift are the same to a shop.
_SAME = 2e-4


@dataclass(frozen=True)
class ShaftPlan:
    """One shaft's choice; sweeps are the worst over the deciding valves."""

    group: ShaftGroup = output(None, "its valves", key="")
    needed: bool = output(None, "a deciding valve is outside a limit now, so that a shim is worth fitting")
    change: float = output(
        "length",
        "best change of thickness under the stands from the stock; 0 where nothing in it is better",
        key="stand_shim_change",
    )
    stack: tuple[float, ...] = output(
        "length",
        "shims to lay under each stand: in all if what is there comes out, else added to it",
        key="stand_shims",
    )
    removed: bool = output(None, "what is under the stands now comes out first", key="take_out_fitted")
    exact: float = output(
        "length",
        "change that would suit the deciding valves' middle exactly, for a machined stand",
        key="exact_change",
    )
    worst_now: float = output("fraction", "worst sweep over gross lift now", key="worst_sweep_share_now")
    worst_after: float = output(
        "fraction", "worst sweep over gross lift with the change", key="worst_sweep_share_after"
    )
    worst_with_all: float = output(
        "fraction", "the same if the valves that stand apart were to decide too", key=""
    )
    change_with_all: float = output("length", "the best change then", key="")


@dataclass(frozen=True)
class StandPlan:
    """Every shaft's choice, and what it leaves at every valve.

    Attributes:
        shafts: one plan a shaft.
        change: recommended change of stand shim at each valve's shaft [m], shape [n]: 0 where none is needed.
        best: the best change from the stock, needed or not [m], shape [n].
        after: every valve with `change` fitted.
        with_best: every valve with `best` fitted.
        own_need: change of stand shim that would suit each valve alone [m], shape [n].
    """

    shafts: tuple[ShaftPlan, ...]
    change: FloatArray
    best: FloatArray
    after: Effect
    with_best: Effect
    own_need: FloatArray


def shim_choices(setup: Setup, fitted: float) -> list[tuple[float, tuple[float, ...], bool]]:
    """List (change [m], stack, whether the fitted shim comes out), the empty change first."""
    stock = sorted({each.value for each in setup.stock.stand_shims})
    most = setup.stock.stand_shim_stack
    together = MOST_TOGETHER if most is None else 3
    stacks = [
        stack
        for count in range(1, together + 1)
        for stack in itertools.combinations_with_replacement(stock, count)
        if most is None or sum(stack) <= most.value + 1e-9
    ]
    choices: list[tuple[float, tuple[float, ...], bool]] = [(0.0, (), False)]
    choices += [
        (sum(stack), stack, False)
        for stack in stacks
        if most is None or np.isnan(fitted) or fitted + sum(stack) <= most.value + 1e-9
    ]
    if fitted > 0:
        choices += [(sum(stack) - fitted, stack, True) for stack in [(), *stacks]]
    seen: dict[float, tuple[float, tuple[float, ...], bool]] = {}
    for choice in choices:
        seen.setdefault(round(choice[0], 7), choice)
    return list(seen.values())


def stand_plan(
    setup: Setup, side: PadSide, own_need: FloatArray, square_at: float | None = None
) -> StandPlan:
    """Choose every shaft's stand shim.

    Args:
        setup: the setup, for stock, limits and which valve is on which shaft.
        side: every valve.
        own_need: change of stand shim that suits each valve alone [m], shape [n].
        square_at: lift fraction at which the arm is wanted square to the stem; left out, the sweep's width
            decides.
    """
    plans = [
        _shaft_plan(setup, group, side, own_need, square_at)
        for group in shaft_groups(setup, height_over_tip(side.rows))
    ]
    change, best = np.zeros(len(setup.valves)), np.zeros(len(setup.valves))
    for plan in plans:
        members = list(plan.group.members)
        best[members] = plan.change
        change[members] = plan.change if plan.needed else 0.0
    after = effect(side, stand_shim=change)
    return StandPlan(tuple(plans), change, best, after, effect(side, stand_shim=best), own_need)


def _shaft_plan(
    setup: Setup, group: ShaftGroup, side: PadSide, own_need: FloatArray, square_at: float | None
) -> ShaftPlan:
    fitted_column = side.rows["shaft.stand_shim"][list(group.members)]
    known = fitted_column[np.isfinite(fitted_column)]
    fitted = float(np.median(known)) if known.size else float("nan")
    choices = shim_choices(setup, fitted)
    every = effect(side, stand_shim=np.array([change for change, _, _ in choices])[:, np.newaxis])
    usable = np.isfinite(every.sweep_share[0])
    deciding = [index for index in group.deciding if usable[index]]
    everyone = [index for index in (*group.deciding, *group.apart) if usable[index]]
    nothing = float("nan")
    if not deciding:
        return ShaftPlan(group, False, 0.0, (), False, nothing, nothing, nothing, nothing, 0.0)
    best = _best(setup, every, deciding, square_at, choices)
    best_of_all = _best(setup, every, everyone, square_at, choices)
    share = every.sweep_share
    return ShaftPlan(
        group=group,
        needed=_outside(setup, every, deciding, square_at)[0] and best != 0,
        change=choices[best][0],
        stack=choices[best][1],
        removed=choices[best][2],
        exact=float(np.median(own_need[deciding])),
        worst_now=float(share[0, deciding].max()),
        worst_after=float(share[best, deciding].max()),
        worst_with_all=float(share[best_of_all, everyone].max()),
        change_with_all=choices[best_of_all][0],
    )


def _outside(setup: Setup, every: Effect, valves: list[int], square_at: float | None) -> np.ndarray:
    """Whether any of the valves is outside its limits, for every choice."""
    if square_at is not None:
        return np.ones(len(every.sweep_share), bool)
    edge = setup.limits["contact_on_tip"]
    left = every.chamfer_distance[:, valves]
    outside = left < edge.low
    with np.errstate(invalid="ignore"):
        for name, values in (
            ("sweep_width", every.sweep_share),
            ("sweep_over_least", every.over_least),
            ("square_at", every.square_at),
        ):
            limit, own = setup.limits[name], values[:, valves]
            outside = outside | (own > limit.high) | (own < limit.low)
        return np.asarray(outside.any(axis=1))


def _best(
    setup: Setup,
    every: Effect,
    valves: list[int],
    square_at: float | None,
    choices: list[tuple[float, tuple[float, ...], bool]],
) -> int:
    """Index of the choice whose worst valve is best; of equals the smallest change."""
    if square_at is not None:
        worst = np.abs(every.square_at[:, valves] - square_at).max(axis=1)
    else:
        share = every.sweep_share[:, valves]
        worst = share.max(axis=1)
    worst = np.where(np.isfinite(worst), worst, np.inf)
    edge = setup.limits["contact_on_tip"].low
    left = np.nan_to_num(every.chamfer_distance[:, valves], nan=edge).min(axis=1)
    # First the contact must stay on the tip, then the worst valve counts, then the least change.
    off = np.maximum(edge - left, 0.0)
    order = sorted(
        range(len(choices)),
        key=lambda index: (
            round(float(off[index]), 6),
            round(float(worst[index]) / _SAME),
            abs(choices[index][0]),
            len(choices[index][1]),
        ),
    )
    return order[0]
