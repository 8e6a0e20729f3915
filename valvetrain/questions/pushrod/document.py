"""The pushrods as JSON: every valve, and the lengths for the whole set."""

from typing import Any

from valvetrain.answers.document import length_list, quantity_json, valve_rows
from valvetrain.questions.pushrod.study import PushrodResult

__all__ = ["pushrod_document"]


def pushrod_document(result: PushrodResult, system: str) -> dict[str, Any]:
    """Return every valve, and the lengths for the whole set."""
    plan = result.plan
    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        place = int(plan.chosen[index])
        chosen = plan.lengths[place] if place >= 0 else float("nan")
        row["length_chosen"] = quantity_json(chosen, "length", system)
        row["pushrod_stays"] = bool(plan.kept[index])
        row["exposure_with_length_chosen"] = quantity_json(plan.exposure[index], "length", system)
    return {
        "valves": rows,
        "set": {
            "lengths": length_list(plan.lengths, system),
            "lengths_as_stated": length_list(plan.stated, system),
            "split": plan.split,
            "best_single_length_as_stated": quantity_json(plan.single_stated, "length", system),
            "worst_from_wanted_with_one_length": quantity_json(plan.single_worst, "length", system),
            "reason": plan.reason,
        },
    }
