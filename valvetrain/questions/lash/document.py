"""The lash as JSON: every valve, and what a range of lashes does."""

from typing import Any

from valvetrain.answers.document import quantity_json, series_json, valve_rows
from valvetrain.questions.lash.answer import LashAnswer

__all__ = ["lash_document"]


def lash_document(result: LashAnswer, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        row["growth_from"] = result.thermal.source[index]
        row["growth_parts"] = [
            {"part": part} | quantity_json(value, "length", system)
            for part, value in result.thermal.parts[index]
        ]
        row["growth_lacks"] = list(result.thermal.missing[index])
    document: dict[str, Any] = {"valves": rows}
    if result.trend is not None:
        trend = result.trend
        document["against_lash"] = {
            "lash": series_json(trend.lashes, "length", system),
            "valves": [
                {"valve": valve}
                | {
                    name: series_json(trend.values[name][:, index], dimension, system)
                    for name, dimension in trend.dimensions.items()
                }
                for index, valve in enumerate(result.valves)
            ],
        }
    return document
