"""`valvetrain plan`: one joint plan for the whole engine, proved by asking again; written out as a sheet."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import json_option, sheet_argument, strict_option, units_option
from valvetrain_cli.progress import quiet_option, working
from valvetrain_cli.with_option import with_option

if TYPE_CHECKING:
    from valvetrain.questions.plan.study import PlanResult

__all__ = ["command"]


@click.command("plan")
@sheet_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Write the sheet as it will be into this new folder; what is foretold carries its doubt.",
)
@json_option
@units_option
@strict_option
@quiet_option
@with_option
def command(sheet: Path, output: Path | None, as_json: bool, units: str | None, strict: bool) -> None:
    """One plan for the whole engine: stand shims, rocker shims, spring shims, pushrods, lash, machine work.

    Decided together from the stock, in the order of assembly, and proved by asking every question of the
    engine as it will be. What is left, and why, and what to measure first stand below. Exit status as that of
    `check` on the engine as it will be.
    """
    from valvetrain.questions.plan.document import plan_document
    from valvetrain.questions.plan.study import plan_study
    from valvetrain.questions.plan.tables import plan_tables
    from valvetrain_cli.asking import refusals
    from valvetrain_cli.drawing import draw, print_cautions
    from valvetrain_cli.running import exit_status, read_sheet

    setup = read_sheet(sheet)
    system = units or setup.units
    _refuse_existing(output)
    with refusals(), working("planning"):
        result = plan_study(setup, system)
    if output is not None:
        _write(result, output)
    every = [check for own in result.checks_after.values() for check in own]
    if as_json:
        from valvetrain_cli.json_out import print_document

        print_document("plan", str(sheet), plan_document(result, system), every, _cautions(), system)
    else:
        draw(plan_tables(result, system))
        if output is not None:
            click.echo(f"{output}: the sheet as it will be. Measure again after the work, and correct it.")
        print_cautions(_cautions())
    sys.exit(exit_status([check.verdict for check in every], strict))


def _cautions() -> tuple[str, ...]:
    from valvetrain.answers.cautions import SPRINGS, TURNING

    return (TURNING, SPRINGS)


def _refuse_existing(output: Path | None) -> None:
    from valvetrain_cli.running import bad_input

    if output is None:
        return
    if output.exists() or output.is_symlink():
        bad_input([f"{output}: exists already. Give the name of a new folder."])
    if not output.resolve().parent.is_dir():
        bad_input([f"{output}: the folder {output.parent} does not exist. Make it first."])


def _write(result: "PlanResult", output: Path) -> None:
    """Write every file of the changed sheet into a new folder, whole or not at all."""
    from valvetrain.setup.sheet_text import sheet_file
    from valvetrain.setup.writing import write_files
    from valvetrain_cli.running import bad_input, reason

    home = sheet_file(Path(result.setup.sheet)).parent.resolve()
    files: dict[str, bytes | str] = {}
    for path, content in sorted(result.then.contents.items(), key=lambda one: str(one[0]).endswith(".toml")):
        own = Path(path).resolve()
        if not own.is_relative_to(home):
            bad_input(
                [f"{path}: lies outside the sheet's folder. Copy it there, and name it so in [tables]."]
            )
        files[own.relative_to(home).as_posix()] = content
    try:
        write_files(output, files)
    except OSError as error:
        bad_input([f"{output}: cannot be written: {reason(error)}. Choose a folder that you may write to."])
