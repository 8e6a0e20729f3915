"""`valvetrain next`: what to measure next."""

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.options import json_option, sheet_argument, units_option
from valvetrain_cli.progress import quiet_option, working
from valvetrain_cli.with_option import with_option

if TYPE_CHECKING:
    from valvetrain.questions.next.checks import NextMeasurement
    from valvetrain.setup.setup import Setup

__all__ = ["command"]

_LISTED = 8


@click.command("next")
@sheet_argument
@json_option
@units_option
@with_option
@quiet_option
def command(sheet: Path, as_json: bool, units: str | None) -> None:
    """List the measurements that would turn most unsure or missing verdicts into decisions.

    Each with its instrument, and what would then be known to how much. Unsure verdicts are foretold from the
    uncertainties in the sheet; a verdict that waits for several measurements lists them together. For a
    rocker whose dimensions were inferred, `valvetrain fit` foretells readings too.
    """
    from valvetrain.questions.asking import asked
    from valvetrain.questions.next.checks import next_measurements
    from valvetrain.questions.registry import QUESTIONS, question
    from valvetrain_cli.running import read_sheet

    setup = read_sheet(sheet)
    system = units or setup.units
    questions = [each for each in map(question, QUESTIONS) if each.in_check]
    with working("computing"):
        results = asked(setup, tuple(each.name for each in questions))
        checks = [check for each in questions for check in each.checks(setup, results, system)]
        ranked = next_measurements(setup, checks)
    counts = {name: sum(check.verdict == name for check in checks) for name in ("unsure", "unmeasured")}
    if as_json:
        from valvetrain_cli.json_out import print_document

        document = {**counts, "measurements": [_row(one, system) for one in ranked]}
        print_document("next", str(sheet), document, checks, (TURNING,), system)
    else:
        _print(setup, ranked, counts, system)
    sys.exit(0)


def _row(one: "NextMeasurement", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import quantity_json

    return {
        "measure": [
            {
                "key": key,
                "instrument": instrument,
                "reading": quantity_json(math.nan, dimension, system, doubt),
            }
            for key, instrument, doubt, dimension in zip(
                one.keys, one.instruments, one.uncertainty, one.dimension, strict=True
            )
        ],
        "valves": list(one.valves),
        "verdicts_decided": one.decided,
        "verdicts_opened": one.opened,
        "after": [
            {
                "quantity": name,
                "now": quantity_json(math.nan, dimension, system, now),
                "after": quantity_json(math.nan, dimension, system, after),
            }
            for name, (dimension, now, after) in one.after.items()
        ],
    }


def _print(setup: "Setup", ranked: "list[NextMeasurement]", counts: dict[str, int], system: str) -> None:
    """Print the list, the most useful first."""
    from rich.text import Text

    from valvetrain.setup.units import display_unit, from_si
    from valvetrain_cli.tables import console, print_cautions, print_hanging

    out = console()
    out.print(Text(setup.title, style="bold"))
    if not ranked:
        why = "Every verdict is decided." if not any(counts.values()) else "No measurement would help."
        out.print(Text(f"Nothing to measure next. {why}", style="bold"))
        return
    waiting = f"{counts['unsure']} verdicts unsure, {counts['unmeasured']} not measured"
    out.print(Text(f"Measure next, the most useful first ({waiting}; +- with k = 2)", style="bold"))
    for number, one in enumerate(ranked[:_LISTED], 1):
        tools = dict.fromkeys(one.instruments)
        whole = len(one.valves) == len(setup.valves)
        where = "" if whole else f" at {', '.join(one.valves)}"
        together = " together:" if len(one.keys) > 1 else ""
        print_hanging(
            out,
            f" {number:2d}  ",
            f"{together} {', '.join(one.keys)}{where}, with {', '.join(tools)}".strip(),
        )
        said = []
        if one.decided >= 0.05:
            said.append(f"decides about {one.decided:.1f} verdicts that are unsure")
        elif not one.opened:
            said.append("makes surer, but decides no verdict by itself")
        if one.opened:
            said.append(f"opens {one.opened} {'verdicts' if one.opened > 1 else 'verdict'} not measured yet")
        for name, (dimension, now, after) in one.after.items():
            # Two digits, so that a small gain shows.
            unit = display_unit(dimension, system)
            before, then = (2 * from_si(one_u, dimension, system, difference=True) for one_u in (now, after))
            said.append(f"{name}: +-{before:.2g} to +-{then:.2g} {unit}".strip())
        print_hanging(out, "      ", "; ".join(said) + ".")
    if len(ranked) > _LISTED:
        out.print(Text(f"      and {len(ranked) - _LISTED} more (--json lists all)"))
    print_cautions((TURNING,))
