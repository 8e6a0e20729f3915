"""Tables of the lash: ramps and adjuster, cold and hot, the trend over a range."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from valvetrain.setup.units import shown, written_unit
from valvetrain_cli.tables import console, print_table, verdict_cells

if TYPE_CHECKING:
    from valvetrain.answers.quantity import Quantity
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.lash.answer import LashAnswer, LashTrend

__all__ = ["print_lash", "print_lash_detail"]


def print_lash(result: "LashAnswer", checks: "list[Check]", system: str) -> None:
    """Print lash and lash window at every valve; one line where the sheet says nothing of either."""
    columns = _known(
        ("cold lash", result.cold_lash),
        ("hot lash", result.hot_lash),
        ("ramp left opening", result.opening_left),
        ("ramp left closing", result.closing_left),
        ("least lash", result.least_lash),
        ("greatest lash", result.greatest_lash),
    )
    ramps = not all(math.isnan(each) for each in result.opening_ramp.value)
    grows = not all(math.isnan(each) for each in result.growth.value)
    if ramps or grows:
        what = f"Lash, and {_running(result)} against the cam's ramps" if ramps else "Lash"
        print_table(
            f"{what}; at the valve, in {written_unit('length', system)}",
            result.valves,
            columns,
            system,
            verdict_cells(checks, result.valves) if checks else None,
        )
        if not ramps:
            console().print(
                "Ramps: a cam card does not show them; write ramp_height in [lobe] as the cam maker states "
                "it, or read a lift table.",
                markup=False,
            )
    else:
        console().print(
            "Lash window: not asked, since the sheet gives neither ramps (a lift table, or ramp_height in "
            "[lobe]) nor how the lash grows ([hot], [thermal]).",
            markup=False,
        )


def print_lash_detail(result: "LashAnswer", checks: "list[Check]", system: str) -> None:
    """Print how the lash is taken up and set, what it grows by, and the trend that was asked for."""
    columns = _known(
        ("speed opening", result.opening_velocity),
        ("speed closing", result.closing_velocity),
        ("seating", result.closing_speed),
        ("turns", result.turns),
        ("growth", result.growth),
        ("to set cold", result.cold_to_set),
    )
    if columns:
        grows = any(name == "growth" for name, _ in columns)
        rate, speed = written_unit("lift_rate", system), written_unit("speed", system)
        print_table(
            f"At {_running(result)}: speed of the tappet in {rate} of the cam, seating in {speed} at the "
            "redline;\nturns of the adjuster from zero lash"
            + (f"; growth and lash to set cold in {written_unit('length', system)}" if grows else ""),
            result.valves,
            [*columns, ("growth from", result.thermal.source)] if grows else columns,
            system,
        )
    _print_notes(result, system)
    _print_growth(result, system)
    if result.trend is not None:
        _print_trend(result, result.trend, system)


def _known(*columns: "tuple[str, Quantity]") -> "list[tuple[str, Quantity | Sequence[str]]]":
    """Return the columns that are known at some valve."""
    return [(name, each) for name, each in columns if not all(math.isnan(value) for value in each.value)]


def _running(result: "LashAnswer") -> str:
    """Say at which lash the ramps are judged."""
    if all(result.runs_hot):
        return "the hot lash"
    return "the hot lash where it is known" if any(result.runs_hot) else "the lash as set"


def _print_growth(result: "LashAnswer", system: str) -> None:
    """Say of what the growth is made, or what is lacking."""
    out = console()
    if any(not math.isnan(each) for each in result.growth.value):
        out.print("Growth, cold to hot, is positive where the lash opens.", markup=False)
        if all(math.isnan(each) for each in result.cold_to_set.value):
            out.print("To set cold: write the hot lash wanted as wanted_hot_lash in [hot].", markup=False)
        for index in _one_a_role(result):
            parts = ", ".join(
                f"{name} {shown(value, 'length', system)}" for name, value in result.thermal.parts[index]
            )
            if parts:
                out.print(f"Growth of {result.valves[index]}: {parts}.", markup=False)
        return
    lacks = sorted({key for each in result.thermal.missing for key in each})
    text = (
        f"its path still lacks {', '.join(lacks)}"
        if lacks
        else "give a measured pair (cold_lash and hot_lash in [hot]), the expansion path, or the "
        "construction in [thermal]"
    )
    out.print(f"Cold and hot: not known how far the lash grows; {text}.", markup=False)


def _one_a_role(result: "LashAnswer") -> list[int]:
    """Return the first valve of each role."""
    return [result.roles.index(role) for role in ("intake", "exhaust") if role in result.roles]


def _print_notes(result: "LashAnswer", system: str) -> None:
    """Say what the ramps and the adjuster's turns rest on."""
    out = console()
    if "table" in result.ramp_from:
        rows = [
            f"{role} {shown(float(result.opening_ramp.value[index]), 'length', system)} and "
            f"{shown(float(result.closing_ramp.value[index]), 'length', system)}"
            for role, index in zip(("intake", "exhaust"), _one_a_role(result), strict=False)
        ]
        out.print(
            f"Ramp ends as read off the lift tables, at the tappet, opening and closing: {'; '.join(rows)}.",
            markup=False,
        )
    if any(not math.isnan(each) for each in result.turns.value):
        out.print(
            "Turns: back from the point where the lash is just gone, locknut tightened afterwards; they do "
            "not care about a pad worn hollow, a feeler does.",
            markup=False,
        )
    seating = result.closing_speed
    if any(doubt > 0.5 * speed for speed, doubt in zip(seating.value, seating.uncertainty, strict=True)):
        out.print(
            "A cam card does not show how fast the ramps are: seating speed is a guess, a lift table tells.",
            markup=False,
        )
    for valve, error in zip(result.valves, result.feeler_error, strict=True):
        if error > 0:
            out.print(
                f"{valve}: the feeler spans the hollow of the pad; the true lash is "
                f"{shown(float(error), 'length', system)} more than it says. Set this one by turns.",
                markup=False,
            )


def _print_trend(result: "LashAnswer", trend: "LashTrend", system: str) -> None:
    """Print ramp left and seating speed against lash, for the first valve of each role."""
    from rich.table import Table

    length, speed = written_unit("length", system), written_unit("speed", system)
    states = {"hot" if hot else "as set" for hot in result.runs_hot}
    running = f"; judged at {_running(result)} that comes of it" if "hot" in states else ""
    table = Table(
        title=f"Against lash as set{running}: ramp left at the valve in {length}, seating in {speed} at "
        "the redline",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("lash", justify="right")
    columns = [
        (result.valves[index], name, words)
        for index in _one_a_role(result)
        for name, words in (
            ("opening_left", "left opening"),
            ("closing_left", "left closing"),
            ("closing_speed", "seating"),
        )
    ]
    for valve, _, words in columns:
        table.add_column(f"{valve} {words}", justify="right")
    for row, lash in enumerate(trend.lashes):
        cells = [shown(float(lash), "length", system).removesuffix(f" {length}")]
        for valve, name, _ in columns:
            value = float(trend.values[name][row, result.valves.index(valve)])
            unit = written_unit(trend.dimensions[name], system)
            text = shown(value, trend.dimensions[name], system).removesuffix(f" {unit}")
            cells.append("-" if math.isnan(value) else text)
        table.add_row(*cells)
    console().print(table)
    console().print(
        "Seating faster means more noise and wear; past the ramp the speed is the flank's.", markup=False
    )
