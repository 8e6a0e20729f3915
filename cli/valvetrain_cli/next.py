"""`valvetrain next`: what to measure next."""

import sys
from pathlib import Path

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.options import json_option, sheet_argument, units_option
from valvetrain_cli.progress import quiet_option, working
from valvetrain_cli.with_option import with_option

__all__ = ["command"]


@click.command("next")
@sheet_argument
@json_option
@units_option
@with_option
@quiet_option
def command(sheet: Path, as_json: bool, units: str | None) -> None:
    """List the measurements that would turn most unsure or missing verdicts into decisions.

    Each with its instrument, and what would then be known to how much. Unsure verdicts are foretold from the
    uncertainties in the sheet; a verdict that waits for several measurements lists them together. For a
    rocker whose dimensions were inferred, `valvetrain fit` foretells readings too.
    """
    from valvetrain.questions.asking import asked
    from valvetrain.questions.next.checks import next_measurements
    from valvetrain.questions.registry import QUESTIONS, question
    from valvetrain_cli.running import read_sheet

    setup = read_sheet(sheet)
    system = units or setup.units
    questions = [each for each in map(question, QUESTIONS) if each.in_check]
    with working("computing"):
        results = asked(setup, tuple(each.name for each in questions))
        checks = [check for each in questions for check in each.checks(setup, results, system)]
        ranked = next_measurements(setup, checks)
    counts = {name: sum(check.verdict == name for check in checks) for name in ("unsure", "unmeasured")}
    if as_json:
        from valvetrain.questions.next.document import next_document
        from valvetrain_cli.json_out import print_document

        print_document("next", str(sheet), next_document(ranked, counts, system), checks, (TURNING,), system)
    else:
        from valvetrain.questions.next.tables import next_tables
        from valvetrain_cli.drawing import draw, print_cautions

        draw(next_tables(setup, ranked, counts, system))
        print_cautions((TURNING,))
    sys.exit(0)
