"""`valvetrain report`: the page a shop works from."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import force_option, sheet_argument, strict_option, units_option
from valvetrain_cli.paths import FilePath
from valvetrain_cli.with_option import with_option

if TYPE_CHECKING:
    from valvetrain.report.model import Page
    from valvetrain.setup.setup import Setup

__all__ = ["command"]

FORMATS = (".html", ".htm", ".pdf")


@click.command("report")
@sheet_argument
@click.option(
    "-o",
    "--output",
    required=True,
    type=FilePath(),
    help="File to write: .html for a screen and to print from, .pdf for paper alone.",
)
@units_option
@force_option
@click.option(
    "--paper", type=click.Choice(["letter", "A4"]), help="Paper of the .pdf; by the units if left out."
)
@click.option("--proof", is_flag=True, help="In a .pdf: formulas and budgets of doubt too, at its end.")
@strict_option
@with_option
@click.option("--quiet", is_flag=True, help="No progress on stderr.")
@click.pass_context
def command(
    context: click.Context,
    sheet: Path,
    output: Path,
    units: str | None,
    force: bool,
    paper: str | None,
    proof: bool,
    strict: bool,
    quiet: bool,
) -> None:
    """Write the page a shop works from: verdicts, the to-do list in the order of assembly, bench card, proof.

    One file that needs nothing else: opened in any browser, from a stick as well. Text that runs from right
    to left is set rightly in the .html only. Exit status as that of `check`, the page being written either
    way: 0 nothing is outside its limits, 1 something is; 2 bad input, and nothing is written.
    """
    from valvetrain_cli.running import bad_input, check_target, exit_status, read_sheet, write_whole

    check_target(output, force, FORMATS)
    pdf = output.suffix.lower() == ".pdf"
    if paper and not pdf:
        bad_input([f"--paper {paper}: is for a .pdf; a browser asks for its paper when it prints."])
    setup = read_sheet(sheet)
    system = units or setup.units
    page = _page(setup, system, "pdf" if pdf else "svg", quiet, proof or not pdf)
    if pdf:
        from valvetrain.report.pdf import pdf_page

        size = paper or ("letter" if system == "inch" else "A4")
        written = pdf_page(page, size)
    else:
        from valvetrain.report.html import html_page

        written = html_page(page).encode("utf-8")

    def write(path: Path) -> None:
        path.write_bytes(written)

    write_whole(output, write, force)
    if not quiet:
        click.echo(f"{output}: {page.headline}", err=True)
    context.exit(exit_status(list(page.verdicts), strict))


def _page(setup: "Setup", system: str, form: str, quiet: bool, proof: bool) -> "Page":
    """Make the page, with a bar on a terminal."""
    from valvetrain_cli.report_page import report_page

    workers = 2 if (os.cpu_count() or 1) > 1 else 0
    if quiet or not sys.stderr.isatty():
        return report_page(setup, system, form, lambda doing, share: None, workers, proof)
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("report", total=1.0)
        return report_page(
            setup,
            system,
            form,
            lambda doing, share: bar.update(task, completed=share, description=doing),
            workers,
            proof,
        )
