"""`valvetrain compare`: two sheets, or a sheet and what it was some changes ago."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import json_option, units_option
from valvetrain_cli.progress import quiet_option, working

if TYPE_CHECKING:
    from valvetrain.setup.setup import Setup

__all__ = ["command"]


@click.command("compare")
@click.argument("first", metavar="A", type=click.Path(path_type=Path))
@click.argument("second", metavar="[B]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--back",
    type=click.IntRange(min=1),
    metavar="N",
    help="Compare A with what it was N changes of its journal ago, instead of with B; 1 if neither is given.",
)
@json_option
@units_option
@quiet_option
def command(first: Path, second: Path | None, back: int | None, as_json: bool, units: str | None) -> None:
    """What differs between two sheets, A before and B after; or between a sheet now and earlier.

    Told are the values that changed, the numbers that moved beyond their doubt, and the verdicts that turned.
    The exit status is 0 however much that is.
    """
    from valvetrain.questions.compare.said import document, tables
    from valvetrain.questions.compare.study import answers, compared
    from valvetrain_cli.drawing import draw
    from valvetrain_cli.running import bad_input, read_sheet

    if second is not None and back is not None:
        bad_input([f"--back {back}: is given beside a second sheet. Give one of them."])
    before = read_sheet(first) if second is not None else _earlier(first, back or 1)
    after = read_sheet(second if second is not None else first)
    system = units or after.units
    with working("computing"):
        found = compared(answers(before, system), answers(after, system))
    if as_json:
        from valvetrain_cli.json_out import print_document

        print_document("compare", str(first), document(found, system), [], [], system)
    else:
        draw(tables(found, system))


def _earlier(sheet: Path, back: int) -> "Setup":
    """Read a sheet as it was."""
    from valvetrain.setup.editing.changed import read_earlier
    from valvetrain.setup.faults import SheetError
    from valvetrain_cli.running import bad_input

    try:
        return read_earlier(sheet, back)
    except SheetError as error:
        bad_input([str(fault) for fault in error.faults])
