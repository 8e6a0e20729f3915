"""The lash as JSON: every valve, and what a range of lashes does."""

import math
from typing import Any

import numpy as np

from valvetrain.answers.document import quantity_json, series_json, valve_rows
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.lash.answer import LashAnswer
from valvetrain.setup.units import display_unit, from_si

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
    document: dict[str, Any] = {"valves": rows, "shafts": _shafts(result, system)}
    if result.trend is not None:
        trend = result.trend
        document["against_lash"] = {
            "lash_change" if trend.changed else "lash": {
                "values": [
                    from_si(float(each), "length", system, difference=trend.changed) for each in trend.lashes
                ],
                "unit": display_unit("length", system),
            },
            "valves": [
                {"valve": valve}
                | {
                    name: series_json(trend.values[name][:, index], dimension, system)
                    | {"u": _doubts(trend.uncertainties[name][:, index], dimension, system)}
                    for name, dimension in trend.dimensions.items()
                }
                for index, valve in enumerate(result.valves)
            ],
        }
    return document


def _doubts(doubts: FloatArray, dimension: str, system: str) -> list[float | None]:
    """Write standard uncertainties; what is unknown is null."""
    return [
        float(from_si(float(each), dimension, system, difference=True)) if math.isfinite(each) else None
        for each in doubts
    ]


def _shafts(result: LashAnswer, system: str) -> list[dict[str, Any]]:
    """Write the valves of each rocker shaft and how their lash grows, the middle of each role's."""
    rows = []
    for name, own in result.shafts.items():
        grown = {
            role: np.array([result.growth.value[index] for index in own if result.roles[index] == role])
            for role in dict.fromkeys(result.roles)
        }
        growth = {
            role: quantity_json(float(np.median(each[np.isfinite(each)])), "length", system)
            for role, each in grown.items()
            if np.isfinite(each).any()
        }
        rows.append({"shaft": name, "valves": [result.valves[index] for index in own], "growth": growth})
    return rows
