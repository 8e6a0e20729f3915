"""What else would put a rocker right at its tip: each cure side by side, with its effect and its caution."""

from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import output
from valvetrain.questions.rocker.pad_effect import Effect, PadSide, effect
from valvetrain.questions.rocker.stand_plan import ShaftPlan, StandPlan
from valvetrain.setup.linkage_columns import height_over_tip

__all__ = ["Cure", "cures_of"]

# Below this a change is none to a shop: 0.001 in [m].
NOTHING = 2.54e-5

# Hardened skin of a valve tip that grinding may take off: 0.010 in (common practice, no source) [m].
SKIN = 0.010 * 0.0254


@dataclass(frozen=True)
class Cure:
    """One cure at one valve."""

    name: str = output(None, "what is done")
    serves: str = output(None, '"this valve" or "whole shaft"')
    amount: float = output("length", "how much; positive: added or raised; NaN where it is free to choose")
    sweep_width: float = output("length", "sweep across the tip afterward")
    sweep_share: float = output("fraction", "that over gross lift")
    sweep_middle: float = output("length", "middle of the contact afterward, from the stem axis")
    chamfer_distance: float = output("length", "least distance from the contact to the chamfer afterward")
    middle_moved: float = output("length", "how far the middle of the pattern moves", key="pattern_moved")
    lift_gain: float = output("length", "gross lift gained")
    adjuster: float = output(
        "length",
        "growth of the distance between the pushrod's balls; NaN where the screw moves as much as chosen",
        key="adjuster_out",
    )
    caution: str = output(None, "what to look out for")


def cures_of(side: PadSide, plan: StandPlan, index: int) -> tuple[Cure, ...]:
    """List the cures of one valve, the advised one first; empty where its height is not known."""
    shaft = next(each for each in plan.shafts if index in each.group.members)
    height = height_over_tip(side.rows)
    need = float(plan.own_need[index])
    if not np.isfinite(need) or not np.isfinite(shaft.exact):
        return ()
    apart = index in shaft.group.apart
    lean = float(np.cos(side.stand_angle[index]))
    # A valve that stands apart is brought to the rest of its set, any other to its own best height.
    fall = shaft.group.middle - float(height[index]) if apart else need * lean
    at_tip = _at_tip(side, index, fall)
    for_shaft = _for_shaft(side, shaft, index, apart)
    pushrod = _cure(
        side,
        index,
        "another pushrod, or the adjuster",
        "this valve",
        float("nan"),
        effect(side),
        "the screw comes out by nearly as much as the pushrod is shorter, and goes in as it is longer; never "
        "moves the pattern on the tip (`valvetrain pushrod` says which length)",
    )
    # The balls stay where they are: what the screw gives up the pushrod takes.
    pushrod = replace(pushrod, adjuster=float("nan"))
    first = [*at_tip, *for_shaft] if apart else [*for_shaft, *at_tip]
    return (*first, pushrod)


def _for_shaft(side: PadSide, shaft: ShaftPlan, index: int, apart: bool) -> list[Cure]:
    """Cures that move the whole shaft."""
    spoil = "it would spoil the valves that stand right; " if apart else ""
    found = []
    change = shaft.change_with_all if apart else shaft.change
    if abs(change) > NOTHING:
        found.append(
            _cure(
                side,
                index,
                "stand shim from the stock",
                "whole shaft",
                change,
                effect(side, stand_shim=change),
                spoil + "moves every valve of the shaft; check bolts, dowels and the oil feed",
            )
        )
    exact = shaft.exact
    if abs(exact) > NOTHING and not apart:
        how = "stand machined lower" if exact < 0 else "spacer machined to size"
        found.append(
            _cure(
                side,
                index,
                how,
                "whole shaft",
                exact,
                effect(side, stand_shim=exact),
                "moves every valve of the shaft; metal taken off does not come back",
            )
        )
    return found


def _at_tip(side: PadSide, index: int, fall: float) -> list[Cure]:
    """Cures at the valve: the tip must come down by `fall` [m] (negative: up)."""
    if abs(fall) <= NOTHING:
        return []
    after = effect(side, tip_rise=-fall)

    def one(name: str, caution: str) -> Cure:
        return _cure(side, index, name, "this valve", -fall, after, caution)

    if fall > 0:
        ground = one("tip ground", "only the hardened skin may go, and it is thin: ask the valve's maker")
        if fall > SKIN:
            ground = one("shorter valve", "check the keeper groove and the installed height with it")
        return [
            one(
                "seat insert (valve back down)",
                "machine-shop work; the installed height falls by as much: check the spring again",
            ),
            ground,
        ]
    return [
        one("longer valve", "check the keeper groove, the installed height and the piston"),
        one("lash cap", "mass on the valve, and it must clear the retainer: it comes off if the lash opens"),
        one(
            "seat cut deeper",
            "shrouds the valve; the installed height grows by as much: shim the spring and check it again",
        ),
    ]


def _cure(
    side: PadSide, index: int, name: str, serves: str, amount: float, after: Effect, caution: str
) -> Cure:
    def at(values: np.ndarray) -> float:
        return float(np.broadcast_to(values, side.net_lift.shape)[index])

    return Cure(
        name=name,
        serves=serves,
        amount=amount,
        sweep_width=at(after.sweep_width),
        sweep_share=at(after.sweep_share),
        sweep_middle=at(after.sweep_middle),
        chamfer_distance=at(after.chamfer_distance),
        middle_moved=at(after.middle_moved),
        lift_gain=at(after.lift_gain),
        adjuster=at(after.adjuster),
        caution=caution,
    )
