"""The command that asks a question, made from the question itself.

What is the same for all stands here: reading the sheet, running the studies that the question builds on,
verdicts, tables or JSON, plot, cautions, exit status.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain.questions.asking import asked
from valvetrain_cli.options import doubt_options, shared
from valvetrain_cli.paths import FilePath

if TYPE_CHECKING:
    from valvetrain.answers.question import Option, Question

__all__ = ["asked", "asked_or_refused", "question_command", "refusals", "say"]


def question_command(question: Any, prepare: Callable[..., dict[str, Any]] | None = None) -> click.Command:
    """Make the command that asks a question.

    Args:
        question: what is asked.
        prepare: (setup, the command's own options by name) -> options of the study, for a question that does
            not bring its own.
    """
    options: tuple[Option, ...] = getattr(question, "options", ())

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
        to = {
            taker: {each.argument: own[each.argument] for each in options if taker in each.to.split(",")}
            for taker in ("study", "figure", "tables")
        }
        prepares = prepare or getattr(question, "prepare", None)
        given = to["study"] if options else own
        with refusals():
            of_study = prepares(setup, **given) if prepares is not None else given
        with drawn(samples, seed):
            results = asked_or_refused(setup, (question.name,), **of_study)
        system = units or setup.units
        checks = question.checks(setup, results, system)
        if plot is not None:
            from valvetrain.answers.page import saved

            if budget:
                from valvetrain.answers.budget_bars import budget_sheet

                figure = budget_sheet(setup.title, results[question.name], system, setup.valves)
            else:
                figure = question.figure(setup, results, system, **to["figure"])
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
            from valvetrain_cli.drawing import print_cautions
            from valvetrain_cli.tables import print_to_do

            say(question, result, checks, system, to["tables"])
            print_draws(samples, seed)
            if budget:
                print_budget(result, system)
            print_to_do(checks, system)
            print_cautions(question.cautions)
        sys.exit(exit_status([check.verdict for check in checks], strict))

    made = click.command(question.name, help=question.help)(command)
    for each in reversed(options):
        made = _click_option(each)(made)
    return made


def asked_or_refused(setup: Any, names: tuple[str, ...], **options: Any) -> dict[str, Any]:
    """Run the studies; what cannot be answered as it was given ends the command with status 2."""
    with refusals():
        return asked(setup, names, **options)


@contextmanager
def refusals() -> Iterator[None]:
    """End the command with status 2 where what was given is refused inside the block."""
    from valvetrain.answers.question import Refused
    from valvetrain.setup.faults import SheetError
    from valvetrain_cli.running import bad_input

    try:
        yield
    except (Refused, SheetError) as refused:
        bad_input([str(fault) for fault in refused.faults])


def say(
    question: "Question", result: Any, checks: list[Any], system: str, of_tables: dict[str, Any] | None = None
) -> None:
    """Print what a question says; with options to its tables (asked by itself) its details too."""
    from valvetrain_cli.drawing import draw

    own: Any = question
    if not hasattr(own, "tables"):  # its tables are still printed, not described
        own.table(result, checks, system)
        if of_tables is not None and own.detail is not None:
            own.detail(result, checks, system)
        return
    draw(question.tables(result, checks, system))
    if of_tables is not None and question.details is not None:
        draw(question.details(result, checks, system, **of_tables))


def _click_option(option: "Option") -> Callable[[click.Command], click.Command]:
    """Make the command line's option of a question's."""
    name = f"--{option.name}/--no-{option.name}" if option.kind == "either" else f"--{option.name}"
    types: dict[str, Any] = {
        "number": float,
        "count": click.IntRange(option.low, option.high),
        "choice": click.Choice(option.choices),
        "file": FilePath(dir_okay=False),
        "text": str,
    }
    more: dict[str, Any] = {"help": option.help, "multiple": option.many}
    if option.kind == "flag":
        more["is_flag"] = True
    elif option.kind == "either":
        more["default"] = option.default
    else:
        more |= {"type": types[option.kind], "metavar": option.metavar}
        if not option.many:
            more["default"] = option.default
        if option.kind == "count" and option.default is not None:
            more["show_default"] = True
    return click.option(name, option.argument, **more)
