"""Options that commands share."""

from collections.abc import Callable
from typing import Any

import click

from valvetrain_cli.paths import FilePath
from valvetrain_cli.progress import quiet_option
from valvetrain_cli.with_option import with_option

__all__ = [
    "doubt_options",
    "force_option",
    "json_option",
    "plot_option",
    "shared",
    "sheet_argument",
    "strict_option",
    "units_option",
]

sheet_argument = click.argument("sheet", type=FilePath())
json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON document and nothing else."
)
units_option = click.option(
    "--units",
    type=click.Choice(["inch", "metric"]),
    help="Show results in these units; the sheet's own if left out.",
)
plot_option = click.option(
    "--plot",
    type=FilePath(dir_okay=False),
    help="Draw the result to FILE: .png, .svg or .pdf.",
)
force_option = click.option("--force", is_flag=True, help="Write over a file that exists.")
strict_option = click.option(
    "--strict", is_flag=True, help="Count unsure and unmeasured as outside the limits, for the exit status."
)


def shared(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the sheet and the options that every study command takes."""
    for option in (
        quiet_option,
        with_option,
        strict_option,
        force_option,
        plot_option,
        units_option,
        json_option,
        sheet_argument,
    ):
        command = option(command)
    return command


def doubt_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options on how uncertainties are found and shown."""
    for option in (
        click.option(
            "--budget", is_flag=True, help="Show which measurement contributes how much; with --plot, drawn."
        ),
        click.option(
            "--seed", type=click.IntRange(min=0), default=0, show_default=True, help="Fixes the draws."
        ),
        click.option(
            "--samples",
            type=click.IntRange(min=100, max=100_000_000),
            help="Find uncertainties by Monte Carlo with so many draws; to first order if left out.",
        ),
    ):
        command = option(command)
    return command
