"""`valvetrain center`: rockers along the shaft."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question, question_command

if TYPE_CHECKING:
    from valvetrain.checks.verdict import Check
    from valvetrain.setup.setup import Setup
    from valvetrain.studies.centering_study import CenteringResult

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "CenteringResult":
    from valvetrain.studies.centering_study import centering_study

    return centering_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.checks.centering_checks import centering_checks

    return centering_checks(setup, results["center"], system)


def _table(result: "CenteringResult", checks: "list[Check]", system: str) -> None:
    """Print the rockers along the shaft as a table."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import print_table, verdict_cells

    unit = display_unit("length", system)
    print_table(
        f"Centering along the shaft: lengths in {unit}, offset positive toward the flywheel end",
        result.valves,
        [
            ("offset", result.offset_before),
            ("allowed +-", result.offset_limit),
            ("contact kept on tip %", result.contact_share),
            ("end clearance", result.end_clearance_before),
            ("offset after shims", result.offset_after),
            ("end clearance after", result.end_clearance),
        ],
        system,
        verdict_cells(checks, result.valves),
    )


def _document(result: "CenteringResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import valve_rows

    return {"valves": valve_rows(result, system)}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.plots.sheets import centering_sheet

    return centering_sheet(setup, results["rocker"], results["center"], system)


QUESTION = Question(
    name="center",
    help="Does each rocker sit over its stem along the shaft, and which rocker shims move it there?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
)
command = question_command(QUESTION)
