"""The plan as JSON."""

from typing import Any

from valvetrain.answers.document import quantity_json, record
from valvetrain.questions.plan.study import PlanResult

__all__ = ["plan_document"]


def plan_document(result: PlanResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    return {
        "steps": [
            {"order": number, **record(step, system), "shaft": step.shaft or None}
            for number, step in enumerate(result.steps, 1)
        ],
        "before": {name: dict(own) for name, own in result.before.items()},
        "after": {name: dict(own) for name, own in result.after.items()},
        "probability_before": quantity_json(result.probability_before, "fraction", system),
        "probability_after": quantity_json(result.probability_after, "fraction", system),
        "left": [record(each, system) for each in result.left],
        "measure_first": [
            {"measure": list(one.keys), "with": list(one.instruments), "valves": list(one.valves)}
            for one in result.measure_first
        ],
    }
