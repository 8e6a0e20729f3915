"""`sensitivity`: what a shop step of each dimension does to lift, pattern and ratio."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.sensitivity.study import SensitivityResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "SensitivityResult":
    from valvetrain.questions.sensitivity.study import sensitivity_study

    return sensitivity_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    return []


def _tables(result: "SensitivityResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.sensitivity.tables import sensitivity_tables

    return sensitivity_tables(result, checks, system)


def _document(result: "SensitivityResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.sensitivity.tables import sensitivity_document

    return sensitivity_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.rocker.figure import rocker_figure

    return rocker_figure(setup, results["rocker"], system, "shims")


QUESTION = Question(
    name="sensitivity",
    help="What does a shop step of each dimension do to lift, pattern and ratio?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    in_check=False,
)
