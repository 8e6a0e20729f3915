"""`valvetrain interference`: rocker, retainer, seal and stand through the lift."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.interference.study import InterferenceResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "InterferenceResult":
    from valvetrain.questions.interference.study import interference_study

    return interference_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.interference.checks import interference_checks

    return interference_checks(setup, results["interference"], system)


def _table(result: "InterferenceResult", checks: "list[Check]", system: str) -> None:
    """Print the least clearances, or that nothing of it is in the sheet."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import console, print_table, verdict_cells

    if not result.asked:
        console().print(
            "Clearance of rocker, retainer, seal and stand: not asked, the sheet has no [shapes]."
        )
        return
    print_table(
        f"Least clearance through the lift, and the valve lift where: {display_unit('length', system)}",
        result.valves,
        [
            ("rocker to retainer", result.rocker_to_retainer),
            ("at lift", result.rocker_to_retainer_at),
            ("retainer to seal", result.retainer_to_seal),
            ("at lift ", result.retainer_to_seal_at),
            ("rocker to stand", result.rocker_to_stand),
            ("at lift  ", result.rocker_to_stand_at),
        ],
        system,
        verdict_cells(checks, result.valves),
    )


def _detail(result: "InterferenceResult", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.tables import console, print_hanging

    for words in dict.fromkeys(each for each in result.shapes if each):
        print_hanging(console(), "  ", f"Shapes: {words}.")
    print_hanging(
        console(),
        "  ",
        "Simple shapes are boxes and a bar: where it is close, look with clay or wire solder.",
    )


def _document(result: "InterferenceResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import valve_rows

    return {"asked": result.asked, "valves": valve_rows(result, system)}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.interference.figure import interference_figure

    return interference_figure(setup, results["interference"], system)


QUESTION = Question(
    name="interference",
    help="Do rocker, retainer, seal and stand clear each other through the lift?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
    detail=_detail,
)
command = question_command(QUESTION)
