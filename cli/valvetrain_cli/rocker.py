"""`valvetrain rocker`: sweep, ratio, lift and stand shim."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question, question_command

if TYPE_CHECKING:
    from valvetrain.checks.verdict import Check
    from valvetrain.setup.setup import Setup
    from valvetrain.studies.rocker_study import RockerResult

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "RockerResult":
    from valvetrain.studies.rocker_study import rocker_study

    return rocker_study(setup)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.checks.rocker_checks import rocker_checks

    return rocker_checks(setup, results["rocker"], system)


def _table(result: "RockerResult", checks: "list[Check]", system: str) -> None:
    """Print the rockers as a table."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import print_table, verdict_cells

    unit = display_unit("length", system)
    print_table(
        f"Rocker on the valve tip: lengths in {unit}, sweep from the stem axis, positive away from the shaft",
        result.valves,
        [
            ("gross lift", result.gross_lift),
            ("net lift", result.net_lift),
            ("mean ratio", result.mean_ratio),
            ("sweep width", result.sweep_width),
            ("least possible", result.least_sweep_width),
            ("sweep middle", result.sweep_middle),
            ("to chamfer", result.chamfer_distance),
            ("stand shim for least sweep", result.stand_shim_change_for_least_sweep),
        ],
        system,
        verdict_cells(checks, result.valves),
    )


def _document(result: "RockerResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import valve_rows

    return {"valves": valve_rows(result, system)}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.plots.sheets import rocker_sheet

    return rocker_sheet(setup, results["rocker"], system)


QUESTION = Question(
    name="rocker",
    help="Does each rocker meet the valve tip where it should, and which stand shim puts it right?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
)
command = question_command(QUESTION)
