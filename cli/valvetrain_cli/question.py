"""A question of the sheet, and the command that asks it.

A command file describes its question; this file does for all of them what is the same: reading the sheet,
running the studies that the question builds on, verdicts, table or JSON, plot, cautions, exit status.
"""

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.options import doubt_options, shared

if TYPE_CHECKING:
    from valvetrain.checks.verdict import Check
    from valvetrain.setup.setup import Setup

__all__ = ["Question", "asked", "question_command"]

Results = Mapping[str, Any]


@dataclass(frozen=True)
class Question:
    """One question of the sheet. Its functions import what they need when they are called.

    Attributes:
        name: the command's name, and the key of its result.
        help: the question, as the command's help.
        study: (setup, results of the questions it builds on, options of its own) -> frozen result.
        checks: (setup, results with its own, unit system) -> verdicts.
        table: prints (result, verdicts, unit system) for a person.
        document: (result, unit system) -> what stands under "results" in JSON.
        figure: (setup, results with its own, unit system) -> matplotlib figure.
        needs: names of the questions whose results it takes.
        cautions: shown with the answer.
        in_check: False for a study that is too long for `check`.
        detail: prints more of (result, verdicts, unit system), in its own command only.
        report_figure: the figure of the report, where `figure` takes seconds; None where there is none.
    """

    name: str
    help: str
    study: Callable[..., Any]
    checks: "Callable[[Setup, Results, str], list[Check]]"
    table: "Callable[[Any, list[Check], str], None]"
    document: Callable[[Any, str], dict[str, Any]]
    figure: "Callable[[Setup, Results, str], Any]"
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=())
    in_check: bool = True
    detail: "Callable[[Any, list[Check], str], None] | None" = None
    report_figure: "Callable[[Setup, Results, str], Any] | None" = None


def asked(setup: "Setup", questions: tuple[str, ...], **options: Any) -> dict[str, Any]:
    """Run the studies of the questions named, and of those that they build on.

    `options` go to the study of the last question named.
    """
    results: dict[str, Any] = {}
    for name in questions:
        _run(setup, name, results, options if name == questions[-1] else {})
    return results


def _run(setup: "Setup", name: str, results: dict[str, Any], options: dict[str, Any]) -> None:
    from valvetrain_cli.questions import question

    if name in results:
        return
    wanted = question(name)
    for other in wanted.needs:
        _run(setup, other, results, {})
    results[name] = wanted.study(setup, results, **options)


def question_command(
    question: Question, prepare: Callable[..., dict[str, Any]] | None = None
) -> click.Command:
    """Make the command that asks a question.

    Args:
        question: what is asked.
        prepare: (setup, the command's own options by name) -> options of the study; it may end the command
            with `bad_input`. Add the own options as decorators on what is returned.
    """

    @shared
    @doubt_options
    def command(
        sheet: Path,
        as_json: bool,
        units: str | None,
        plot: Path | None,
        force: bool,
        strict: bool,
        samples: int | None,
        seed: int,
        budget: bool,
        **own: Any,
    ) -> None:
        from valvetrain_cli.doubt import budget_document, drawn, print_budget, print_draws
        from valvetrain_cli.running import check_target, exit_status, read_sheet, write_whole

        check_target(plot, force)
        setup = read_sheet(sheet)
        options = prepare(setup, **own) if prepare is not None else own
        with drawn(samples, seed):
            results = asked(setup, (question.name,), **options)
        system = units or setup.units
        checks = question.checks(setup, results, system)
        if plot is not None:
            from valvetrain.plots.sheets import saved

            if budget:
                from valvetrain.plots.budget_bars import budget_sheet

                figure = budget_sheet(setup.title, results[question.name], system, setup.valves)
            else:
                figure = question.figure(setup, results, system)
            write_whole(plot, lambda path: saved(figure, path))
        result = results[question.name]
        if as_json:
            from valvetrain_cli.json_out import print_document

            document = question.document(result, system)
            extra: dict[str, Any] = {} if samples is None else {"samples": samples, "seed": seed}
            if budget:
                extra["budget"] = budget_document(result, system)
            print_document(question.name, str(sheet), document, checks, question.cautions, system, extra)
        else:
            from valvetrain_cli.tables import print_cautions, print_to_do

            question.table(result, checks, system)
            if question.detail is not None:
                question.detail(result, checks, system)
            print_draws(samples, seed)
            if budget:
                print_budget(result, system)
            print_to_do(checks, system)
            print_cautions(question.cautions)
        sys.exit(exit_status([check.verdict for check in checks], strict))

    return click.command(question.name, help=question.help)(command)
