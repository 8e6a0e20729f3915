"""What to measure next, as the JSON document."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from valvetrain.answers.document import quantity_json
from valvetrain.questions.next.checks import NextMeasurement

__all__ = ["next_document"]


def next_document(
    ranked: Sequence[NextMeasurement], counts: Mapping[str, int], system: str
) -> dict[str, Any]:
    """Return what stands under "results"; `counts`: verdicts unsure and unmeasured."""
    return {**counts, "measurements": [_row(one, system) for one in ranked]}


def _row(one: NextMeasurement, system: str) -> dict[str, Any]:
    return {
        "measure": [
            {
                "key": key,
                "instrument": instrument,
                "reading": quantity_json(math.nan, dimension, system, doubt),
            }
            for key, instrument, doubt, dimension in zip(
                one.keys, one.instruments, one.uncertainty, one.dimension, strict=True
            )
        ],
        "valves": list(one.valves),
        "verdicts_decided": one.decided,
        "verdicts_opened": one.opened,
        "after": [
            {
                "quantity": name,
                "now": quantity_json(math.nan, dimension, system, now),
                "after": quantity_json(math.nan, dimension, system, after),
            }
            for name, (dimension, now, after) in one.after.items()
        ],
    }
