"""The record as JSON: a row a valve, its diagnoses and its readings."""

from typing import Any

from valvetrain.answers.document import quantity_rows
from valvetrain.questions.record.study import RecordResult

__all__ = ["record_document"]


def record_document(result: RecordResult, system: str) -> dict[str, Any]:
    """Return the record's rows, its diagnoses and its readings."""
    rows = quantity_rows(result, system)
    for index, row in enumerate(rows):
        row |= {
            "readings": result.readings[index],
            "lash_state": result.lash_state[index],
            "lift_state": result.lift_state[index],
            "turned": result.turned[index],
            "next_date": result.next_date[index] or None,
            "skipped": result.skipped[index],
        }
        row["found"] = [
            {"name": each.name, "reason": each.reason, "sure": each.sure} for each in result.found[index]
        ]
        row["stands_out"] = list(result.stands_out[index])
    return {"record": result.source, "counted_in": result.axis, "valves": rows}
