"""The build plan of `valvetrain center`: the shaft in order, the changes, the shopping list, the re-check."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from valvetrain.mechanics.row.shaft import Part
    from valvetrain.parts.row import ShaftRow
    from valvetrain.questions.center.plan import ShaftPlan
    from valvetrain.questions.center.recheck import Recheck
    from valvetrain.questions.center.study import CenteringResult

__all__ = ["plan_document", "print_build_plan", "print_changes", "print_recheck", "recheck_document"]


def print_changes(shafts: "ShaftPlan", system: str) -> None:
    """Print the changes of a plan, or that there are none, and where there is no plan."""
    from rich.text import Text

    from valvetrain.questions.center.words import blocked_lines, plan_lines
    from valvetrain_cli.tables import console

    out = console()
    lines = plan_lines(shafts, system)
    if lines:
        number = shafts.plan.changes
        out.print(Text(f"Shaft plan: {number} change{'s' if number > 1 else ''}", style="bold"))
        for line in lines:
            out.print(Text(f"  [ ] {line}"))
    elif not shafts.blocked:
        out.print(Text("Shaft plan: nothing to change.", style="bold"))
    stuck = blocked_lines(shafts, system)
    if stuck:
        out.print(Text("No plan", style="bold"))
        for line in stuck:
            out.print(Text(f"  [ ] {line}"))
    for each in shopping(shafts, system):
        out.print(Text(f"  {each}"))
    if not shafts.plan.proved:
        out.print(Text("The search was ended after its time: a better plan may exist.", style="italic"))


def shopping(shafts: "ShaftPlan", system: str) -> list[str]:
    """Say what goes from the drawer and what comes back."""
    from valvetrain.setup.units import shown

    lines = []
    for each in shafts.drawn:
        thickness = shown(each.thickness, "length", system)
        if each.taken:
            there = "" if each.count is None else f" (the drawer holds {each.count})"
            lines.append(f"from the drawer: {each.taken} of {thickness}{there}")
        if each.returned:
            lines.append(f"left over: {each.returned} of {thickness}")
    return lines


def print_build_plan(result: "CenteringResult", system: str) -> None:
    """Print every shaft in order from the front: what goes on before each wall and rocker, and the result."""
    from rich.table import Table

    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import cells, console

    assert result.shafts is not None
    unit = display_unit("length", system)
    offset, play = cells(result.offset_after, system), cells(result.end_clearance, system)
    offset_known = _known(result.offset_after, system)
    play_known = _known(result.end_clearance, system)
    for before, after in zip(result.shafts.before, result.shafts.after, strict=True):
        name = f" {after.name}" if after.name else ""
        table = Table(
            title=f"Build plan, shaft{name}: from the front, lengths in {unit}; +- is k = 2",
            title_justify="left",
            title_style="bold",
            header_style="bold",
            padding=(0, 1),
        )
        for column in ("put on first", "then", "length", "offset", "+-", "end clearance", "+-", "change"):
            table.add_column(
                column, justify="left" if column in ("put on first", "then", "change") else "right"
            )
        lines = zip(_lines(after, system), _lines(before, system), strict=True)
        for (loose, part, kind), (loose_before, part_before, _) in lines:
            changed = []
            if loose != loose_before:
                changed.append(f"was {loose_before or 'nothing'}")
            if kind in result.valves:
                k = result.valves.index(kind)
                told = [offset[k], offset_known[k], play[k], play_known[k]]
            else:
                told = ["", "", "", ""]
                move = _position(part) - _position(part_before)
                if abs(move) > 1e-9:
                    changed.append(
                        f"moved {_plain(abs(move), system)} to the {'rear' if move > 0 else 'front'}"
                    )
            table.add_row(loose, kind, _plain(_width(part), system), *told, "; ".join(changed))
        console().print(table)


def _lines(row: "ShaftRow", system: str) -> list[tuple[str, "Part", str]]:
    """A line a wall or rocker: the loose parts ahead of it, itself, its name."""
    from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Stand

    lines: list[tuple[str, Part, str]] = []
    loose: list[str] = []
    for part, kind in zip(row.parts, row.kinds, strict=True):
        if isinstance(part, Stand | Rocker):
            lines.append((" + ".join(loose), part, kind))
            loose = []
        elif isinstance(part, Shim):
            loose.append(f"shim {_plain(part.thickness, system)}")
        elif isinstance(part, Spacer):
            loose.append(f"spacer {_plain(part.width, system)}")
        else:
            loose.append(kind)
    return lines


def _known(quantity: Any, system: str) -> list[str]:
    import math

    from valvetrain.setup.units import display_unit, shown_spread

    unit = display_unit(quantity.dimension, system)
    return [
        shown_spread(2 * float(u), quantity.dimension, system).removesuffix(f" {unit}")
        if math.isfinite(u) and not math.isnan(v)
        else ""
        for u, v in zip(quantity.uncertainty, quantity.value, strict=True)
    ]


def _plain(length: float, system: str) -> str:
    from valvetrain.setup.units import display_unit, shown

    return shown(length, "length", system).removesuffix(f" {display_unit('length', system)}")


def _width(part: Any) -> float:
    return float(part.hub_width if hasattr(part, "hub_width") else part.width)


def _position(part: Any) -> float:
    return float(getattr(part, "position", 0.0))


def plan_document(shafts: "ShaftPlan", system: str) -> dict[str, Any]:
    """Return the plan for JSON."""
    from valvetrain.questions.center.words import blocked_lines, plan_lines, remedy_words
    from valvetrain_cli.json_out import length_list, quantity_json

    def length(value: float) -> dict[str, Any]:
        return quantity_json(value, "length", system)

    return {
        "feasible": not shafts.blocked,
        "proved": shafts.plan.proved,
        "changes": shafts.plan.changes,
        "steps": plan_lines(shafts, system),
        "shims": [
            {
                "bay": change.bay,
                "between": [change.ahead, change.behind],
                "put_in": length_list(change.added, system),
                "take_out": length_list(change.removed, system),
            }
            for change in shafts.plan.shims
        ],
        "spacers": [
            {"bay": bay, "slot": slot, "length": length(value)} for _, bay, slot, value in shafts.plan.spacers
        ],
        "stands": [{"stand": name, "move": length(move)} for _, name, move in shafts.plan.stands],
        "blocked": list(shafts.blocked),
        "reasons": blocked_lines(shafts, system),
        "remedies": [
            {
                "bay": each.bay,
                "kind": each.kind,
                "place": each.place,
                "amount": length(each.amount),
                "count": each.count,
                "advice": remedy_words(each, system),
            }
            for each in shafts.remedies
        ],
        "shopping": [
            {
                "thickness": length(each.thickness),
                "from_drawer": each.taken,
                "left_over": each.returned,
                "in_drawer": each.count,
            }
            for each in shafts.drawn
        ],
        "shafts": [
            {
                "name": row.name or None,
                "parts": [
                    {"part": kind, "length": length(_length(part))}
                    for part, kind in zip(row.parts, row.kinds, strict=True)
                ],
            }
            for row in shafts.after
        ],
    }


def _length(part: Any) -> float:
    for name in ("hub_width", "thickness", "width", "free_length"):
        if hasattr(part, name):
            return float(getattr(part, name))
    raise TypeError(f"{part} has no length")


def print_recheck(recheck: "Recheck", system: str) -> None:
    """Print what was foretold and what was read, then "done" or the change that is left."""
    from rich.text import Text

    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import console, print_table

    unit = display_unit("length", system)
    words = [
        "-" if value != value else "agrees" if agrees else "NOT AS PLANNED"
        for value, agrees in zip(recheck.measured.value, recheck.agrees, strict=True)
    ]
    print_table(
        f"Measured again after assembly by the plan: offsets in {unit}",
        recheck.valves,
        [
            ("foretold", recheck.predicted),
            ("read", recheck.measured),
            ("difference", recheck.difference),
            ("best estimate", recheck.now.offset_before),
            ("with the plan", words),
        ],
        system,
    )
    out = console()
    for line in suspect_lines(recheck, system):
        out.print(Text(f"  [ ] {line}"))
    if recheck.done:
        out.print(Text("Done: every rocker that was measured again sits as planned.", style="bold"))
    elif not any(recheck.now.moved) and not any(recheck.now.reason):
        out.print(
            Text("Nothing to change: every rocker that was measured is within its limits.", style="bold")
        )


def suspect_lines(recheck: "Recheck", system: str) -> list[str]:
    """Say which shims would explain what does not agree with the plan."""
    from valvetrain.setup.units import shown

    lines = []
    for valve in dict.fromkeys(suspect.valve for suspect in recheck.suspects):
        ways = [
            f"a shim of {shown(each.shim, 'length', system)} "
            + (
                f"stood {each.side} that belongs on the other side"
                if each.kind == "moved"
                else f"too many stood {each.side}, or one too few on the other side"
            )
            for each in recheck.suspects
            if each.valve == valve
        ]
        lines.append(f"{valve}: it sits as if {', or '.join(ways)}. Look before changing anything.")
    return lines


def recheck_document(recheck: "Recheck", system: str) -> dict[str, Any]:
    """Return the re-check for JSON."""
    from valvetrain_cli.json_out import quantity_json

    def rows(quantity: Any, index: int) -> dict[str, Any]:
        value, doubt = float(quantity.value[index]), float(quantity.uncertainty[index])
        return quantity_json(value, quantity.dimension, system, doubt)

    columns: Sequence[tuple[str, Any]] = (
        ("foretold", recheck.predicted),
        ("read", recheck.measured),
        ("difference", recheck.difference),
        ("estimate", recheck.now.offset_before),
    )
    return {
        "done": recheck.done,
        "suspects": suspect_lines(recheck, system),
        "valves": [
            {"valve": valve, **{name: rows(each, k) for name, each in columns}, "agrees": recheck.agrees[k]}
            for k, valve in enumerate(recheck.valves)
        ],
    }
