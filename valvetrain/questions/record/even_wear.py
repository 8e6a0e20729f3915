"""What the valves of a role do together: even wear, told once, and when it would reach its limit."""

from collections.abc import Iterator

import numpy as np

from valvetrain.answers.table import Sentence
from valvetrain.answers.verdict import Check
from valvetrain.parts.record import AXES
from valvetrain.questions.record.study import RecordResult
from valvetrain.setup.units import shown

__all__ = ["even_wear"]


def even_wear(result: RecordResult, checks: list[Check], system: str) -> Iterator[Sentence]:
    """Tell, per role and quantity, a movement that all fellows share; what is carried on says that it is."""
    for quantity, limit_id, states in (
        ("lash", "lash_deviation", result.states.lash),
        ("lobe lift", "lobe_wear", result.states.lift_states),
    ):
        limits = {check.valve: check for check in checks if check.id == limit_id}
        for role in dict.fromkeys(result.roles):
            own = [i for i, each in enumerate(result.roles) if each == role and states.together[i]]
            if not own:
                continue
            rate = float(states.common[own[0]])
            doubt = float(states.common_uncertainty[own[0]])
            span = float(np.nanmedian(result.states.span[own]))
            told = (
                f"The {quantity} of all {role} valves moves alike, by {shown(rate * span, 'length', system)} "
                f"+-{shown(2 * doubt * span, 'length', system)} (k = 2) over the record: even wear."
            )
            yield Sentence(f"{told} {_reached(result, own, limits, rate, doubt, limit_id, system)}")


def _reached(
    result: RecordResult,
    own: list[int],
    limits: dict[str | None, Check],
    rate: float,
    doubt: float,
    limit_id: str,
    system: str,
) -> str:
    """Say when the first of the valves reaches the limit, if their common rate goes on."""
    worse = 1.0 if limit_id == "lash_deviation" else -1.0  # a lost lift is a falling one
    rate = worse * rate
    left = []
    for index in own:
        check = limits.get(result.valves[index])
        end = np.nan if check is None else check.high if rate > 0 else check.low
        if check is not None and np.isfinite(end):
            left.append((max((end - check.value) / rate, 0.0) * abs(rate), result.valves[index]))
    if not left:
        return (
            "When a limit is reached cannot be told: the value wanted, or as made, or a limit is not known."
        )
    room, valve = min(left)
    if room == 0:
        return f"{valve} is at its limit now."
    dimension = "days" if result.axis == "date" else AXES[result.axis]
    soonest, middle, latest = (
        shown(room / each, dimension, system)
        for each in (abs(rate) + 2 * doubt, abs(rate), abs(rate) - 2 * doubt)
    )
    return (
        f"Carried on beyond the record at that rate, {valve} reaches its limit first, in about {middle} from "
        f"its last reading ({soonest} to {latest}): no reading says that the rate stays."
    )
