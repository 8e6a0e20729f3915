"""What a fit found, as the JSON document."""

import math
from collections.abc import Sequence
from typing import Any

from valvetrain.answers.document import length_list, quantity_json, quantity_rows
from valvetrain.questions.fit.shafts import FittedShaft, ShaftValue
from valvetrain.questions.fit.study import FitResult
from valvetrain.questions.fit.tables import taken_for_granted
from valvetrain.setup.units import display_unit, from_si

__all__ = ["fit_document"]


def fit_document(result: FitResult, system: str) -> dict[str, Any]:
    """Return what stands under "results" in JSON."""
    return {
        "readings": result.readings,
        "parameters": [
            {
                "key": one.key,
                "of": one.called or None,
                **quantity_json(one.value, one.dimension, system, one.uncertainty),
                "measured": one.measured,
                "assumed": quantity_json(one.assumed, one.dimension, system, one.assumed_spread),
                "assumed_because": one.basis,
                "learned": one.learned,
            }
            for one in result.parameters
        ],
        "set_aside": [
            {
                "source": one.source,
                "reading": one.what,
                "read": quantity_json(one.value, one.dimension, system),
                "predicted": quantity_json(one.predicted, one.dimension, system),
                "standardized": one.standardized,
                "likely": one.slip or None,
            }
            for one in result.set_aside
        ],
        "not_separable": list(result.together),
        "taken_for_granted": taken_for_granted(result, system),
        "warnings": list(result.warnings),
        "shafts": [_shaft(one, result.valves, system) for one in result.shafts],
        "valves": quantity_rows(result, system),
        "next": [
            {
                "measure": one.what,
                "shaft": one.shaft or None,
                "readings": [
                    {
                        "measure": each.what,
                        "instrument": each.instrument,
                        "reading": quantity_json(math.nan, each.dimension, system, each.uncertainty),
                        "valves": sorted({result.valves[reading.valve] for reading in each.readings}),
                    }
                    for each in one.chosen
                ],
                "verdicts_decided": one.decided,
                "u_now": _spreads(one.now, system),
                "u_after": _spreads(one.after, system),
            }
            for one in result.next
        ],
    }


def _shaft(one: FittedShaft, valves: Sequence[str], system: str) -> dict[str, Any]:
    return {
        "shaft": one.shaft.name or None,
        "role": one.shaft.role or None,
        "valves": [valves[index] for index in one.shaft.members],
        "height": _value(one.height, system),
        "stand_shim_change": _value(one.shim, system),
        "answers": [
            {
                "probability": each.weight,
                "stand_shim_change": _value(each.shim, system),
                "from_stock": length_list(each.plan.stack, system),
                "remove_first": each.plan.removed,
                "shaft_height": _value(each.height, system),
            }
            for each in one.answers
        ],
        "ambiguity": one.ambiguity or None,
    }


def _value(one: ShaftValue, system: str) -> dict[str, Any]:
    entry = quantity_json(one.value, "length", system, one.uncertainty)
    for name, end in (("low95", one.low), ("high95", one.high)):
        entry[name] = quantity_json(end, "length", system)["value"]
    return entry


def _spreads(spreads: Any, system: str) -> dict[str, Any]:
    return {
        name: {
            "value": from_si(value, "length", system, difference=True) if math.isfinite(value) else None,
            "unit": display_unit("length", system),
        }
        for name, value in spreads.items()
    }
