"""`oil`: the oil's way to the rockers, new and worn, and what each change brings."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import OIL
from valvetrain.answers.question import Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.oil.study import OilResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "OilResult":
    from valvetrain.questions.oil.study import OilNetworkError, oil_study

    try:
        return oil_study(setup)
    except OilNetworkError as fault:
        raise Refused(str(fault)) from fault


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.oil.checks import oil_checks

    return oil_checks(setup, results["oil"], system)


def _tables(result: "OilResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.oil.tables import oil_tables

    return oil_tables(result, checks, system)


def _document(result: "OilResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.oil.document import oil_document

    return oil_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.oil.figure import oil_sheet

    return oil_sheet(setup, results["oil"], system)


QUESTION = Question(
    name="oil",
    help="Does oil reach every rocker, with new bushings and worn ones, and what would each change bring?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    cautions=(OIL,),
    in_check=False,
)
