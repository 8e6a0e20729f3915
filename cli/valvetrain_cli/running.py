"""What every command does around its own work: reading the sheet, faults, files, exit status."""

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

import click

__all__ = ["bad_input", "check_target", "exit_status", "read_sheet", "reason", "write_whole"]

FORMATS = (".png", ".svg", ".pdf")

MOST = 20
"""Faults that are told; of more the number is."""

TAKEN = "exists already. Give another name, or --force to write over it."


def bad_input(lines: Sequence[object]) -> NoReturn:
    """Print one line a fault on stderr and leave with status 2."""
    from valvetrain.setup.faults import readable

    count = len(lines)
    click.echo(f"valvetrain: {count} fault{'s' if count > 1 else ''} in what was given", err=True)
    for line in lines[:MOST]:
        click.echo(f"  {readable(str(line), 4000)}", err=True)
    if count > MOST:
        click.echo(f"  and {count - MOST} more: mend these first.", err=True)
    sys.exit(2)


def read_sheet(path: Path) -> Any:
    """Read a setup sheet, with what `--with` says; its faults are printed and end the command."""
    from valvetrain.setup.faults import SheetError, readable
    from valvetrain.setup.read import read_setup
    from valvetrain_cli.with_option import asked_with, pairs

    given = asked_with()
    try:
        if given:
            from valvetrain.setup.editing.changed import read_changed

            setup = read_changed(path, pairs(given, "--with"))
            click.echo(readable(f"Asked with {', '.join(given)}; nothing is written."), err=True)
        else:
            setup = read_setup(path)
    except SheetError as error:
        bad_input(error.faults)
    for file in setup.outside:
        click.echo(f"valvetrain: reads {readable(file)}, which lies outside the sheet's folder", err=True)
    return setup


def check_target(path: Path | None, force: bool, formats: tuple[str, ...] = FORMATS) -> None:
    """Refuse a file that exists, a folder that is not there or an ending that is not known."""
    from valvetrain.setup.writing import clear_leftovers

    if path is None:
        return
    clear_leftovers(path.parent)
    if formats and path.suffix.lower() not in formats:
        bad_input([f"{path}: '{path.suffix}' is not a known ending. Use {', '.join(formats)}."])
    if path.is_dir():
        bad_input([f"{path}: is a folder. Give a file name in it."])
    if os.path.lexists(path) and not force:
        bad_input([f"{path}: {TAKEN}"])
    if not path.parent.is_dir():
        bad_input([f"{path}: the folder {path.parent} does not exist. Make it first."])


def write_whole(path: Path, write: Callable[[Path], object], force: bool) -> None:
    """Write a file whole or not at all, over one that exists only with `force`; a failure ends the command.

    Args:
        path: the file.
        write: writes the path that it is given, which ends as `path` does.
        force: as `--force`.
    """
    from valvetrain.setup.writing import write_with
    from valvetrain_cli.progress import working

    try:
        with working(f"writing {path.name}"):
            write_with(path, write, force=force)
    except FileExistsError:
        bad_input([f"{path}: {TAKEN}"])
    except OSError as error:
        bad_input([f"{path}: cannot be written: {reason(error)}. Choose a place that you may write to."])


def reason(error: OSError) -> str:
    """Say why the system refused, without the name of a file that only this program knows."""
    return (error.strerror or str(error)).lower()


def exit_status(verdicts: list[str], strict: bool) -> int:
    """Return 1 when something is outside its limits, else 0."""
    outside = {"out", "unsure", "unmeasured"} if strict else {"out"}
    return int(any(verdict in outside for verdict in verdicts))
