"""`valvetrain spring`: loads, coil bind, which springs and shims go where, stress, surge, break-in."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import SPRINGS
from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.spring.study import SpringResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "SpringResult":
    from valvetrain.questions.spring.study import spring_study

    return spring_study(setup, results["rocker"], **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.spring.checks import spring_checks

    return spring_checks(setup, results["spring"], system)


def _table(result: "SpringResult", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.spring_tables import print_springs

    print_springs(result, checks, system)


def _detail(result: "SpringResult", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.spring_tables import print_further, print_plan

    print_plan(result, checks, system)
    print_further(result, checks, system)


def _document(result: "SpringResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.spring_json import spring_document

    return spring_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    result = results["spring"]
    if result.view == "shims":
        from valvetrain.questions.spring.plan_figure import spring_plan_page

        return spring_plan_page(setup, result, system)
    if result.view == "set":
        from valvetrain.questions.spring.nested_figure import spring_set_page

        return spring_set_page(setup, result, system)
    if result.view == "surge":
        from valvetrain.questions.spring.surge_figure import spring_surge_page

        return spring_surge_page(setup, result, system)
    from valvetrain.questions.spring.panels_page import spring_sheet

    return spring_sheet(setup, result, system)


def _prepare(
    setup: "Setup", match: bool | None, every: bool, recession: str | None, view: str
) -> dict[str, Any]:
    """Turn the command's own options into those of the study."""
    options: dict[str, Any] = {"match": match, "every": every, "in_full": True, "view": view}
    if recession is not None:
        from valvetrain.parts.spec import spec_of
        from valvetrain.parts.spring import Spring
        from valvetrain.setup.values import measured
        from valvetrain_cli.running import bad_input

        try:
            options["recession"] = measured(
                recession,
                spec_of(Spring, "seat_recession"),
                "--recession",
                system=setup.units,
                instruments={},
            )
        except ValueError as error:
            bad_input([f"--recession: {error}. Write it like 0.010 or '0.25 mm'."])
    return options


QUESTION = Question(
    name="spring",
    help="Does each spring give its load, clear of coil bind, and which springs and shims go where?",
    study=_study,
    checks=_checks,
    table=_table,
    detail=_detail,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(SPRINGS,),
    remarks=lambda result: len(result.notes),
)
command = question_command(QUESTION, _prepare)
for _option in (
    click.option(
        "--view",
        type=click.Choice(["load", "set", "shims", "surge"]),
        default="load",
        help="What --plot draws: load over height valve by valve, of the whole set, before and after the "
        "plan, or surge.",
    ),
    click.option(
        "--recession",
        metavar="LENGTH",
        help="Ask for valves sunk this far by seat work, instead of what the sheet says.",
    ),
    click.option(
        "--every", is_flag=True, help="Plan shims for every spring, not only where they are needed."
    ),
    click.option(
        "--match/--no-match",
        default=None,
        help="Match the tested springs to the valves for an even set; without it only where the sheet does "
        "not say which spring is on which valve.",
    ),
):
    command = _option(command)
