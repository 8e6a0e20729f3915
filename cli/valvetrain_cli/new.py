"""`valvetrain new`: a starter sheet for an engine of one's own."""

import os
import sys
from pathlib import Path

import click

from valvetrain_cli.paths import FilePath

__all__ = ["command"]


@click.command("new")
@click.argument("folder", metavar="DIR", type=FilePath())
@click.option("--cylinders", type=click.IntRange(1, 24), help="Number of cylinders.")
@click.option("--valves-per-cylinder", type=click.Choice(["2", "4"]), help="2 if left out.")
@click.option("--shafts", type=click.IntRange(1, 24), help="Number of rocker shafts; 1 if left out.")
@click.option("--units", type=click.Choice(["inch", "metric"]), help="Units of plain numbers in the sheet.")
@click.option(
    "--instruments",
    help="What is at hand, parted by commas, such as caliper,feeler,indicator; everything if left out.",
)
@click.option("--title", help="What the engine is called; the folder's name if left out.")
def command(
    folder: Path,
    cylinders: int | None,
    valves_per_cylinder: str | None,
    shafts: int | None,
    units: str | None,
    instruments: str | None,
    title: str | None,
) -> None:
    """Begin a sheet: DIR/setup.toml and its tables, every key explained, all of it still to be measured.

    On a terminal it asks for what is left out. Files that exist are never written over.
    """
    from valvetrain.setup.faults import readable, written_as
    from valvetrain.setup.starter import Described, starter_files
    from valvetrain.setup.starter_words import SHOP_INSTRUMENTS
    from valvetrain.setup.writing import clear_leftovers
    from valvetrain_cli.running import bad_input

    if folder.exists() and not folder.is_dir():
        bad_input([f"{folder}: is a file. Give a folder that is new or empty."])
    if not folder.resolve().parent.is_dir():
        bad_input([f"{folder}: the folder {folder.parent} does not exist. Make it first."])
    asks = _on_terminal()
    if cylinders is None and asks:
        cylinders = click.prompt("Cylinders", type=click.IntRange(1, 24))
        if valves_per_cylinder is None:
            valves_per_cylinder = click.prompt(
                "Valves per cylinder", type=click.Choice(["2", "4"]), default="2"
            )
        if shafts is None:
            shafts = click.prompt("Rocker shafts", type=click.IntRange(1, cylinders), default=1)
    if units is None and asks:
        units = click.prompt("Units", type=click.Choice(["inch", "metric"]))
    if instruments is None and asks:
        click.echo(f"Instruments: {', '.join(SHOP_INSTRUMENTS)}")
        instruments = click.prompt("At hand, parted by commas", default="all")
    left_out = [
        f"{option}: is not given, and there is no terminal to ask on. Give {option} {values}."
        for option, values, given in (
            ("--cylinders", "6 (or how many there are)", cylinders),
            ("--units", "inch or metric", units),
        )
        if given is None
    ]
    if left_out:
        bad_input(left_out)
    title = title or folder.resolve().name or "engine"
    if readable(title) != title:
        bad_input([f"--title {written_as(title)}: write it on one line, in letters that can be seen."])
    assert cylinders is not None
    if (shafts or 1) > cylinders:
        bad_input([f"--shafts {shafts}: is more than the {cylinders} cylinders. Give one for each at most."])
    assert units is not None
    engine = Described(
        title=title,
        cylinders=cylinders,
        valves_per_cylinder=int(valves_per_cylinder or 2),
        units=units,
        instruments=_at_hand(instruments, SHOP_INSTRUMENTS),
        shafts=shafts or 1,
    )
    files = starter_files(engine)
    clear_leftovers(folder if folder.is_dir() else folder.resolve().parent)
    there = [name for name in files if os.path.lexists(folder / name)]
    if there:
        bad_input([f"{folder / name}: exists already. Give another folder." for name in there])
    _write(folder, files)
    click.echo(f"Written: {folder}: {', '.join(files)}", err=True)
    click.echo(
        "Fill in setup.toml and valves.csv; `valvetrain guide` tells how to measure, "
        f"`valvetrain check {folder}` what is still missing.",
        err=True,
    )


def _on_terminal() -> bool:
    return sys.stdin.isatty()


def _at_hand(instruments: str | None, known: tuple[str, ...]) -> tuple[str, ...]:
    """Read the list of instruments."""
    from valvetrain.setup.faults import nearest
    from valvetrain.setup.starter_words import INSTRUMENT_WORDS
    from valvetrain_cli.running import bad_input

    if instruments is None or instruments.strip().lower() == "all":
        return known
    given = [each.strip().lower().replace(" ", "_").replace("-", "_") for each in instruments.split(",")]
    renamed = {each: INSTRUMENT_WORDS[each] for each in given if each in INSTRUMENT_WORDS}
    given = [renamed.get(each, each) for each in given if each and each != "none"]
    unknown = [each for each in given if each not in known]
    if unknown:
        bad_input([f"--instruments {each}: is not known. {nearest(each, known)}" for each in unknown])
    for said, meant in renamed.items():
        click.echo(f"{said} is taken as {meant}, the name it has in [instruments].", err=True)
    return tuple(name for name in known if name in given)


def _write(folder: Path, files: dict[str, str]) -> None:
    """Write the files, all of them or none, and none over another; the sheet, which names them, last."""
    from valvetrain.setup.writing import write_files
    from valvetrain_cli.running import bad_input, reason

    tables = {name: text for name, text in files.items() if name != "setup.toml"}
    try:
        write_files(folder, tables | {"setup.toml": files["setup.toml"]})
    except OSError as error:
        bad_input([f"{folder}: cannot be written: {reason(error)}. Choose a folder that you may write to."])
