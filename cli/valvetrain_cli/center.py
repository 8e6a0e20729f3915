"""`valvetrain center`: rockers along the shaft, one rocker at a time or whole shafts at once."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.center.study import CenteringResult
    from valvetrain.setup.setup import Setup
    from valvetrain.setup.tables.recheck import Reading

__all__ = ["QUESTION", "command"]


def _study(
    setup: "Setup", results: Mapping[str, Any], readings: "dict[str, Reading] | None" = None
) -> "CenteringResult":
    from valvetrain.questions.center.study import centering_study

    first = centering_study(setup, results["rocker"])
    if not readings:
        return first
    from valvetrain.questions.center.recheck import Rechecked, recheck_study
    from valvetrain.setup.faults import SheetError
    from valvetrain_cli.running import bad_input

    try:
        recheck = recheck_study(setup, results["rocker"], first, readings)
    except SheetError as error:
        bad_input([str(fault) for fault in error.faults])
    return Rechecked(**vars(recheck.now), recheck=recheck)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.center.checks import centering_checks

    return centering_checks(setup, results["center"], system)


def _table(result: "CenteringResult", checks: "list[Check]", system: str) -> None:
    """Print the rockers along the shaft as a table; asked for alone, the plan and the contact as well."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import print_table, verdict_cells

    asked = _asked()
    recheck = getattr(result, "recheck", None)
    if recheck is not None:
        from valvetrain_cli.center_plan import print_recheck

        print_recheck(recheck, system)
    unit = display_unit("length", system)
    print_table(
        f"Centering along the shaft: lengths in {unit}, offset positive toward the flywheel end",
        result.valves,
        [
            ("offset", result.offset_before),
            ("allowed +-", result.offset_limit),
            ("contact kept on tip %", result.contact_share),
            ("end clearance", result.end_clearance_before),
            ("offset after plan", result.offset_after),
            ("end clearance after", result.end_clearance),
        ],
        system,
        verdict_cells(checks, result.valves),
    )
    if asked.contact:
        _contact_table(result, unit, system)
    if result.growth is not None and asked.alone:
        print_table(
            f"Cold to hot along the shaft: lengths in {unit}",
            result.valves,
            [
                ("offset moves", result.growth.offset_growth),
                ("end clearance grows", result.growth.clearance_growth),
                ("end clearance hot", result.growth.end_clearance_hot),
            ],
            system,
        )
    if result.shafts is not None and asked.alone:
        from valvetrain_cli.center_plan import print_build_plan, print_changes

        if asked.plan:
            print_build_plan(result, system)
        print_changes(result.shafts, system)


def _contact_table(result: "CenteringResult", unit: str, system: str) -> None:
    """Print where the load stands on each tip."""
    from valvetrain_cli.tables import print_table

    print_table(
        f"Contact on the tips over the lift, seen from above: lengths in {unit}",
        result.valves,
        [
            ("line to edge of flat, least", result.edge_distance),
            ("swept area on tip %", result.area_on_tip),
            ("load off axis, most", result.load_eccentricity),
            ("arm that turns the valve", result.turning_arm),
        ],
        system,
    )


@dataclass(frozen=True)
class _Asked:
    """What the command line asks to see; `check` shows the table alone."""

    alone: bool
    plan: bool
    contact: bool
    row: bool


def _asked() -> _Asked:
    context = click.get_current_context(silent=True)
    if context is None or context.info_name != "center":
        return _Asked(False, False, False, False)
    own = context.params
    return _Asked(True, bool(own.get("plan")), bool(own.get("contact")), own.get("draw") == "row")


def _document(result: "CenteringResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import valve_rows

    rows = valve_rows(result, system)
    if result.growth is not None:
        from dataclasses import fields

        from valvetrain_cli.json_out import quantity_json

        for each in fields(result.growth):
            column = getattr(result.growth, each.name)
            for index, row in enumerate(rows):
                row[each.name] = quantity_json(
                    column.value[index], column.dimension, system, column.uncertainty[index]
                )
    document: dict[str, Any] = {"valves": rows}
    if result.shafts is not None:
        from valvetrain_cli.center_plan import plan_document

        document["plan"] = plan_document(result.shafts, system)
    recheck = getattr(result, "recheck", None)
    if recheck is not None:
        from valvetrain_cli.center_plan import recheck_document

        document["recheck"] = recheck_document(recheck, system)
    return document


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    if _asked().row:
        from valvetrain.questions.center.row_sheet import shaft_sheet

        return shaft_sheet(setup, results["center"], system)
    from valvetrain.questions.center.panels_page import centering_sheet

    return centering_sheet(setup, results["rocker"], results["center"], system)


def _prepare(setup: "Setup", recheck: Path | None, plan: bool, contact: bool, draw: str) -> dict[str, Any]:
    """Read the table of the re-check, and refuse what needs a row where the sheet has none."""
    from valvetrain_cli.running import bad_input

    wants = [name for name, on in (("--plan", plan), ("--draw row", draw == "row")) if on]
    if wants and not setup.shaft_rows:
        bad_input(
            [f"{' and '.join(wants)}: the sheet describes no shaft. Add [[row]] to setup.toml (README.md)."]
        )
    if recheck is None:
        return {}
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.tables.recheck import read_recheck

    sheet = Path(setup.sheet)
    beside = (sheet if sheet.is_dir() else sheet.parent) / recheck
    if not recheck.exists() and beside.exists():
        recheck = beside
    try:
        return {"readings": read_recheck(recheck, setup.valves, setup.units, setup.instruments)}
    except SheetError as error:
        bad_input([str(fault) for fault in error.faults])


QUESTION = Question(
    name="center",
    help="Does each rocker sit over its stem along the shaft, and which rocker shims move it there?\n\n"
    "Where the sheet describes the shaft ([[row]]), one plan for the whole of it: shims, spacers to cut and "
    "stands to move, with the fewest parts changed.",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
)
command = click.option(
    "--draw",
    type=click.Choice(["tips", "row"]),
    default="tips",
    help="What --plot draws: the contact on every tip, or the shaft from above before and after.",
)(question_command(QUESTION, _prepare))
command = click.option("--contact", is_flag=True, help="Print where the load stands on each tip as well.")(
    command
)
command = click.option(
    "--recheck",
    type=click.Path(path_type=Path, dir_okay=False),
    help="CSV of valve, offset (and end_clearance) measured after assembly by the plan: done, or the rest. "
    "Looked for beside the sheet too.",
)(command)
command = click.option(
    "--plan", is_flag=True, help="Print the build plan: the shaft in order from the front, to assemble by."
)(command)
