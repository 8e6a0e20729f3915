"""The rockers as JSON: every valve, its path through the lift, what a shim leaves, its cures; and shafts."""

from typing import Any

from valvetrain.answers.document import quantity_json, record, series_json, valve_rows
from valvetrain.questions.rocker.cures import cures_of
from valvetrain.questions.rocker.path import rocker_path
from valvetrain.questions.rocker.study import RockerResult

__all__ = ["rocker_document"]


def rocker_document(result: RockerResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = valve_rows(result, system)
    path = rocker_path(result)
    for index, row in enumerate(rows):
        row["through_lift"] = {
            "lift_share": [float(each) for each in path.lift_share],
            "valve_lift": series_json(path.valve_lift[index], "length", system),
            "contact": series_json(path.contact[index], "length", system),
            "to_chamfer": series_json(path.chamfer_distance[index], "length", system),
            "ratio": series_json(path.ratio[index], "ratio", system),
        }
        row["stand_shim_advised"] = quantity_json(result.stand.change[index], "length", system)
        row["stand_shim_best_in_stock"] = quantity_json(result.stand.best[index], "length", system)
        row["with_best_in_stock"] = record(result.stand.with_best, system, index)
        row["cures"] = [record(cure, system) for cure in cures_of(result.side, result.stand, index)]
        if result.pads is not None:
            row["feeler_error"] = quantity_json(result.pads.feeler_error[index], "length", system)
    shafts = [
        {
            "name": plan.group.name,
            "valves": [result.valves[index] for index in plan.group.members],
            "standing_apart": [result.valves[index] for index in plan.group.apart],
            "not_measured": [result.valves[index] for index in plan.group.unknown],
            **record(plan, system),
        }
        for plan in result.stand.shafts
    ]
    square = quantity_json(result.square_at_wanted, "fraction", system)
    return {"valves": rows, "shafts": shafts, "square_at_wanted": square}
