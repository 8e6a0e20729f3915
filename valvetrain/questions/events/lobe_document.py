"""A lobe as JSON."""

import math
from typing import Any

from valvetrain.answers.document import quantity_json
from valvetrain.questions.events.lobe_study import LobeResult
from valvetrain.questions.events.lobe_units import (
    PEAKS,
    per_degree,
    per_second,
    unit_per_degree,
    unit_per_second,
)

__all__ = ["lobe_document"]


def lobe_document(result: LobeResult, system: str) -> dict[str, Any]:
    """Return the lobe as JSON: peaks a degree and a second, and the series."""
    speed = result.cam_speed
    peaks = {}
    for name, (_, order) in PEAKS.items():
        value, doubt = result.peaks[name]
        entry: dict[str, Any] = {
            "value": per_degree(value, order, system),
            "unit": unit_per_degree(order, system),
        }
        if math.isfinite(doubt):
            entry["u"] = per_degree(doubt, order, system)
        if order and math.isfinite(speed):
            entry["per_second"] = {
                "value": per_second(value * speed**order, system),
                "unit": unit_per_second(order, system),
            }
        peaks[name] = entry
    series = {
        name: {
            "values": [per_degree(float(each), order, system) for each in getattr(result, name)],
            "unit": unit_per_degree(order, system),
        }
        for order, name in enumerate(("lift", "velocity", "acceleration", "jerk"))
    }
    return {
        "role": result.role,
        "valves": list(result.valves),
        "source": result.source,
        "synthesised": result.source == "card",
        "peaks": peaks,
        "noise": quantity_json(result.noise, "length", system),
        "runout": quantity_json(result.runout, "length", system),
        "zero_offset": quantity_json(result.zero_offset, "length", system),
        "cam_angle": {"values": [math.degrees(each) for each in result.angle], "unit": "deg"},
        **series,
        "residual_angle": {"values": [math.degrees(each) for each in result.residual_angle], "unit": "deg"},
        "residuals": {
            "values": [per_degree(float(each), 0, system) for each in result.residuals],
            "unit": unit_per_degree(0, system),
        },
    }
