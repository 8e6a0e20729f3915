"""Asking a question: its studies run, and the command that shows the answer.

A command file describes its question; this file does for all of them what is the same: reading the sheet,
running the studies that the question builds on, verdicts, table or JSON, plot, cautions, exit status.
"""

import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli import questions
from valvetrain_cli.options import doubt_options, shared

if TYPE_CHECKING:
    from valvetrain.setup.setup import Setup
    from valvetrain_cli.question import Question

__all__ = ["asked", "question_command"]


def asked(
    setup: "Setup",
    names: tuple[str, ...],
    *,
    of_each: Mapping[str, Mapping[str, Any]] | None = None,
    **last: Any,
) -> dict[str, Any]:
    """Run the studies of the questions named, and of those that they build on.

    Args:
        setup: the setup.
        names: of the questions.
        of_each: question -> options of its study.
        last: options of the study of the last question named.
    """
    results: dict[str, Any] = {}
    options = {**(of_each or {}), names[-1]: {**(of_each or {}).get(names[-1], {}), **last}}
    for name in names:
        _run(setup, name, results, options)
    return results


def _run(
    setup: "Setup", name: str, results: dict[str, Any], options: Mapping[str, Mapping[str, Any]]
) -> None:
    if name in results:
        return
    wanted = questions.question(name)
    for other in wanted.needs:
        _run(setup, other, results, options)
    results[name] = wanted.study(setup, results, **options.get(name, {}))


def question_command(
    question: "Question", prepare: Callable[..., dict[str, Any]] | None = None
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
        from valvetrain_cli.doubt import budget_document, drawn, draws_for, print_budget, print_draws
        from valvetrain_cli.running import check_target, exit_status, read_sheet, write_whole

        check_target(plot, force)
        setup = read_sheet(sheet)
        samples = draws_for(setup, samples)
        options = prepare(setup, **own) if prepare is not None else own
        with drawn(samples, seed):
            results = asked(setup, (question.name,), **options)
        system = units or setup.units
        checks = question.checks(setup, results, system)
        if plot is not None:
            from valvetrain.answers.page import saved

            if budget:
                from valvetrain.answers.budget_bars import budget_sheet

                figure = budget_sheet(setup.title, results[question.name], system, setup.valves)
            else:
                figure = question.figure(setup, results, system)
            write_whole(plot, lambda path: saved(figure, path), force)
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
