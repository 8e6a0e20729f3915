"""Each shaft in one line: what is there, what the best stock shim would bring, worth it or not."""

from dataclasses import dataclass

import numpy as np

from valvetrain.answers.output import output
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup

__all__ = ["ShaftSummary", "shaft_summaries"]


@dataclass(frozen=True)
class ShaftSummary:
    """One shaft. Sweeps are the widest over the valves that decide its shim."""

    shaft: str = output(None, "its name; empty where the sheet names none")
    valves: tuple[str, ...] = output(None, "its valves")
    stand_shim_now: float = output(
        "length", "thickness under its stands now; NaN where the sheet does not say"
    )
    stand_shim_advised: float = output(
        "length", "thickness with the best change from the stock; NaN likewise"
    )
    change: float = output("length", "best change of that thickness from the stock; 0: none does better")
    exact: float = output("length", "change that would suit its valves exactly")
    sweep_now: float = output("length", "widest sweep now")
    sweep_then: float = output("length", "widest sweep with the change")
    lift_gain: float = output("length", "mean gross lift gained with the change")
    square_now: float = output("fraction", "mean lift fraction at which the arms are square to the stem now")
    off_middle_then: float = output(
        "length", "farthest middle of a pattern from the stem axis with the change"
    )
    worth_it: bool = output(None, "a valve of it is outside a limit that the change puts right")
    known: int = output(None, "how many of its valves are measured", key="measured")


def shaft_summaries(setup: Setup, result: RockerResult) -> tuple[ShaftSummary, ...]:
    """Return a summary a shaft."""
    fitted = setup.column("shaft", "stand_shim").value
    best = result.stand.with_best
    found = []
    for plan in result.stand.shafts:
        own = list(plan.group.deciding)
        now = float(fitted[plan.group.members[0]]) if plan.group.members else np.nan
        total = sum(plan.stack) if plan.removed else now + plan.change
        found.append(
            ShaftSummary(
                shaft=plan.group.name,
                valves=tuple(result.valves[index] for index in plan.group.members),
                stand_shim_now=now,
                stand_shim_advised=total,
                change=plan.change,
                exact=plan.exact,
                sweep_now=_greatest(result.sweep_width.value[own]),
                sweep_then=_greatest(best.sweep_width[own]),
                lift_gain=_mean(best.lift_gain[own]),
                square_now=_mean(result.square_at_lift_fraction.value[own]),
                off_middle_then=_greatest(np.abs(best.sweep_middle[own])),
                worth_it=bool(plan.needed and plan.change != 0.0),
                known=len(own) + len(plan.group.apart),
            )
        )
    return tuple(found)


def _greatest(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else np.nan


def _mean(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else np.nan
