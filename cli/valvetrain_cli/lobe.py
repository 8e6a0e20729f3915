"""`valvetrain lobe`: a lobe's lift and its derivatives, with their doubt; exported as a table."""

import math
from pathlib import Path

import click

from valvetrain_cli.options import force_option, json_option, plot_option, sheet_argument, units_option
from valvetrain_cli.paths import FilePath
from valvetrain_cli.with_option import with_option

__all__ = ["command"]


@click.command(
    "lobe", help="What does a lobe do? Lift, velocity, acceleration, jerk; written out as a table."
)
@sheet_argument
@click.option("--role", type=click.Choice(["intake", "exhaust"]), required=True, help="Whose lobe.")
@click.option(
    "-o",
    "--output",
    type=FilePath(dir_okay=False),
    help="Write the lobe to FILE.csv as a lift table, with its derivatives.",
)
@click.option("--step", type=float, default=1.0, metavar="DEGREES", help="Cam degrees between rows; 1.")
@json_option
@with_option
@units_option
@plot_option
@force_option
def command(
    sheet: Path,
    role: str,
    output: Path | None,
    step: float,
    as_json: bool,
    units: str | None,
    plot: Path | None,
    force: bool,
) -> None:
    """Ask what a lobe does."""
    from valvetrain_cli.running import bad_input, check_target, read_sheet, write_whole

    check_target(plot, force)
    check_target(output, force, (".csv",))
    setup = read_sheet(sheet)
    system = units or setup.units
    from valvetrain.questions.events.lobe_study import lobe_study

    if not math.isfinite(step):
        bad_input([f"--step {step}: give cam degrees from 0.1 to 20."])
    try:
        result = lobe_study(setup, role, math.radians(step))
    except ValueError as error:
        bad_input([f"{error}."])
    if output is not None:
        from valvetrain.questions.events.lobe_tables import lobe_text

        table = lobe_text(setup.title, result, system)
        write_whole(output, lambda path: path.write_bytes(table.encode("utf-8")), force)
    if plot is not None:
        from valvetrain.answers.page import saved
        from valvetrain.questions.events.lobe_figure import lobe_sheet

        write_whole(plot, lambda path: saved(lobe_sheet(setup, result, system), path), force)
    if as_json:
        from valvetrain.questions.events.lobe_document import lobe_document
        from valvetrain_cli.json_out import print_document

        print_document("lobe", str(sheet), lobe_document(result, system), [], [], system)
    else:
        from valvetrain.answers.table import Sentence
        from valvetrain.questions.events.lobe_tables import lobe_tables
        from valvetrain_cli.drawing import draw

        draw(lobe_tables(result, system))
        if output is not None:
            draw([Sentence(f"Written: {output}")])
