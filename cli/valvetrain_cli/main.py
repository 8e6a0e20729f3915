"""The `valvetrain` command: finds the command asked for and loads only that one."""

import importlib
import os
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

__all__ = ["main"]

# The matrices here are small: a second thread of the linear algebra costs more than it brings, above all on a
# machine that is busy. Set before numpy is loaded; whoever sets it themselves is left alone.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# command -> (module that holds it, one line for the help); the modules load when they are asked for
COMMANDS = {
    "check": ("check", "Ask every question of the sheet: a verdict for every valve, and what to do."),
    "report": ("report", "One page for the bench, the wall and the record: .html or .pdf."),
    "rocker": ("rocker", "Sweep on the tip, ratio, lift, and the stand shim that puts them right."),
    "center": ("center", "Rockers along the shaft: offsets, end clearance, rocker shims."),
    "spring": ("spring", "Spring loads, coil bind, and the shims under each spring."),
    "pushrod": ("pushrod", "Pushrod length, adjuster travel, strength, and the hole in the head."),
    "events": ("events", "Opening, closing, duration and overlap at the lash that is set."),
    "lash": ("lash", "Lash against the cam's ramps, cold and hot, and turns of the adjuster."),
    "clearance": ("clearance", "Piston to valve, valve to valve, and effective compression."),
    "lobe": ("lobe", "A lobe's lift, velocity, acceleration and jerk; written out as a table."),
    "control": ("control", "Speed to which the valves follow the cam, and what would raise it."),
    "fit": ("fit", "Infer the rocker's dimensions from bench readings, and what to measure next."),
    "next": ("next", "What to measure next: which measurement would decide most verdicts."),
    "interference": ("interference", "Rocker, retainer, seal and stand: least clearance through the lift."),
    "heights": ("heights", "The height stack from cam to valve tip, solved from the adjusters."),
    "sensitivity": ("sensitivity", "What a shop step of each dimension does to lift, pattern and ratio."),
    "explain": ("explain", "How a reported number came about: formula, inputs, source."),
    "wear": ("wear", "What wears: contact, rotation, oil film; with --log, what the record says."),
    "oil": ("oil", "Oil to every rocker, new and worn, and what each change of layout brings."),
    "log": ("log", "Add an inspection to the record: checked, whole or not at all."),
    "new": ("new", "Begin a sheet for an engine of your own: every key explained, ready to fill in."),
    "guide": ("guide", "How to take each measurement: instrument, drawing, usual slips, cautions."),
    "schema": ("schema", "The setup sheet's JSON Schema, for editors that complete and check it."),
}


class LazyCommands(click.Group):
    """A group whose commands are imported when used, so that help is instant."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"valvetrain_cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = module.command
        return command

    def shell_complete(self, ctx: click.Context, incomplete: str) -> "list[CompletionItem]":
        """Complete commands and options without importing the commands."""
        from click.shell_completion import CompletionItem

        commands = [
            CompletionItem(name, help=line)
            for name, (_, line) in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return [*commands, *click.Command.shell_complete(self, ctx, incomplete)]

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; an unknown one is answered with the nearest name."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            import difflib

            near = difflib.get_close_matches(name, COMMANDS, n=1)
            hint = f"Did you mean '{near[0]}'?" if near else f"Commands: {', '.join(COMMANDS)}."
            ctx.fail(f"there is no command '{name}'. {hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(cls=LazyCommands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="valvetrain", prog_name="valvetrain")
def main() -> None:
    """Set up a shaft-rocker, solid-lifter valvetrain from what a shop can measure.

    SHEET is the folder that holds setup.toml, or that file itself.

    Exit status: 0 nothing is outside its limits, 1 something is, 2 bad input, 3 a fault of the program.
    """
