"""Results as tables on a terminal: one row a valve, verdicts in words, what to do below."""

import math
import re
from collections.abc import Sequence
from contextvars import ContextVar

from rich.console import Console
from rich.table import Table
from rich.text import Text

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import WAITS, Check
from valvetrain.setup.units import limit_shown, shown, shown_spread, written_unit
from valvetrain_cli.drawing import console as terminal

__all__ = [
    "RECORDER",
    "cells",
    "console",
    "known_to",
    "print_cautions",
    "print_hanging",
    "print_table",
    "print_to_do",
    "verdict_cells",
]

# A verdict is a word first; the sign and the style only help to find it.
SIGNS = {"ok": "ok", "out": "OUT <<", "unsure": "unsure ?", "unmeasured": "not measured"}
STYLES = {"ok": "", "out": "bold reverse", "unsure": "bold", "unmeasured": "italic"}
_KEY = re.compile(r"[a-z_]+\.[a-z_0-9]+")
_RANK = ("out", "unsure", "unmeasured", "ok")


# Where output goes while a page is made from it; to the terminal else.
RECORDER: ContextVar[Console | None] = ContextVar("RECORDER", default=None)


def console() -> Console:
    """Return the console for human output, or what a page is made from."""
    return RECORDER.get() or terminal()


def cells(quantity: Quantity, system: str) -> list[str]:
    """Write a quantity at every valve, without its unit, which stands in the header."""
    unit = written_unit(quantity.dimension, system)
    written = []
    for value, uncertainty in zip(quantity.value, quantity.uncertainty, strict=True):
        text = shown(float(value), quantity.dimension, system, float(uncertainty))
        written.append("-" if math.isnan(value) else text.removesuffix(f" {unit}"))
    return written


def known_to(quantity: Quantity, system: str) -> str:
    """Write the greatest expanded uncertainty (k = 2) of a quantity over the valves."""
    known = [2 * float(each) for each in quantity.uncertainty if math.isfinite(each)]
    if not known or max(known) == 0.0:
        return ""
    unit = written_unit(quantity.dimension, system)
    spread = max(known)
    text = shown_spread(spread, quantity.dimension, system)
    return text.removesuffix(f" {unit}")


def worst(verdicts: Sequence[str]) -> str:
    """Return the verdict that matters most."""
    return next((verdict for verdict in _RANK if verdict in verdicts), "ok")


def verdict_cells(checks: Sequence[Check], valves: Sequence[str]) -> list[Text]:
    """Write the worst verdict of each valve; on what it is stands in the list of what to do."""
    written = []
    for valve in valves:
        verdict = worst([check.verdict for check in checks if check.valve == valve])
        written.append(Text(SIGNS[verdict], style=STYLES[verdict]))
    return written


def print_table(
    title: str,
    valves: Sequence[str],
    columns: Sequence[tuple[str, Quantity | Sequence[str]]],
    system: str,
    verdicts: Sequence[Text] | None = None,
) -> None:
    """Print one table: the valves down, the columns across, the verdicts last.

    The last row says to what each column is known, at its least sure valve.
    """
    table = Table(title=title, title_justify="left", title_style="bold", header_style="bold")
    table.add_column("valve")
    for name, _ in columns:
        table.add_column(name, justify="right")
    if verdicts is not None:
        table.add_column("verdict", overflow="fold")
    written = [cells(each, system) if isinstance(each, Quantity) else each for _, each in columns]
    for index, valve in enumerate(valves):
        row: list[str | Text] = [valve, *(column[index] for column in written)]
        if verdicts is not None:
            row.append(verdicts[index])
        table.add_row(*row, end_section=index == len(valves) - 1)
    table.add_row(
        "+-", *(known_to(each, system) if isinstance(each, Quantity) else "" for _, each in columns)
    )
    console().print(table)


def print_to_do(checks: Sequence[Check], system: str) -> None:
    """Print what is outside, unsure or not measured, with what to do."""
    out = console()
    for verdict, heading in (
        ("out", "Outside the limits: put right"),
        ("unsure", "Unsure: measure better"),
    ):
        found = [check for check in checks if check.verdict == verdict]
        if found:
            out.print(Text(heading, style="bold"))
        # What one line of the sheet says of every valve is told once.
        alike: dict[tuple[str, str], list[str]] = {}
        for check in found:
            value = shown(check.value, check.dimension, system, check.uncertainty)
            what = f"{check.quantity} {value}, {_allowed(check, system)}."
            alike.setdefault((what, check.advice), []).append(check.valve or "engine")
        # One job may cure several faults of a valve: it is told once, below them.
        jobs: dict[tuple[tuple[str, ...], str], list[str]] = {}
        for (what, cure), valves in alike.items():
            jobs.setdefault((tuple(valves), cure), []).append(what)
        for (names, cure), faults in jobs.items():
            print_hanging(out, "  [ ] ", f"{', '.join(names)}: {faults[0]}")
            for fault in faults[1:]:
                print_hanging(out, "      ", f"Also {fault}")
            if cure:
                print_hanging(out, "      ", _as_written(cure))
    missing: dict[str, list[Check]] = {}
    for check in checks:
        if check.verdict == "unmeasured":
            missing.setdefault(check.valve or "engine", []).append(check)
    if missing:
        out.print(Text("Not measured: no verdict", style="bold"))
    same: dict[tuple[str, ...], list[str]] = {}
    for valve, own in missing.items():
        same.setdefault(tuple(dict.fromkeys(check.advice for check in own)), []).append(valve)
    for advice, valves in same.items():
        number = len(missing[valves[0]])
        verdicts = "verdict waits" if number == 1 else "verdicts wait"
        print_hanging(out, "  [ ] ", f"{', '.join(valves)}: {number} {verdicts}. {_together(advice)}")
    if same and RECORDER.get() is None:
        print_hanging(out, "      ", "How each is measured: valvetrain guide, with the name of any of these.")


def _together(advice: Sequence[str]) -> str:
    """Write what several verdicts wait for as one list, each measurement once."""
    keys: dict[str, None] = {}
    others = []
    for sentence in advice:
        named = sentence.removeprefix("Measure ").removesuffix(".").split(" and ")
        if sentence.startswith("Measure ") and all(_KEY.fullmatch(each) for each in named):
            keys |= dict.fromkeys(named)
        else:
            others.append(_as_written(sentence))
    listed = [f"Measure {', '.join(map(_as_written, keys))}."] if keys else []
    return " ".join([*listed, *(each for each in others if not (keys and each == WAITS))])


# Columns of valves.csv, and what stands in several places, by the names that a sheet has for them.
_COLUMNS = {
    "lobe.measured_lift": "lobe_lift",
    "lash.lash": "lash",
    "lash.wanted": "[lash] intake and exhaust",
}


def _as_written(text: str) -> str:
    """Write the keys in a text as the sheet has them: `station.offset` is the column offset."""
    return _KEY.sub(lambda key: _COLUMNS.get(key[0], key[0].removeprefix("station.")), text)


def print_hanging(out: Console, indent: str, text: str) -> None:
    """Print text whose further lines stay under its start."""
    from rich.padding import Padding

    left = len(indent)
    lines = Text(text).wrap(out, out.width - left)
    for number, line in enumerate(lines):
        line.rstrip()
        out.print(Padding(Text(indent if number == 0 else " " * left) + line, 0))


def _allowed(check: Check, system: str) -> str:
    """Write the limit."""
    if check.dimension == "seen":
        return f"wanted {shown(max(check.low, 0.0), check.dimension, system)}"
    low = limit_shown(check.low, check.dimension, system) if math.isfinite(check.low) else ""
    high = limit_shown(check.high, check.dimension, system) if math.isfinite(check.high) else ""
    if low and high:
        return f"allowed {low} to {high}"
    if low:
        return f"at least {low}"
    return f"at most {high}" if high else "no limit"


def print_cautions(cautions: Sequence[str]) -> None:
    """Print the cautions."""
    out = console()
    for caution in cautions:
        out.print(Text(f"Caution: {caution}", style="bold"))
