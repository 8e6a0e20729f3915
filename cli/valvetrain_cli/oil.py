"""`valvetrain oil`: the oil's way to the rockers, new and worn, and what each change brings."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import OIL
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.oil.study import OilResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "OilResult":
    from valvetrain.questions.oil.study import OilNetworkError, oil_study
    from valvetrain_cli.running import bad_input

    try:
        return oil_study(setup)
    except OilNetworkError as fault:
        bad_input([str(fault)])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.oil.checks import oil_checks

    return oil_checks(setup, results["oil"], system)


def _table(result: "OilResult", checks: "list[Check]", system: str) -> None:
    """Print the layouts side by side, then the rockers of the engine as it is."""
    from valvetrain_cli.oil_tables import print_oil

    print_oil(result, checks, system)


def _document(result: "OilResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import quantity_json, valve_rows

    def flows(each: Mapping[str, float]) -> dict[str, Any]:
        return {name: quantity_json(value, "flow", system) for name, value in each.items()}

    return {
        "viscosity": quantity_json(result.oil.kinematic, "viscosity", system),
        "viscosity_basis": result.oil.basis,
        "missing": result.missing or None,
        "condition": result.now or None,
        "valves": valve_rows(result, system),
        "layouts": [
            {
                "layout": case.layout,
                "condition": case.condition,
                "taken": quantity_json(case.fed, "flow", system),
                "supply": flows(case.supply),
                "away": flows(case.away),
                "starved": list(case.starved),
                "greatest_reynolds": {"passage": case.reynolds[1], "value": case.reynolds[0]},
                "rockers": [
                    {
                        "valve": valve,
                        "pressure": quantity_json(pressure, "oil_pressure", system),
                        "flow": quantity_json(flow, "flow", system),
                        "share": quantity_json(share, "fraction", system),
                    }
                    for valve, pressure, flow, share in zip(
                        result.valves, case.pressure, case.flow, case.share, strict=True
                    )
                ],
            }
            for case in result.cases
        ],
    }


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.oil.figure import oil_sheet

    return oil_sheet(setup, results["oil"], system)


QUESTION = Question(
    name="oil",
    help="Does oil reach every rocker, with new bushings and worn ones, and what would each change bring?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(OIL,),
    in_check=False,
)
command = question_command(QUESTION)
