"""`lash`: ramps, adjuster, cold and hot."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.lash.answer import LashAnswer
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]

WIDEST_LASH = 0.003
HOT = (
    "hot lash is measured with the engine stopped and the ignition off; parts are hot enough to burn. The "
    "engine maker's manual comes first."
)


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "LashAnswer":
    from valvetrain.questions.lash.answer import lash_answer

    return lash_answer(setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.lash.ramp_checks import ramp_checks

    return ramp_checks(setup, results["lash"], system)


def _prepare(setup: "Setup", lash: str | None, lash_change: str | None) -> dict[str, Any]:
    from valvetrain.answers.asked_lengths import several_lengths

    if lash is not None and lash_change is not None:
        raise Refused("--lash and --lash-change: give one of them.")
    if lash_change is not None:
        lashes = several_lengths(lash_change, "--lash-change", setup.units, -WIDEST_LASH, WIDEST_LASH)
        return {"lashes": lashes, "changed": True}
    return {} if lash is None else {"lashes": several_lengths(lash, "--lash", setup.units, 0.0, WIDEST_LASH)}


def _tables(result: "LashAnswer", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.lash.tables import lash_tables

    return lash_tables(result, checks, system)


def _details(result: "LashAnswer", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.lash.tables import lash_details

    return lash_details(result, checks, system)


def _document(result: "LashAnswer", system: str) -> dict[str, Any]:
    from valvetrain.questions.lash.document import lash_document

    return lash_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.lash.figure import ramp_sheet

    return ramp_sheet(setup, results["lash"], system)


QUESTION = Question(
    name="lash",
    help="Is the lash inside the cam's ramps, cold and hot, and how is it set?",
    study=_study,
    checks=_checks,
    tables=_tables,
    details=_details,
    document=_document,
    figure=_figure,
    cautions=(TURNING, HOT),
    options=(
        Option(
            "lash",
            "A range FIRST:LAST:STEP such as 0.012:0.024:0.002: ramp left and seating speed against it.",
            metavar="LASH",
        ),
        Option(
            "lash-change",
            "The same against a change of each valve's own lash, such as -0.004:0.004:0.002.",
            metavar="CHANGE",
        ),
    ),
    prepare=_prepare,
)
