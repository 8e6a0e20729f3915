"""`rocker`: sweep, ratio, lift and stand shim."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.rocker.study import RockerResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(setup: "Setup", results: Mapping[str, Any], square_at: float | None = None) -> "RockerResult":
    from valvetrain.questions.rocker.study import rocker_study

    return rocker_study(setup, square_at)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.rocker.checks import rocker_checks

    return rocker_checks(setup, results["rocker"], system)


def _tables(result: "RockerResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.rocker.tables import rocker_tables

    return rocker_tables(result, checks, system)


def _details(result: "RockerResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.rocker.tables import rocker_details

    return rocker_details(result, checks, system)


def _document(result: "RockerResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.rocker.document import rocker_document

    return rocker_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str, draw: str = "linkage") -> Any:
    from valvetrain.questions.rocker.figure import rocker_figure

    return rocker_figure(setup, results["rocker"], system, draw)


def _prepare(setup: "Setup", square_at: str | None) -> dict[str, Any]:
    """Read the lift fraction of the command line."""
    from valvetrain.parts.spec import Spec
    from valvetrain.setup.values import measured

    if square_at is None:
        return {}
    written = square_at.strip()
    spec = Spec("lift fraction", "fraction", low=0.0, high=1.0)
    try:
        # A plain number is the fraction itself, 0.5; a per cent sign makes it per cent.
        text = written if written.endswith("%") else f"{float(written.replace(',', '.')) * 100} %"
        value = measured(text, spec, "--square-at", system=setup.units, instruments={}).value
    except ValueError:
        raise Refused(f"--square-at {written}: is not a fraction of lift from 0 to 1 (or '33 %').") from None
    return {"square_at": value}


QUESTION = Question(
    name="rocker",
    help="Does each rocker meet the valve tip where it should, and which stand shim puts it right?",
    study=_study,
    checks=_checks,
    tables=_tables,
    details=_details,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
    remarks=lambda result: int(bool(result.ratio_apart)),
    options=(
        Option(
            "square-at",
            "Lift fraction at which the arm should stand square to the stem, such as 0.5 or '33 %'. Left "
            "out: half lift, and the stand shim is chosen for the narrowest sweep.",
            metavar="FRACTION",
        ),
        Option(
            "draw",
            "What --plot draws: the linkage to scale, the ratio curve, the contact path on the tip, or sweep "
            "and lift against stand shim.",
            kind="choice",
            choices=("linkage", "ratio", "contact", "shims"),
            default="linkage",
            to="figure",
        ),
    ),
    prepare=_prepare,
)
