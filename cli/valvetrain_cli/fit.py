"""`valvetrain fit`: the linkage inferred from bench readings, and a new sheet with it."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.options import shared
from valvetrain_cli.paths import FilePath
from valvetrain_cli.with_option import asked_with

if TYPE_CHECKING:
    from valvetrain.questions.fit.study import FitResult

__all__ = ["command"]

HELP = """Infer the rocker's dimensions from what a shop can measure.

READINGS is a CSV table, a row a reading, with the columns

\b
valve        name of the valve; for a dimension also "all", or a shaft
reading      what was read, see below
value        the reading, as 0.231 or "0.231 +/- 0.001"
tappet_lift  where a valve lift was read, off the base circle
crank_angle  or so: crank degrees from the lobe's middle, minus before it
turns        of the adjuster, for a turn
from         where an ink mark is measured from: axis (of the stem,
             positive away from the shaft) or rim (of the tip, on the
             shaft's side)

\b
and the readings
net_lift, gross_lift   dial on the valve, lash in, or taken out
near_edge, far_edge    edges of the ink mark that a turn of the engine leaves
closed_mark            middle of an ink mark made with the valve closed
closed_mark_width      its width across the tip
turn                   how far the pad moves for turns of the adjuster
exposure               thread showing under the rocker
mean_ratio             gross lift over lobe lift
shaft.setback, rocker.pad_arm and the like: a dimension, once more

Blank cells, comments with #, semicolons and decimal commas are read; a header
may name a unit: value [mm]. What the sheet gives of the linkage counts as
measured; what nobody measured is taken from typical ranges, shown as assumed.
Readings that do not fit the rest are named and set aside.
"""


@click.command("fit", help=HELP, short_help="Infer the rocker's dimensions from bench readings.")
@click.option(
    "--readings",
    "table",
    type=FilePath(),
    required=True,
    help="The table of readings; looked for beside the sheet too.",
)
@click.option(
    "-o",
    "--output",
    type=FilePath(),
    help="Write the sheet with the inferred values: a new folder, or a .toml file beside the old sheet.",
)
@click.option(
    "--answer",
    "answers",
    multiple=True,
    metavar="N or SHAFT=N",
    help="Which answer to write where two fit the readings, of all shafts or of one; 1 if left out.",
)
@click.option("--by-role", is_flag=True, help="Intake and exhaust rockers are two castings.")
@shared
def command(
    sheet: Path,
    table: Path,
    output: Path | None,
    answers: tuple[str, ...],
    by_role: bool,
    as_json: bool,
    units: str | None,
    plot: Path | None,
    force: bool,
    strict: bool,
    **own: Any,
) -> None:
    """Infer the rocker's dimensions."""
    # Threads cost more than they bring on matrices this small; read when numpy is first imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from valvetrain.questions.fit.checks import fit_verdicts
    from valvetrain.questions.fit.study import fit_study
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.tables.readings import read_readings
    from valvetrain_cli.progress import working
    from valvetrain_cli.running import bad_input, check_target, exit_status, read_sheet, write_whole

    check_target(plot, force)
    toml = sheet / "setup.toml" if sheet.is_dir() else sheet
    check_output(output, toml, force)
    if output is not None and asked_with():
        bad_input(["--with: what is asked with it is written nowhere. Use valvetrain set, then fit -o."])
    setup = read_sheet(sheet)
    system = units or setup.units
    if not table.exists() and (toml.parent / table).exists():
        table = toml.parent / table
    try:
        with working("fitting"):
            result = fit_study(setup, read_readings(table, table.name, setup), table.name, system, by_role)
    except SheetError as error:
        bad_input(error.faults)
    choice = chosen_answers(answers, result)
    checks = fit_verdicts(setup, result, system)
    if plot is not None:
        from valvetrain.answers.page import saved
        from valvetrain.questions.fit.figure import fit_sheet

        write_whole(plot, lambda path: saved(fit_sheet(setup, result, system), path), force)
    if output is not None:
        from valvetrain_cli.fit_output import write_sheet

        write_sheet(output, toml, table.name, setup, result, choice, system, force)
    if as_json:
        from valvetrain.questions.fit.document import fit_document
        from valvetrain_cli.json_out import print_document

        print_document("fit", str(sheet), fit_document(result, system), checks, (TURNING,), system)
    else:
        from valvetrain.questions.fit.tables import fit_tables
        from valvetrain_cli.drawing import draw, print_cautions
        from valvetrain_cli.tables import print_to_do

        draw(fit_tables(setup.title, result, checks, system))
        print_to_do([check for check in checks if check.verdict != "unsure"], system)
        print_cautions((TURNING,))
    if output is not None:
        click.echo(f"Written: {output}", err=True)
    sys.exit(exit_status([check.verdict for check in checks], strict))


def chosen_answers(answers: tuple[str, ...], result: "FitResult") -> tuple[int, ...]:
    """Which answer of each shaft, from 0; refused where there is none such."""
    from valvetrain_cli.running import bad_input

    choice = [0] * len(result.shafts)
    names = [one.shaft.called for one in result.shafts]
    for written in answers:
        name, _, number = written.rpartition("=")
        if name and name not in names:
            known = ", ".join(f"{each}=1" for each in names if each) or "a number alone: there is one shaft"
            bad_input([f"--answer {written}: there is no shaft '{name}'. Give {known}."])
        for place, shaft in enumerate(result.shafts):
            if name not in ("", names[place]):
                continue
            most = len(shaft.answers)
            if not number.isdigit() or not 1 <= int(number) <= (most if name else max(_counts(result))):
                fit = "1 answer fits" if most == 1 else f"{most} answers fit"
                give = "1" if most == 1 else f"1 to {most}"
                bad_input([f"--answer {written}: {fit} the readings. Give {give}."])
            choice[place] = min(int(number), most) - 1
    return tuple(choice)


def _counts(result: "FitResult") -> list[int]:
    return [len(shaft.answers) for shaft in result.shafts]


def check_output(output: Path | None, toml: Path, force: bool) -> None:
    """Refuse a place that is taken, or from which the sheet's tables would not be found."""
    from valvetrain.setup.writing import clear_leftovers
    from valvetrain_cli.running import bad_input

    if output is None:
        return
    clear_leftovers(output.parent)
    if output.suffix == ".toml":
        if os.path.lexists(output) and not force:
            bad_input([f"{output}: exists already. Give another name, or --force to write over it."])
        if output.resolve().parent != toml.resolve().parent:
            bad_input([f"{output}: its tables stand beside {toml}. Give a name there, or a new folder."])
        return
    if output.is_file():
        bad_input([f"{output}: is a file. Give a new folder, or a .toml file beside the sheet."])
    if output.is_dir() and any(output.iterdir()) and not force:
        bad_input([f"{output}: exists already. Give a new folder, or --force to write into it."])
    if not output.resolve().parent.is_dir():
        bad_input([f"{output}: the folder {output.parent} does not exist. Make it first."])
