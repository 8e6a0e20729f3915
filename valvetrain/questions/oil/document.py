"""The oil as JSON: every valve as it is, and every layout new and worn."""

from typing import Any

from valvetrain.answers.document import quantity_json, record, valve_rows
from valvetrain.questions.oil.study import OilCase, OilResult

__all__ = ["oil_document"]


def oil_document(result: OilResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    return {
        "viscosity": quantity_json(result.oil.kinematic, "viscosity", system),
        "viscosity_basis": result.oil.basis,
        "missing": result.missing or None,
        "condition": result.now or None,
        "valves": valve_rows(result, system),
        "shafts": [record(shaft, system) for shaft in result.shafts],
        "layouts": [_layout(result, case, system) for case in result.cases],
    }


def _layout(result: OilResult, case: OilCase, system: str) -> dict[str, Any]:
    """Write one layout in one condition, a row a rocker."""
    return record(case, system) | {
        "greatest_reynolds": {"passage": case.reynolds[1], "value": case.reynolds[0]},
        "rockers": [
            {
                "valve": valve,
                "pressure": quantity_json(case.pressure[index], "oil_pressure", system),
                "flow": quantity_json(case.flow[index], "flow", system),
                "share": quantity_json(case.share[index], "fraction", system),
            }
            for index, valve in enumerate(result.valves)
        ],
    }
