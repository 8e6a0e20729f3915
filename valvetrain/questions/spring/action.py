"""What to do with the spring of one valve, in a few words."""

from collections.abc import Sequence

from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.units import brief

__all__ = ["spring_action"]


def spring_action(result: SpringResult, index: int, system: str) -> tuple[str, str]:
    """Return (the action, what it comes to); empty where the plan has none."""
    own = result.plan.valves[index]
    if own.reason is not None:
        if own.reason.wrong_spring:
            name = f" {result.spring[index]}" if result.spring[index] else ""
            return f"fit another spring for{name}: too weak or the wrong one", ""
        return "fit other keepers, retainer or spring: no stack of shims helps", ""
    steps = []
    before, after = result.spring[index], result.spring_after[index]
    if result.matched and after and after != before:
        steps.append(f"fit spring {after}" + (f" for {before}" if before else ""))
    if own.take_out:
        steps.append(f"take out {_shims(own.take_out, system)}")
    if own.put_in:
        steps.append(f"put in {_shims(own.put_in, system)}")
    if not steps:
        return "", ""
    seat = brief(float(result.seat_load_after.value[index]), "force", system)
    bind = brief(float(result.bind_clearance_after.value[index]), "length", system)
    return ", ".join(steps), f"{bind} to bind, {seat} on seat"


def _shims(shims: Sequence[float], system: str) -> str:
    """Write shims, those of one thickness counted: `one 0.060`, `two 0.015`."""
    counts: dict[str, int] = {}
    for each in shims:
        text = brief(each, "length", system)
        counts[text] = counts.get(text, 0) + 1
    words = {1: "one", 2: "two", 3: "three"}
    listed = [f"{words.get(count, str(count))} {text}" for text, count in counts.items()]
    return " and ".join(listed) + (" shim" if sum(counts.values()) == 1 else " shims")
