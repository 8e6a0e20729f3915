"""`center`: rockers along the shaft, one rocker at a time or whole shafts at once."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.center.study import CenteringResult
    from valvetrain.setup.setup import Setup
    from valvetrain.setup.tables.recheck import Reading

__all__ = ["QUESTION"]


def _study(
    setup: "Setup", results: Mapping[str, Any], readings: "dict[str, Reading] | None" = None
) -> "CenteringResult":
    from valvetrain.questions.center.study import centering_study

    first = centering_study(setup, results["rocker"])
    if not readings:
        return first
    from valvetrain.questions.center.recheck import Rechecked, recheck_study

    recheck = recheck_study(setup, results["rocker"], first, readings)
    return Rechecked(**vars(recheck.now), recheck=recheck)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.center.checks import centering_checks

    return centering_checks(setup, results["center"], system)


def _tables(result: "CenteringResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.center.tables import center_tables

    return center_tables(result, checks, system)


def _details(
    result: "CenteringResult",
    checks: "list[Check]",
    system: str,
    plan: bool = False,
    contact: bool = False,
) -> "Iterable[Block]":
    from valvetrain.questions.center.tables import center_details

    return center_details(result, checks, system, plan=plan, contact=contact)


def _document(result: "CenteringResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.center.document import center_document

    return center_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str, draw: str = "tips") -> Any:
    if draw == "row":
        from valvetrain.questions.center.row_sheet import shaft_sheet

        return shaft_sheet(setup, results["center"], system)
    from valvetrain.questions.center.panels_page import centering_sheet

    return centering_sheet(setup, results["rocker"], results["center"], system)


def _prepare(setup: "Setup", recheck: Path | None, plan: bool, draw: str) -> dict[str, Any]:
    """Read the table of the re-check, and refuse what needs a row where the sheet has none."""
    wants = [name for name, on in (("--plan", plan), ("--draw row", draw == "row")) if on]
    if wants and not setup.shaft_rows:
        raise Refused(
            f"{' and '.join(wants)}: the sheet describes no shaft. Add [[row]] to setup.toml (README.md)."
        )
    if recheck is None:
        return {}
    from valvetrain.setup.tables.recheck import read_recheck

    sheet = Path(setup.sheet)
    beside = (sheet if sheet.is_dir() else sheet.parent) / recheck
    if not recheck.exists() and beside.exists():
        recheck = beside
    return {"readings": read_recheck(recheck, setup.valves, setup.units, setup.instruments)}


QUESTION = Question(
    name="center",
    help="Does each rocker sit over its stem along the shaft, and which rocker shims move it there?\n\n"
    "Where the sheet describes the shaft ([[row]]), one plan for the whole of it: shims, spacers to cut and "
    "stands to move, with the fewest parts changed.",
    study=_study,
    checks=_checks,
    tables=_tables,
    details=_details,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
    options=(
        Option(
            "plan",
            "Print the build plan: the shaft in order from the front, to assemble by.",
            kind="flag",
            to="study,tables",
        ),
        Option(
            "recheck",
            "CSV of valve, offset (and end_clearance) measured after assembly by the plan: done, or the "
            "rest. Looked for beside the sheet too.",
            kind="file",
        ),
        Option("contact", "Print where the load stands on each tip as well.", kind="flag", to="tables"),
        Option(
            "draw",
            "What --plot draws: the contact on every tip, or the shaft from above before and after.",
            kind="choice",
            choices=("tips", "row"),
            default="tips",
            to="study,figure",
        ),
    ),
    prepare=_prepare,
)
