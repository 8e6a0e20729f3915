"""Results as tables on a terminal: one row a valve, verdicts in words, what to do below."""

import math
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from valvetrain.checks.verdict import Check
from valvetrain.setup.units import display_unit, shown
from valvetrain.studies.quantity import Quantity

__all__ = ["cells", "console", "print_cautions", "print_table", "print_to_do", "verdict_cells"]

# A verdict is a word first; the sign and the style only help to find it.
SIGNS = {"ok": "ok", "out": "OUT <<", "unsure": "unsure ?", "unmeasured": "not measured"}
STYLES = {"ok": "", "out": "bold reverse", "unsure": "bold", "unmeasured": "italic"}
_RANK = ("out", "unsure", "unmeasured", "ok")


def console() -> Console:
    """Return the console for human output: as wide as a terminal, or 110 columns when there is none."""
    import sys

    wide = Console(highlight=False)
    return wide if sys.stdout.isatty() else Console(highlight=False, width=110)


def cells(quantity: Quantity, system: str) -> list[str]:
    """Write a quantity at every valve, without its unit, which stands in the header."""
    unit = display_unit(quantity.dimension, system)
    written = []
    for value, uncertainty in zip(quantity.value, quantity.uncertainty, strict=True):
        text = shown(float(value), quantity.dimension, system, float(uncertainty))
        written.append("-" if math.isnan(value) else text.removesuffix(f" {unit}"))
    return written


def worst(verdicts: Sequence[str]) -> str:
    """Return the verdict that matters most."""
    return next((verdict for verdict in _RANK if verdict in verdicts), "ok")


def verdict_cells(checks: Sequence[Check], valves: Sequence[str]) -> list[Text]:
    """Write the worst verdict of each valve, and on what."""
    written = []
    for valve in valves:
        own = [check for check in checks if check.valve == valve]
        verdict = worst([check.verdict for check in own])
        names = [check.id.replace("_", " ") for check in own if check.verdict == verdict]
        text = SIGNS[verdict]
        if verdict != "ok":
            text = f"{SIGNS[verdict]} {', '.join(names)}"
        written.append(Text(text, style=STYLES[verdict]))
    return written


def print_table(
    title: str,
    valves: Sequence[str],
    columns: Sequence[tuple[str, Sequence[str]]],
    verdicts: Sequence[Text] | None = None,
) -> None:
    """Print one table: the valves down, the columns across, the verdicts last."""
    table = Table(title=title, title_justify="left", title_style="bold", header_style="bold")
    table.add_column("valve")
    for name, _ in columns:
        table.add_column(name, justify="right")
    if verdicts is not None:
        table.add_column("verdict", overflow="fold")
    for index, valve in enumerate(valves):
        row: list[str | Text] = [valve, *(column[index] for _, column in columns)]
        if verdicts is not None:
            row.append(verdicts[index])
        table.add_row(*row)
    console().print(table)


def print_to_do(checks: Sequence[Check], system: str) -> None:
    """Print what is outside, unsure or not measured, with what to do; the same advice is said once."""
    out = console()
    for verdict, heading in (
        ("out", "Outside the limits: put right"),
        ("unsure", "Unsure: measure better"),
        ("unmeasured", "Not measured: no verdict"),
    ):
        found = [check for check in checks if check.verdict == verdict]
        if not found:
            continue
        out.print(Text(f"{heading}", style="bold"))
        merged: dict[tuple[str, str], list[Check]] = {}
        for check in found:
            merged.setdefault((check.quantity, check.advice), []).append(check)
        for (quantity, advice), same in merged.items():
            names = ", ".join(check.valve or "engine" for check in same)
            value = ""
            if len(same) == 1 and not math.isnan(same[0].value):
                value = f" {shown(same[0].value, same[0].dimension, system, same[0].uncertainty)}"
            out.print(Text(f"  [ ] {names}: {quantity}{value}, {_allowed(same[0], system)}."))
            if advice:
                out.print(Text(f"      {advice}"))


def _allowed(check: Check, system: str) -> str:
    """Write the limit."""
    low = shown(check.low, check.dimension, system) if math.isfinite(check.low) else ""
    high = shown(check.high, check.dimension, system) if math.isfinite(check.high) else ""
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
