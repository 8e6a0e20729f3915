"""`valvetrain spring`: loads, coil bind, shims."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.cautions import SPRINGS
from valvetrain_cli.question import Question, question_command

if TYPE_CHECKING:
    from valvetrain.checks.verdict import Check
    from valvetrain.setup.setup import Setup
    from valvetrain.studies.spring_study import SpringResult

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "SpringResult":
    from valvetrain.studies.spring_study import spring_study

    return spring_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.checks.spring_checks import spring_checks

    return spring_checks(setup, results["spring"], system)


def _table(result: "SpringResult", checks: "list[Check]", system: str) -> None:
    """Print the springs as a table."""
    from valvetrain.setup.units import display_unit, shown
    from valvetrain_cli.tables import print_table, verdict_cells

    length, force = display_unit("length", system), display_unit("force", system)
    rate = display_unit("stiffness", system)
    shims = [
        " + ".join(shown(each, "length", system).removesuffix(f" {length}") for each in stack) or "-"
        for stack in result.shims
    ]
    print_table(
        f"Springs: heights in {length}, loads in {force}, rate in {rate}",
        result.valves,
        [
            ("installed height", result.installed_height),
            ("rate", result.rate),
            ("seat load", result.seat_load),
            ("open load", result.open_load),
            ("to coil bind", result.bind_clearance),
            ("shims to fit", shims),
            ("seat load after", result.seat_load_after),
            ("to coil bind after", result.bind_clearance_after),
        ],
        system,
        verdict_cells(checks, result.valves),
    )


def _document(result: "SpringResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import valve_rows

    return {"valves": valve_rows(result, system)}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.plots.sheets import spring_sheet

    return spring_sheet(setup, results["spring"], system)


QUESTION = Question(
    name="spring",
    help="Does each spring give its load, clear of coil bind, and which shims go under it?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(SPRINGS,),
)
command = question_command(QUESTION)
