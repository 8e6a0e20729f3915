"""`valvetrain set`: values written into a sheet, and taken back."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import sheet_argument

if TYPE_CHECKING:
    from valvetrain.setup.editing.journal import Record

__all__ = ["command"]

_LISTED = 40


@click.command("set")
@sheet_argument
@click.argument("values", metavar="[KEY=VALUE]...", nargs=-1)
@click.option("--undo", is_flag=True, help="Take back the latest change that stands.")
@click.option("--redo", is_flag=True, help="Do again what was taken back last.")
@click.option("--journal", is_flag=True, help="List the changes, the latest first.")
def command(sheet: Path, values: tuple[str, ...], undo: bool, redo: bool, journal: bool) -> None:
    """Write values into the sheet's own files, such as 7E.installed_height=1.647 or shaft.stand_shim=0.030.

    VALVE.COLUMN goes into the table of valves, SECTION.KEY into setup.toml. A value is written as the sheet
    has it: 1.647, "36.8 mm", "1.450 +/- 0.003"; nothing behind the = makes it unknown. Comments, order and
    everything else stay. The changed sheet is checked first: with a fault nothing is written. journal.jsonl
    in its folder keeps every change for --undo.
    """
    from valvetrain.setup.editing.journal import Journal
    from valvetrain.setup.editing.writing import editable, made_again, taken_back, written
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.sheet_text import sheet_title
    from valvetrain_cli.running import bad_input, reason
    from valvetrain_cli.with_option import pairs

    asked = [name for name, given in (("--undo", undo), ("--redo", redo), ("--journal", journal)) if given]
    if len(asked) + bool(values) != 1:
        bad_input([f"{sheet}: give KEY=VALUE, or one of --undo, --redo, --journal."])
    try:
        if journal:
            toml, _ = editable(sheet)
            kept = Journal(toml.parent)
            kept.refresh(sheet_title(toml))
            for record in kept.latest(_LISTED):
                _print(record)
            if not kept.count:
                click.echo("No change was written yet.")
            return
        if undo or redo:
            _, record = (taken_back if undo else made_again)(sheet)
            _print(record)
            return
        _, found = written(sheet, pairs(values))
        if found is None:
            click.echo("Every value stood there already: nothing is written.", err=True)
        else:
            _print(found)
    except SheetError as error:
        bad_input([str(fault) for fault in error.faults])
    except OSError as error:
        bad_input([f"{sheet}: cannot be written: {reason(error)}. Nothing is changed."])


def _print(record: "Record") -> None:
    """Say what was changed, where and when."""
    from valvetrain.setup.faults import readable

    when = record.when[:16].replace("T", " ")
    words = "" if not record.turns else " (done again)" if record.again else " (taken back)"
    for edit in record.edits:
        before, after = edit.before or "unknown", edit.after or "unknown"
        click.echo(readable(f"{when}  {edit.key}: {before} -> {after}{words}"))
