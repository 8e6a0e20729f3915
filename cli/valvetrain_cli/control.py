"""`valvetrain control`: to which speed the valves follow the cam, and what would raise it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import CONTROL
from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.control.elastic_result import ElasticResult
    from valvetrain.questions.control.loads import RoleLoads
    from valvetrain.questions.control.study import ControlResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "ControlAnswer", "command"]


@dataclass(frozen=True)
class ControlAnswer:
    """The rigid answer at every valve; loads where asked by itself; the elastic sweep where asked for."""

    rigid: "ControlResult"
    loads: "tuple[RoleLoads, ...]" = ()
    elastic: "ElasticResult | None" = None
    curves: bool = False

    @property
    def valves(self) -> tuple[str, ...]:
        """Return the names of the valves, for the budget of uncertainty."""
        return self.rigid.valves


def _study(
    setup: "Setup",
    results: Mapping[str, Any],
    *,
    asked: bool = False,
    elastic: bool = False,
    curves: bool = False,
    speeds: int = 60,
    top: float | None = None,
) -> ControlAnswer:
    from valvetrain.questions.control.study import control_study
    from valvetrain_cli.running import bad_input

    try:
        rigid = control_study(setup, results["spring"], results["rocker"].net_lift, asked=asked)
    except ValueError as error:
        bad_input([f"setup.toml: sizes that no part can have: {error}"])
    if not asked:
        return ControlAnswer(rigid)
    idle = [
        valve
        for valve, load in zip(rigid.valves, results["spring"].seat_load.value, strict=True)
        if load <= 0
    ]
    if idle:
        bad_input(
            [
                f"valve {', '.join(idle)}, spring: as measured it does not reach the closed valve (no seat "
                "load). Check its load tests, free length and installed height."
            ]
        )
    from valvetrain.questions.control.loads import control_loads

    swept = _swept(setup, rigid, speeds, top) if elastic else None
    return ControlAnswer(rigid, control_loads(setup, rigid), swept, curves)


def _swept(setup: "Setup", rigid: "ControlResult", speeds: int, top: float | None) -> "ElasticResult":
    """Run the elastic sweep, with a bar on a terminal."""
    from valvetrain.questions.control.elastic_study import elastic_study
    from valvetrain_cli.progress import bar

    with bar("elastic sweep") as tell:
        return elastic_study(setup, rigid, speeds=speeds, top=top, progress=tell)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.control.checks import control_checks, elastic_checks

    answer: ControlAnswer = results["control"]
    checks = control_checks(setup, answer.rigid, system)
    if answer.elastic is not None:
        checks += elastic_checks(setup, answer.elastic, system)
    return checks


def _table(answer: ControlAnswer, checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.control_tables import print_control

    print_control(answer, checks, system)


def _document(answer: ControlAnswer, system: str) -> dict[str, Any]:
    from valvetrain_cli.control_json import control_document

    return control_document(answer, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    """Draw the answer; the elastic sweep is run for it where it was not asked for."""
    from valvetrain.questions.control.figure import control_sheet

    answer: ControlAnswer = results["control"]
    elastic = answer.elastic or _swept(setup, answer.rigid, 60, None)
    return control_sheet(setup, answer.rigid, answer.loads, elastic, system)


def _report_figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    """Draw the forces; the elastic sweep takes too long for a page."""
    from valvetrain.questions.control.loads import control_loads
    from valvetrain.questions.control.loads_sheet import control_loads_sheet

    return control_loads_sheet(setup, control_loads(setup, results["control"].rigid), system)


QUESTION = Question(
    name="control",
    help="To which speed do the valves follow the cam, how sure is that, and what would raise it?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker", "spring"),
    cautions=(CONTROL,),
    report_figure=_report_figure,
)


def _prepare(
    setup: "Setup", *, elastic: bool, curves: bool, speeds: int, top: float | None
) -> dict[str, Any]:
    from math import pi

    from valvetrain_cli.running import bad_input

    if top is not None and not 100.0 <= top <= 30000.0:
        bad_input([f"--to {top:g}: outside the range 100 to 30000 rpm."])
    return {
        "asked": True,
        "elastic": elastic,
        "curves": curves,
        "speeds": speeds,
        "top": None if top is None else top * pi / 30.0,
    }


command = question_command(QUESTION, _prepare)
for _option in (
    click.option("--to", "top", type=float, metavar="RPM", help="Highest engine speed of the elastic sweep."),
    click.option(
        "--speeds",
        type=click.IntRange(12, 400),
        default=60,
        show_default=True,
        help="Number of speeds of the elastic sweep.",
    ),
    click.option(
        "--curves", is_flag=True, help="With --json: add every load over crank angle, at each of the speeds."
    ),
    click.option(
        "--elastic",
        is_flag=True,
        help="Run the elastic model too (some seconds): where the train parts, and where the valve bounces.",
    ),
):
    command = _option(command)
