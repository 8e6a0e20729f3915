"""What is not right with shaft height and tips, each cause once: a shaft for its valves, a tip by itself."""

from collections.abc import Iterator, Sequence

import numpy as np

from valvetrain.answers.finding import Finding
from valvetrain.answers.verdict import Check
from valvetrain.questions.rocker.shafts import shaft_summaries
from valvetrain.questions.rocker.stand_plan import ShaftPlan
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.linkage_columns import height_over_tip
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import brief

__all__ = ["rocker_findings"]


def rocker_findings(
    setup: Setup, result: RockerResult, checks: Sequence[Check], system: str
) -> Iterator[Finding]:
    """Give the shafts to be shimmed, and the tips that stand apart from their set."""
    bad = {check.valve: check.verdict for check in checks if check.verdict in ("out", "unsure")}
    out = {check.valve for check in checks if check.verdict == "out"}
    for plan, summary in zip(result.stand.shafts, shaft_summaries(setup, result), strict=True):
        for index in plan.group.apart:
            if result.valves[index] in bad:
                yield _apart(result, plan, index, system, bad[result.valves[index]])
        own = [
            result.valves[index]
            for index in plan.group.members
            if result.valves[index] in bad and index not in plan.group.apart
        ]
        if not own:
            continue
        verdict = "out" if any(valve in out for valve in own) else "unsure"
        low = summary.exact > 0
        fact = f"{brief(abs(summary.exact), 'length', system)} too {'low' if low else 'high'}"
        now, after = (brief(each, "length", system) for each in (summary.sweep_now, summary.sweep_then))
        then = f"sweep {now} -> {after}"
        if summary.worth_it:
            yield Finding(
                _name(plan), _shim(plan, system), fact, then, "stands", verdict, tuple(own), ("rocker",)
            )
        else:
            sweep = brief(summary.sweep_now, "length", system)
            what = f"find out why the sweep is {sweep}: no stock shim does better"
            yield Finding(
                ", ".join(own), what, f"{_name(plan)} {fact}", "", "stands", verdict, tuple(own), ("rocker",)
            )


def _name(plan: ShaftPlan) -> str:
    return f"{plan.group.name} shaft" if plan.group.name else "shaft"


def _shim(plan: ShaftPlan, system: str) -> str:
    """Say which shims go under the stands."""
    stack = " + ".join(brief(each, "length", system) for each in plan.stack)
    if not plan.stack:
        return "take out the stand shims"
    return f"lay {stack} in all under its stands" if plan.removed else f"add {stack} under its stands"


def _apart(result: RockerResult, plan: ShaftPlan, index: int, system: str, verdict: str) -> Finding:
    """Say that one tip stands apart, and what its own work would bring."""
    with np.errstate(invalid="ignore"):
        height = float(height_over_tip(result.side.rows)[index])
    above = plan.group.middle - height
    side = "above" if above > 0 else "below"
    now = float(result.sweep_width.value[index])
    return Finding(
        result.valves[index],
        f"work on seat or valve: tip {brief(abs(above), 'length', system)} {side} its set",
        f"sweep {brief(now, 'length', system)}",
        "",
        "valves",
        verdict,
        (result.valves[index],),
        ("rocker",),
    )
