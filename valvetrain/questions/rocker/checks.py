"""Verdicts on where the rocker meets the valve tip, and what puts it right."""

import math

import numpy as np

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.rocker.cures import NOTHING, Cure, cures_of
from valvetrain.questions.rocker.stand_plan import ShaftPlan
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown, shown_spread

__all__ = ["ratio_sentences", "rocker_checks", "shaft_sentence", "stack_words"]

_PAD_SIDE = ("shaft.setback", "shaft.height", "rocker.pad_arm", "rocker.pad_radius")


def rocker_checks(setup: Setup, result: RockerResult, system: str) -> list[Check]:
    """Judge sweep, its place on the tip, the height of the shaft and the tip at every valve."""
    cure = tuple(_cure(setup, result, index, system) for index in range(len(setup.valves)))
    return [
        *judged(
            setup,
            "sweep_width",
            result.sweep_share,
            needs=(*_PAD_SIDE, "valve.stem_height"),
            cure=cure,
            system=system,
        ),
        *judged(
            setup,
            "contact_on_tip",
            result.chamfer_distance,
            needs=(*_PAD_SIDE, "valve.stem_height", "valve.stem_diameter", "valve.tip_chamfer"),
            cure=cure,
            system=system,
        ),
        *_of_circular_pads(
            result,
            judged(
                setup,
                "sweep_over_least",
                result.sweep_over_least,
                needs=(*_PAD_SIDE, "valve.stem_height"),
                cure=cure,
                system=system,
            ),
        ),
        *_of_circular_pads(
            result,
            judged(
                setup,
                "square_at",
                result.square_at_lift_fraction,
                needs=(*_PAD_SIDE, "valve.stem_height"),
                cure=cure,
                system=system,
            ),
        ),
        *(
            check
            for check in judged(
                setup,
                "lift_lost",
                result.lift_lost_share,
                needs=("rocker.socket_arm",),
                cure=cure,
                system=system,
            )
            if check.verdict != "unmeasured"  # without the pushrod's side nobody can know it
        ),
        *_tip_checks(setup, result, system),
    ]


def _of_circular_pads(result: RockerResult, checks: list[Check]) -> list[Check]:
    """Leave out the valves whose pad was measured: least sweep and square arm are a circle's."""
    if result.pads is None:
        return checks
    own = {
        valve
        for valve, known in zip(result.valves, np.isfinite(result.pads.values["sweep_width"]), strict=True)
        if known
    }
    return [check for check in checks if check.valve not in own]


def _tip_checks(setup: Setup, result: RockerResult, system: str) -> list[Check]:
    """Judge stem heights against the middle of their role, where enough of the set was measured."""
    off = result.tip_height
    if np.isnan(off.value).all():
        return []
    cure = tuple(
        f"Its tip stands {shown(abs(float(each)), 'length', system)} {'above' if each > 0 else 'below'} the "
        "middle of its role: measure it again; if it holds, look for seat or valve work there."
        for each in off.value
    )
    found = judged(setup, "tip_height", off, needs=("valve.stem_height",), cure=cure, system=system)
    roles = {role for role in result.roles if np.isfinite(off.value[np.array(result.roles) == role]).any()}
    return [check for check, role in zip(found, result.roles, strict=True) if role in roles]


def stack_words(plan: ShaftPlan, system: str) -> str:
    """Say which shims go under each stand of a shaft."""
    stack = " + ".join(shown(each, "length", system) for each in plan.stack)
    if plan.removed:
        return f"take out what is under each stand and lay {stack}" if stack else "take out the stand shims"
    return f"lay {stack} more under each stand"


def shaft_sentence(plan: ShaftPlan, valves: tuple[str, ...], system: str, doubt: float = math.nan) -> str:
    """Say in a sentence what is to be done with one shaft.

    `doubt` is the standard uncertainty of the change that would be exactly right [m]; NaN leaves it unsaid.
    """
    name = f"Shaft {plan.group.name}" if plan.group.name else "Shaft"
    if not plan.group.deciding:
        return f"{name}: no valve of it is measured, so no stand shim is advised."
    best = ""
    if abs(plan.change) > NOTHING:
        best = (
            f"{stack_words(plan, system)}: worst sweep {_percent(plan.worst_now)} of gross lift now, "
            f"{_percent(plan.worst_after)} after."
        )
    if plan.needed:
        words = f"{name}: {best}"
    elif best:
        words = f"{name}: right as it stands. The stock's best: {best}"
    else:
        words = (
            f"{name}: right as it stands; no shim in stock does better. "
            f"Worst sweep {_percent(plan.worst_now)} of gross lift."
        )
        if abs(plan.exact) > NOTHING:
            exact = shown(plan.exact, "length", system, None if math.isnan(doubt) else 2 * doubt)
            known = "" if math.isnan(doubt) else f" +- {shown_spread(2 * doubt, 'length', system)}"
            words += f" Exactly right would be {exact}{known} of change."
    if plan.group.apart:
        apart = ", ".join(valves[index] for index in plan.group.apart)
        words += f" {apart} left out: tip stands apart from the rest of the set."
    return words


def ratio_sentences(result: RockerResult) -> list[str]:
    """Say where the ratio that was measured is not what the rocker is sold as."""
    source = {"dial": "the dial's lift", "linkage": "the arms, angles and pushrod"}
    alike: dict[tuple[str, float], list[int]] = {}
    for index in result.ratio_apart:
        alike.setdefault((result.lift_from[index], float(result.nominal_ratio[index])), []).append(index)
    sentences = []
    for (came, nominal), own in alike.items():
        mean = float(np.median(result.mean_ratio.value[own]))
        names = ", ".join(result.valves[index] for index in own)
        who = "every valve" if len(own) == len(result.valves) else names
        sentences.append(
            f"Ratio at {who}: {mean:.2f} by {source[came]}, and the rocker is sold as {nominal:.2f} "
            f"({abs(mean / nominal - 1):.0%} apart). The first is used. Measure socket_arm, arm_angle and "
            "[tappet] again, or read the lift of one valve with a dial (gross_lift)."
        )
    return sentences


def _percent(share: float) -> str:
    return shown(share, "fraction", "inch")


def _cure(setup: Setup, result: RockerResult, index: int, system: str) -> str:
    """Say what puts one valve right: its own work where its tip stands apart, else the shaft's shim."""
    if np.isnan(result.stand_shim_change_for_least_sweep.value[index]):
        return ""
    plan = next(each for each in result.stand.shafts if index in each.group.members)
    if index in plan.group.apart:
        return _apart(result, plan, index, system)
    if plan.needed:
        what = stack_words(plan, system)
        after = float(result.stand.after.sweep_share[index])
        words = f"{what[0].upper()}{what[1:]}: {_percent(after)} of gross lift at this valve"
        words += (
            f"{_moves(result.stand.after.lift_gain[index], result.stand.after.adjuster[index], system)}. "
        )
        words += f"One shim serves every valve of the shaft; its worst then is {_percent(plan.worst_after)}."
        cures = [cure for cure in cures_of(result.side, result.stand, index) if abs(cure.amount) > NOTHING]
        left = [cure for cure in cures if cure.serves == "this valve"]
        if after > setup.limits["sweep_width"].high and left:
            words += f" Still wide: {left[0].name} here, {_amount(left[0], system)}."
        return words
    return _no_shim(setup, result, plan, index, system)


def _apart(result: RockerResult, plan: ShaftPlan, index: int, system: str) -> str:
    """Advise on a valve whose tip stands apart from the rest of its set."""
    cures = cures_of(result.side, result.stand, index)
    own = [cure for cure in cures if cure.serves == "this valve" and abs(cure.amount) > NOTHING]
    rise = -own[0].amount if own else 0.0
    side = "high" if rise > 0 else "low"
    words = (
        f"Leave the shaft: it is right for the rest of the set. This valve's tip stands "
        f"{shown(abs(rise), 'length', system)} too {side} against them: look for seat or valve work there. "
    )
    names = " or ".join(cure.name for cure in own[:2])
    if own:
        words += (
            f"Cure: {names}, {shown(abs(rise), 'length', system)}; sweep then "
            f"{_percent(own[0].sweep_share)} of gross lift"
            f"{_moves(own[0].lift_gain, own[0].adjuster, system)}; {own[0].caution}."
        )
    shim = next((cure for cure in cures if cure.serves == "whole shaft"), None)
    if shim is not None:
        words += (
            f" A stand shim of {shown(shim.amount, 'length', system)} would only bring it to "
            f"{_percent(shim.sweep_share)} and move every other valve."
        )
    return words


def _no_shim(setup: Setup, result: RockerResult, plan: ShaftPlan, index: int, system: str) -> str:
    """Advise where no stand shim from the stock helps."""
    least = float(result.least_sweep_width.value[index]) / float(result.gross_lift.value[index])
    need = float(result.stand.own_need[index])
    if least > setup.limits["sweep_width"].high:
        return (
            f"Even the least sweep of this arm and lift is {_percent(least)} of gross lift: only a longer "
            "arm or less lift makes it narrower. The shaft's height is not the cause."
        )
    off = float(result.sweep_middle.value[index])
    width = float(result.sweep_share.value[index])
    if width <= setup.limits["sweep_width"].high:
        words = (
            f"The sweep is narrow but its middle is {shown(abs(off), 'length', system)} "
            f"{'beyond' if off > 0 else 'short of'} the stem axis: the arm does not suit the setback. "
        )
        shim = float(result.stand_shim_change_for_centered_sweep.value[index])
        if np.isnan(shim):
            return words + "No stand shim centers it; look at the rocker, the stand's place and the setback."
        return words + (
            f"{shown(shim, 'length', system)} of stand shim would center it and widen the sweep; rather move "
            "the stand, or take a rocker with the right arm."
        )
    own = [cure for cure in cures_of(result.side, result.stand, index) if abs(cure.amount) > NOTHING]
    words = "No stand shim in stock helps. "
    if need < 0:
        words = f"The shaft stands {shown(-need, 'length', system)} too high, and no shim lowers it. "
    if own:
        words += "Choose: " + "; or ".join(f"{cure.name} {_amount(cure, system)}" for cure in own[:3]) + "."
    return words


def _amount(cure: Cure, system: str) -> str:
    return shown(abs(cure.amount), "length", system)


def _moves(lift_gain: float, adjuster: float, system: str) -> str:
    """Say what a change does to lift and adjuster, where that is known."""
    if np.isnan(lift_gain):
        return "; reset the adjuster"
    change = "gains" if lift_gain >= 0 else "loses"
    way = "out" if adjuster >= 0 else "in"
    return (
        f", {change} {shown(abs(float(lift_gain)), 'length', system)} of lift, adjuster "
        f"{shown(abs(float(adjuster)), 'length', system)} {way}"
    )
