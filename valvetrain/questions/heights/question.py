"""`heights`: the height stack from cam to valve tip, solved from the adjusters."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.heights.study import HeightsResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "HeightsResult":
    from valvetrain.questions.heights.study import heights_study

    return heights_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    return []


def _tables(result: "HeightsResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.heights.tables import heights_tables

    return heights_tables(result, checks, system)


def _document(result: "HeightsResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.heights.document import heights_document

    return heights_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.heights.figure import heights_figure

    return heights_figure(setup, results["heights"], system)


QUESTION = Question(
    name="heights",
    help="What do the adjusters say about the height stack from cam to valve tip?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
    in_check=False,
)
