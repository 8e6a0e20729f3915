"""The height stack as JSON."""

from typing import Any

from valvetrain.answers.document import quantity_json, valve_rows
from valvetrain.questions.heights.checks import ledger_sentences
from valvetrain.questions.heights.study import HeightsResult

__all__ = ["heights_document"]


def heights_document(result: HeightsResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    return {
        "valves": valve_rows(result, system),
        "ledger": [
            {
                "item": line.item,
                "valve": line.valve or None,
                "change": quantity_json(line.change, "length", system, line.uncertainty),
                "moves_cam_to_shaft": line.reach,
                "moves_shaft_to_tip": line.rise,
            }
            for line in result.ledger.lines
        ],
        "unknown_total": quantity_json(result.total.value, "length", system, result.total.uncertainty),
        "scatter": result.total.scatter if result.total.scatter == result.total.scatter else None,
        "standing_apart": list(result.total.apart),
        "unknown_items": list(result.ledger.unknown_items),
        "meaning": ledger_sentences(result, system),
    }
