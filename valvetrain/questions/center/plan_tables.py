"""The plan of whole shafts: the shaft in order, the changes, what goes from the drawer."""

import math
from collections.abc import Iterator
from typing import Any

from valvetrain.answers.table import Block, Sentence, Table, bare, cells
from valvetrain.mechanics.row.shaft import Part, Rocker, Shim, Spacer, Stand
from valvetrain.parts.row import ShaftRow
from valvetrain.questions.center.plan import ShaftPlan
from valvetrain.questions.center.study import CenteringResult
from valvetrain.questions.center.words import blocked_lines, plan_lines
from valvetrain.setup.units import display_unit, shown, shown_spread

__all__ = ["build_plan", "changes", "shopping"]


def changes(shafts: ShaftPlan, system: str) -> Iterator[Block]:
    """Say the changes of a plan, or that there are none, and where there is no plan."""
    lines = plan_lines(shafts, system)
    if lines:
        number = shafts.plan.changes
        yield Sentence(f"Shaft plan: {number} change{'s' if number > 1 else ''}", strong=True)
        for line in lines:
            yield Sentence(line, mark="  [ ] ")
    elif not shafts.blocked:
        yield Sentence("Shaft plan: nothing to change.", strong=True)
    stuck = blocked_lines(shafts, system)
    if stuck:
        yield Sentence("No plan", strong=True)
        for line in stuck:
            yield Sentence(line, mark="  [ ] ")
    for each in shopping(shafts, system):
        yield Sentence(each, mark="  ")
    if not shafts.plan.proved:
        yield Sentence("The search was ended after its time: a better plan may exist.")


def shopping(shafts: ShaftPlan, system: str) -> list[str]:
    """Say what goes from the drawer and what comes back."""
    lines = []
    for each in shafts.drawn:
        thickness = shown(each.thickness, "length", system)
        if each.taken:
            there = "" if each.count is None else f" (the drawer holds {each.count})"
            lines.append(f"from the drawer: {each.taken} of {thickness}{there}")
        if each.returned:
            lines.append(f"left over: {each.returned} of {thickness}")
    return lines


def build_plan(result: CenteringResult, system: str) -> Iterator[Block]:
    """Say every shaft in order from the front: what goes on before each wall and rocker, and the result."""
    assert result.shafts is not None
    unit = display_unit("length", system)
    offset, play = cells(result.offset_after, system), cells(result.end_clearance, system)
    offset_known = _known(result.offset_after, system)
    play_known = _known(result.end_clearance, system)
    for before, after in zip(result.shafts.before, result.shafts.after, strict=True):
        name = f" {after.name}" if after.name else ""
        rows = []
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
            rows.append((loose, kind, _plain(_width(part), system), *told, "; ".join(changed)))
        yield Table(
            f"Build plan, shaft{name}: from the front, lengths in {unit}; +- is k = 2",
            ("put on first", "then", "length", "offset", "+-", "end clearance", "+-", "change"),
            tuple(rows),
            words=frozenset({0, 1, 7}),
        )


def _lines(row: ShaftRow, system: str) -> list[tuple[str, Part, str]]:
    """A line a wall or rocker: the loose parts ahead of it, itself, its name."""
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
    unit = display_unit(quantity.dimension, system)
    return [
        shown_spread(2 * float(u), quantity.dimension, system).removesuffix(f" {unit}")
        if math.isfinite(u) and not math.isnan(v)
        else ""
        for u, v in zip(quantity.uncertainty, quantity.value, strict=True)
    ]


def _plain(length: float, system: str) -> str:
    return bare(length, "length", system)


def _width(part: Any) -> float:
    return float(part.hub_width if hasattr(part, "hub_width") else part.width)


def _position(part: Any) -> float:
    return float(getattr(part, "position", 0.0))
