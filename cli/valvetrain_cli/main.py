"""The `valvetrain` command: finds the command asked for and loads only that one."""

import copy
import importlib
import importlib.util
import os
from typing import TYPE_CHECKING, Any

import click

from valvetrain.questions.registry import ASKED, manual, question

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

__all__ = ["main"]

# The matrices here are small: a second thread of the linear algebra costs more than it brings, above all on a
# machine that is busy. Set before numpy is loaded; whoever sets it themselves is left alone.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_LATE = ("heights", "sensitivity")
# A command that asks a question is made from it (`valvetrain.questions.registry`); the others have a module
# each, which loads when it is asked for.
COMMANDS = {
    "check": "Ask every question of the sheet: a verdict for every valve, and what to do.",
    "plan": "One plan for the whole engine, in the order of assembly, proved by asking again.",
    "report": "One page for the bench, the wall and the record: .html or .pdf.",
    **{name: line for name, line in ASKED.items() if name not in _LATE},
    "lobe": "A lobe's lift, velocity, acceleration and jerk; written out as a table.",
    "fit": "Infer the rocker's dimensions from bench readings, and what to measure next.",
    "next": "What to measure next: which measurement would decide most verdicts.",
    **{name: ASKED[name] for name in _LATE},
    "explain": "How a reported number came about: formula, inputs, source.",
    "set": "Write values into the sheet, comments and order kept; take them back with --undo.",
    "compare": "Two sheets, or a sheet and what it was: values, numbers and verdicts that differ.",
    "bench": "A live page to measure by: enter readings, see at once what they mean.",
    "log": "Add an inspection to the record: checked, whole or not at all.",
    "new": "Begin a sheet for an engine of your own: every key explained, ready to fill in.",
    "guide": "How to take each measurement: instrument, drawing, usual slips, cautions.",
    "schema": "The setup sheet's JSON Schema, for editors that complete and check it.",
}


def _command(cmd_name: str) -> click.Command:
    """Import and return one command."""
    if cmd_name in ASKED and importlib.util.find_spec(f"valvetrain.questions.{cmd_name}.question"):
        from valvetrain_cli.asking import question_command

        return question_command(question(cmd_name))
    module = importlib.import_module(f"valvetrain_cli.{cmd_name}")
    command: click.Command = module.command
    return command


class LazyCommands(click.Group):
    """A group whose commands are imported when used, so that help is instant."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command."""
        if cmd_name not in COMMANDS:
            return None
        command = copy.copy(_command(cmd_name))
        # What a question's command takes stands in its folder; indented lines are kept as they are.
        for paragraph in manual(cmd_name).strip().split("\n\n"):
            kept = "\b\n" if paragraph.startswith("    ") else ""
            command.help = f"{command.help}\n\n{kept}{paragraph}" if paragraph else command.help
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; what is refused anywhere in it ends it with status 2 and its faults."""
        try:
            return super().invoke(ctx)
        except Exception as error:
            from valvetrain.answers.question import Refused
            from valvetrain.setup.faults import SheetError
            from valvetrain_cli.running import bad_input

            if isinstance(error, Refused | SheetError):
                bad_input(error.faults)
            raise

    def shell_complete(self, ctx: click.Context, incomplete: str) -> "list[CompletionItem]":
        """Complete commands and options without importing the commands."""
        from click.shell_completion import CompletionItem

        commands = [
            CompletionItem(name, help=line) for name, line in COMMANDS.items() if name.startswith(incomplete)
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
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyCommands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="valvetrain", prog_name="valvetrain")
def main() -> None:
    """Set up a shaft-rocker, solid-lifter valvetrain from what a shop can measure.

    SHEET is the folder that holds setup.toml, or that file itself.

    Exit status: 0 nothing is outside its limits, 1 something is, 2 bad input, 3 a fault of the program.
    """
