"""`valvetrain check`: every question of the sheet."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.options import doubt_options, shared

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.setup.setup import Setup

__all__ = ["command"]


@click.command("check")
@shared
@doubt_options
@click.option("--tables", is_flag=True, help="Print every question's tables, advice and cautions in full.")
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
    tables: bool,
) -> None:
    """Ask every question of the sheet: a verdict for every valve, and what puts it right."""
    from valvetrain.questions.registry import QUESTIONS, question
    from valvetrain_cli.asking import asked_or_refused
    from valvetrain_cli.doubt import budget_document, drawn, draws_for, print_budget, print_draws
    from valvetrain_cli.running import check_target, exit_status, read_sheet, write_whole

    check_target(plot, force)
    setup = read_sheet(sheet)
    samples = draws_for(setup, samples)
    system = units or setup.units
    questions = [each for each in map(question, QUESTIONS) if each.in_check]
    with drawn(samples, seed):
        results = asked_or_refused(setup, tuple(each.name for each in questions))
    checks = {each.name: each.checks(setup, results, system) for each in questions}
    every = [check for own in checks.values() for check in own]
    # A question that the sheet does not ask advises nothing to be careful with.
    asked_for = [each for each in questions if checks[each.name]]
    cautions = list(dict.fromkeys(caution for each in asked_for for caution in each.cautions))
    if plot is not None:
        from valvetrain.answers.page import saved

        figure = question("center").figure
        write_whole(plot, lambda path: saved(figure(setup, results, system), path), force)
    if as_json:
        from valvetrain.answers.document import record
        from valvetrain.questions.rocker.shafts import shaft_summaries
        from valvetrain_cli.json_out import print_document

        documents: dict[str, Any] = {
            each.name: each.document(results[each.name], system) for each in questions
        }
        documents["shafts"] = [record(each, system) for each in shaft_summaries(setup, results["rocker"])]
        extra: dict[str, Any] = {} if samples is None else {"samples": samples, "seed": seed}
        if budget:
            extra["budget"] = {each.name: budget_document(results[each.name], system) for each in questions}
        print_document("check", str(sheet), documents, every, cautions, system, extra)
    else:
        if tables:
            _print(setup, questions, results, checks, system, cautions)
        else:
            _one_look(setup, results, checks, system, cautions)
        print_draws(samples, seed)
        for each in questions if budget else ():
            print_budget(results[each.name], system)
    sys.exit(exit_status([check.verdict for check in every], strict))


def _one_look(
    setup: "Setup",
    results: dict[str, Any],
    checks: "dict[str, list[Check]]",
    system: str,
    cautions: list[str],
) -> None:
    """Print the engine in one look, and where the details are."""
    from valvetrain.answers.table import Sentence
    from valvetrain.questions.next.checks import next_measurements
    from valvetrain.questions.registry import QUESTIONS, question
    from valvetrain.report.one_look import one_look
    from valvetrain.report.order import in_words
    from valvetrain_cli.drawing import draw_lines, width

    every = [check for own in checks.values() for check in own]
    ranked = next_measurements(setup, every)
    first = ""
    if ranked:
        where = "" if len(ranked[0].valves) == len(setup.valves) else f" of {', '.join(ranked[0].valves)}"
        first = f"{' and '.join(in_words(key) for key in ranked[0].keys)}{where}"
    draw_lines(one_look(setup, results, checks, system, width(), first))
    apart = [each.name for each in map(question, QUESTIONS) if not each.in_check]
    remarks = {
        name: question(name).remarks(results[name])  # type: ignore[misc]
        for name in checks
        if question(name).remarks is not None
    }
    if listed := ", ".join(f"{count} under {name}" for name, count in remarks.items() if count):
        draw_lines([Sentence(f"Remarks on figures given: {listed} (--tables).")])
    draw_lines(
        [
            Sentence(f"More: --tables, a question by its name, and {' and '.join(apart)} by themselves."),
            Sentence("Caution: springs, hot and turning parts injure. The maker's manual comes first."),
        ]
    )


def _print(
    setup: "Setup",
    questions: list[Any],
    results: dict[str, Any],
    checks: "dict[str, list[Check]]",
    system: str,
    cautions: list[str],
) -> None:
    """Print a table a question, then what to do."""
    from rich.text import Text

    from valvetrain.questions.registry import QUESTIONS, question
    from valvetrain_cli.asking import say
    from valvetrain_cli.drawing import console, print_cautions
    from valvetrain_cli.tables import print_to_do

    out = console()
    out.print(Text(setup.title, style="bold"))
    for each in questions:
        say(each, results[each.name], checks[each.name], system)
    every = [check for own in checks.values() for check in own]
    print_to_do(every, system)
    remarks = {each.name: each.remarks(results[each.name]) for each in questions if each.remarks}
    if any(remarks.values()):
        listed = ", ".join(f"{number} under {name}" for name, number in remarks.items() if number)
        out.print(
            Text(
                f"Remarks on the figures given, below the tables; look at them first: {listed}.", style="bold"
            )
        )
    counts = {
        verdict: sum(check.verdict == verdict for check in every)
        for verdict in ("ok", "out", "unsure", "unmeasured")
    }
    out.print(
        Text(
            f"{len(every)} verdicts: {counts['ok']} ok, {counts['out']} out, {counts['unsure']} unsure, "
            f"{counts['unmeasured']} not measured. Uncertainties are expanded (k = 2).",
            style="bold",
        )
    )
    apart = [each.name for each in map(question, QUESTIONS) if not each.in_check]
    out.print(
        f"Asked on their own, as they take longer: {', '.join(f'valvetrain {name}' for name in apart)}."
    )
    print_cautions(cautions)
