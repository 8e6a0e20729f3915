"""Does each spring give its load, clear of coil bind, and which springs and shims put the set right?"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.answers.over_valves import over_valves
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.measured import Measured
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.curves import SpringCurves, spring_curves, springs_are_unplaced
from valvetrain.questions.spring.evenness import from_middle
from valvetrain.questions.spring.inputs import set_solid, spring_inputs
from valvetrain.questions.spring.shim_plan import SpringShimPlan, spring_shim_plan
from valvetrain.setup.setup import Column, Setup

if TYPE_CHECKING:
    from valvetrain.questions.control.spring_break_in import BreakInResult
    from valvetrain.questions.spring.match import SpringPool
    from valvetrain.questions.spring.remarks import SpringNote
    from valvetrain.questions.spring.stress import SpringStressResult
    from valvetrain.questions.spring.surge import SpringSurge

__all__ = ["SpringPurchase", "SpringResult", "spread", "spring_study"]

_DIMENSIONS = {
    "rate": "stiffness",
    "rate_open": "stiffness",
    "installed_height": "length",
    "seat_load": "force",
    "open_load": "force",
    "bind_clearance": "length",
    "retainer_clearance": "length",
    "guide_clearance": "length",
    "installed_height_deviation": "length",
    "stem_height_after_work": "length",
    "open_load_following": "force",
}
_PLANNED = (
    "rate",
    "installed_height",
    "seat_load",
    "open_load",
    "bind_clearance",
    "installed_height_deviation",
)
_MEMBER = {"seat_load": "force", "open_load": "force", "bind_clearance": "length"}


_PURCHASED = (
    "installed_height",
    "seat_load",
    "open_load",
    "bind_clearance",
    "installed_height_deviation",
)


@dataclass(frozen=True)
class SpringPurchase:
    """The springs as they stand once the shims of the shopping list are bought.

    Attributes:
        plan: what comes out and goes in then.
        spring: name of the tested spring on each valve.
        installed_height, seat_load, open_load, bind_clearance, installed_height_deviation: as of the springs.
    """

    plan: SpringShimPlan
    spring: tuple[str, ...]
    installed_height: Quantity
    seat_load: Quantity
    open_load: Quantity
    bind_clearance: Quantity
    installed_height_deviation: Quantity


@dataclass(frozen=True)
class SpringResult:
    """The spring at every valve, as it is and as planned.

    Attributes:
        rate, rate_open: with the valve closed and at full lift; of a set the sum.
        installed_height: as measured, seat recession added.
        seat_load, open_load: load with the valve closed and at full net lift; of a set the sum.
        bind_clearance: what is left to coil bind at full net lift; of a set the least.
        retainer_clearance, guide_clearance: retainer to seal, and to guide, at full lift.
        installed_height_deviation: from the median of the valves of its role.
        stem_height_after_work: stem height with seat recession and grinding of the tip.
        open_load_following: open load less the friction of a damper: what drives the valve home; NaN without.
        spring: name of the tested spring on each valve; empty without a name.
        spring_after: the same as planned.
        shims: the stack under each spring as planned, in all where the shims now fitted are known, else to
            add to them; empty where nothing is to be changed.
        shim_reason: code of why no stack helps; empty where one does or none is needed.
        plan: what comes out and goes in.
        ..._after: the same quantities with springs and shims as planned.
        judged_as_planned: the springs are not on the engine yet: the plan is what is judged.
        members: of a set, section -> quantity -> values.
        fitted, planned: the curves and inputs of the two.
        lift: full net lift [m].
        matched: springs were matched to valves; left_over: tested springs that no valve gets; trouble: why a
            match failed.
        purchase: the springs with the shims of the shopping list; None where none would put more right.
        notes: what looks wrong in the figures given.
        stress: section -> stress and surge of its spring, where its wire is described.
        surge: section and role -> speeds at which a harmonic of the lift meets it, where they were asked for.
        break_in: the outer springs alone; None for single springs.
        sunk: seat work sinks a valve, or grinds a tip.
        view: which figure is asked for.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    rate: Quantity
    rate_open: Quantity
    installed_height: Quantity
    seat_load: Quantity
    open_load: Quantity
    bind_clearance: Quantity
    retainer_clearance: Quantity
    guide_clearance: Quantity
    installed_height_deviation: Quantity
    stem_height_after_work: Quantity
    open_load_following: Quantity
    spring: tuple[str, ...]
    spring_after: tuple[str, ...]
    shims: tuple[tuple[float, ...], ...]
    shim_reason: tuple[str, ...]
    rate_after: Quantity
    installed_height_after: Quantity
    seat_load_after: Quantity
    open_load_after: Quantity
    bind_clearance_after: Quantity
    installed_height_deviation_after: Quantity
    plan: SpringShimPlan
    judged_as_planned: bool
    members: Mapping[str, Mapping[str, Quantity]]
    curves: SpringCurves
    inputs: Mapping[str, Column]
    matched: bool = False
    left_over: frozenset[str] = frozenset()
    trouble: str = ""
    purchase: SpringPurchase | None = None
    notes: "frozenset[SpringNote]" = frozenset()
    stress: "Mapping[str, SpringStressResult]" = field(default_factory=dict)
    surge: "Mapping[str, SpringSurge]" = field(default_factory=dict)
    break_in: "BreakInResult | None" = None
    view: str = "load"
    sunk: bool = False


def spring_study(
    setup: Setup,
    rocker: RockerResult,
    *,
    match: bool | None = None,
    every: bool = False,
    in_full: bool = False,
    view: str = "load",
    recession: Measured | None = None,
) -> SpringResult:
    """Study the springs, with the lifts of the rocker study.

    Args:
        setup: the setup.
        rocker: of `rocker_study`.
        match: match the tested springs to the valves; left out: only where no valve says which is its own.
        every: plan shims for every spring, not only for those that need them.
        in_full: the harmonics of the lift too.
        view: which figure is asked for.
        recession: how far every valve is sunk by seat work, instead of what the sheet says.
    """
    if recession is not None:
        sunk = (replace(each, spring=replace(each.spring, seat_recession=recession)) for each in setup.trains)
        setup = replace(setup, trains=tuple(sunk))
    bench = springs_are_unplaced(setup)
    curves = spring_curves(setup)
    inputs = spring_inputs(setup, rocker, curves)
    now = _quantities(setup, curves, inputs, 0.0)
    fitted_names = tuple(_name(train.spring.tests) for train in setup.trains)
    pool: SpringPool | None = None
    if bench if match is None else match:
        from valvetrain.questions.spring.match import spring_pool

        pool = spring_pool(setup)
    plan = spring_shim_plan(setup, rocker, curves, now, pool, every=every or pool is not None)
    names, planned, planned_inputs, after = _as_planned(setup, rocker, curves, pool, plan)
    purchase: SpringPurchase | None = None
    if plan.purchase is not None:
        bought_names, _, _, bought = _as_planned(setup, rocker, curves, pool, plan.purchase)
        purchase = SpringPurchase(plan.purchase, bought_names, **{name: bought[name] for name in _PURCHASED})
    if bench:
        # Springs that are on no valve yet: loads and stresses are those of the plan.
        curves, inputs = planned, _lowered(planned_inputs, plan.lowered)
    stress, surge, break_in = _further(setup, curves, inputs, in_full)
    return SpringResult(
        valves=setup.valves,
        roles=setup.roles,
        spring=fitted_names,
        spring_after=names,
        shims=tuple(each.stack if each.changed else () for each in plan.valves),
        shim_reason=tuple(each.reason.code if each.reason else "" for each in plan.valves),
        plan=plan,
        judged_as_planned=bench,
        members=_members(curves, inputs),
        curves=curves,
        inputs=inputs,
        matched=pool is not None,
        left_over=frozenset(pool.left_over(plan.spring)) if pool else frozenset(),
        trouble=pool.trouble(setup, plan.spring) if pool else "",
        purchase=purchase,
        notes=_notes(setup, now, lift=rocker.net_lift),
        stress=stress,
        surge=surge,
        break_in=break_in,
        view=view,
        sunk=any(train.spring.seat_recession or train.spring.tip_ground for train in setup.trains),
        **{name: now[name] for name in _DIMENSIONS},
        **{f"{name}_after": after[name] for name in _PLANNED},
    )


def _as_planned(
    setup: Setup, rocker: RockerResult, curves: SpringCurves, pool: "SpringPool | None", plan: SpringShimPlan
) -> tuple[tuple[str, ...], SpringCurves, dict[str, Column], dict[str, Quantity]]:
    """Names, curves, inputs and quantities of the springs where a plan puts them."""
    tests = [train.spring.tests for train in setup.trains]
    if pool is not None:
        tests = pool.placed(plan.spring)
        curves = pool.curves_of(setup, tests)
    inputs = spring_inputs(setup, rocker, curves)
    return tuple(map(_name, tests)), curves, inputs, _quantities(setup, curves, inputs, plan.lowered)


def _quantities(
    setup: Setup, curves: SpringCurves, inputs: Mapping[str, Column], lowered: FloatArray | float
) -> dict[str, Quantity]:
    """Compute the study's quantities with each spring standing lower by `lowered` [m]."""

    def quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        sunk, lift = rows["spring.seat_recession"], rows["net lift"]
        height = rows["spring.installed_height"] + sunk - lowered
        seat, rate = curves.total(rows, height)
        full, rate_open = curves.total(rows, height - lift)
        return {
            "rate": rate,
            "rate_open": rate_open,
            "installed_height": height,
            "seat_load": seat,
            "open_load": full,
            "bind_clearance": height - lift - set_solid(rows, curves),
            "retainer_clearance": rows["spring.retainer_to_seal"] + sunk - lift,
            "guide_clearance": rows["spring.retainer_to_guide"] + sunk - lift,
            "installed_height_deviation": from_middle(height, setup.roles),
            "stem_height_after_work": rows["valve.stem_height"] + sunk - rows["spring.tip_ground"],
            "open_load_following": np.maximum(full - rows["spring.damper_friction"], 0.0),
        }

    found = computed(quantities, inputs, _DIMENSIONS, apart=("installed_height_deviation",))
    found["installed_height_deviation"] = over_valves(
        lambda heights: from_middle(heights, setup.roles),
        found["installed_height"],
        inputs["spring.installed_height"].source,
    )
    return found


def _notes(setup: Setup, now: Mapping[str, Quantity], lift: Quantity) -> "frozenset[SpringNote]":
    from valvetrain.questions.spring.remarks import spring_notes

    return frozenset(spring_notes(setup, now, lift))


def _lowered(inputs: Mapping[str, Column], lowered: FloatArray) -> dict[str, Column]:
    """Installed heights as the shims of the plan leave them."""
    height = inputs["spring.installed_height"]
    return dict(inputs) | {
        "spring.installed_height": Column(height.value - lowered, height.uncertainty, height.source)
    }


def _further(
    setup: Setup, curves: SpringCurves, inputs: Mapping[str, Column], in_full: bool
) -> "tuple[dict[str, SpringStressResult], dict[str, SpringSurge], BreakInResult | None]":
    """Run the studies of what the sheet may or may not describe."""
    stress: dict[str, SpringStressResult] = {}
    surge: dict[str, SpringSurge] = {}
    if any(not np.isnan(setup.column(section, "wire_diameter").value).all() for section in curves.sections):
        from valvetrain.questions.spring.stress import spring_stress_study

        stress = spring_stress_study(setup, curves, inputs)
    if stress and in_full:
        from valvetrain.questions.spring.surge import spring_surge_study

        surge = {f"{each.section} {each.role}": each for each in spring_surge_study(setup, stress)}
    if len(curves.sections) == 1:
        return stress, surge, None
    from valvetrain.questions.control.spring_break_in import break_in_study

    return stress, surge, break_in_study(setup, curves, inputs)


def _members(curves: SpringCurves, inputs: Mapping[str, Column]) -> dict[str, dict[str, Quantity]]:
    """Compute load and bind clearance of each spring of a set; nothing for single springs."""
    if len(curves.sections) == 1:
        return {}

    def member(rows: Mapping[str, FloatArray], section: str) -> dict[str, FloatArray]:
        lift = rows["net lift"]
        height = curves.heights(
            rows, section, rows["spring.installed_height"] + rows["spring.seat_recession"]
        )
        return {
            "seat_load": curves.load_and_rate(rows, section, height)[0],
            "open_load": curves.load_and_rate(rows, section, height - lift)[0],
            "bind_clearance": height - lift - rows[f"{section}.solid_height"],
        }

    return {
        section: computed(lambda rows, own=section: member(rows, own), inputs, _MEMBER)  # type: ignore[misc]
        for section in curves.sections
    }


def _name(test: object) -> str:
    return getattr(test, "spring", "")


def spread(quantity: Quantity, roles: tuple[str, ...]) -> dict[str, float]:
    """Highest less lowest value of each role, over the valves that were measured [SI]."""
    found = {}
    for role in dict.fromkeys(roles):
        known = quantity.value[(np.array(roles) == role) & ~np.isnan(quantity.value)]
        found[role] = float(np.ptp(known)) if known.size else np.nan
    return found
