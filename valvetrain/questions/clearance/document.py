"""The clearances as JSON: every valve with its path, and every cylinder."""

from typing import Any

from valvetrain.answers.document import series_json, valve_rows
from valvetrain.questions.clearance.study import ClearanceResult
from valvetrain.questions.events.document import cylinder_rows

__all__ = ["clearance_document"]


def clearance_document(result: ClearanceResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        row["path"] = series_json(result.path[index], "length", system)
    return {
        "valves": rows,
        "cylinders": cylinder_rows(
            result.cylinders,
            system,
            valve_gap=result.valve_gap,
            gap_angle=result.gap_angle,
            static_ratio=result.static_ratio,
            effective_ratio=result.effective_ratio,
        ),
        "crank_angle": series_json(result.crank_angle, "angle", system),
        "cam_position": result.cam_position,
        "described": result.described,
    }
