"""`interference`: rocker, retainer, seal and stand through the lift."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.interference.study import InterferenceResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "InterferenceResult":
    from valvetrain.questions.interference.study import interference_study

    return interference_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.interference.checks import interference_checks

    return interference_checks(setup, results["interference"], system)


def _tables(result: "InterferenceResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.interference.tables import interference_tables

    return interference_tables(result, checks, system)


def _details(result: "InterferenceResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.interference.tables import interference_details

    return interference_details(result, checks, system)


def _document(result: "InterferenceResult", system: str) -> dict[str, Any]:
    from valvetrain.answers.document import valve_rows

    return {"asked": result.asked, "valves": valve_rows(result, system)}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.interference.figure import interference_figure

    return interference_figure(setup, results["interference"], system)


QUESTION = Question(
    name="interference",
    help="Do rocker, retainer, seal and stand clear each other through the lift?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
    details=_details,
)
