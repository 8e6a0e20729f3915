"""`pushrod`: length, adjuster travel, strength, angles, the hole in the head."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.pushrod.study import PushrodResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "PushrodResult":
    from valvetrain.questions.pushrod.study import pushrod_study

    return pushrod_study(setup, results["rocker"], results["spring"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.pushrod.checks import pushrod_checks

    return pushrod_checks(setup, results["pushrod"], system)


def _tables(result: "PushrodResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.pushrod.tables import pushrod_tables

    return pushrod_tables(result, checks, system)


def _details(result: "PushrodResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.pushrod.tables import pushrod_details

    return pushrod_details(result, checks, system)


def _document(result: "PushrodResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.pushrod.document import pushrod_document

    return pushrod_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.pushrod.figure import pushrod_figure

    return pushrod_figure(setup, results["pushrod"], system)


QUESTION = Question(
    name="pushrod",
    help="Which pushrod length, does each adjuster sit in its range, is the pushrod strong and clear?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    needs=("rocker", "spring"),
    cautions=(TURNING,),
    details=_details,
)
