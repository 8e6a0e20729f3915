"""The bench card: at every valve what to fit and to what to set it, beside blanks for what is measured."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from valvetrain.checks.shaft_words import shims_words
from valvetrain.report.model import BenchCard, Table
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["bench_card"]

Cells = list[str]


def bench_card(setup: Setup, results: Mapping[str, Any], system: str) -> BenchCard:
    """Make the card; a column that would be empty at every valve is left out."""
    unit, force = display_unit("length", system), display_unit("force", system)

    def length(value: float) -> str:
        return "" if np.isnan(value) else shown(value, "length", system).removesuffix(f" {unit}")

    def shims(stack: Sequence[float]) -> str:
        return shims_words(stack, system).removesuffix(f" {unit}")

    columns: list[tuple[str, Cells, bool]] = []
    if "spring" in results:
        spring = results["spring"]
        height = [length(float(each)) for each in spring.installed_height_after.value]
        load = [
            "" if np.isnan(each) else shown(float(each), "force", system).removesuffix(f" {force}")
            for each in spring.seat_load_after.value
        ]
        columns += [
            ("spring", list(spring.spring_after), True),
            ("shims under spring", _under_springs(spring, shims), True),
            (f"height {unit}", height, False),
            (f"seat load {force}", load, False),
        ]
    if "center" in results:
        center = results["center"]
        columns += [
            ("rocker shims in front", [shims(each) for each in center.front_shims], True),
            ("behind", [shims(each) for each in center.rear_shims], True),
            (f"end clearance {unit}", [length(float(each)) for each in center.end_clearance.value], False),
        ]
    if "pushrod" in results:
        plan = results["pushrod"].plan
        chosen = [length(plan.stated[place]) if place >= 0 else "" for place in map(int, plan.chosen)]
        columns.append((f"pushrod {unit}", chosen, False))
    wanted = setup.column("lash", "wanted").value
    columns.append((f"lash {unit}", [length(float(each)) for each in wanted], False))
    kept = [column for column in columns if any(column[1])]
    rows = tuple(
        (valve, *(cells[index] or "-" for _, cells, _ in kept)) for index, valve in enumerate(setup.valves)
    )
    words = frozenset(place + 1 for place, column in enumerate(kept) if column[2])
    table = Table(
        f"Fit and set, valve by valve: lengths in {unit}, loads in {force}; a dash: not known or none",
        ("valve", *(name for name, _, _ in kept)),
        rows,
        words=words,
    )
    return BenchCard(table, ("height", "load", "end cl.", "lash", "done"))


def _under_springs(spring: Any, shims: Callable[[Sequence[float]], str]) -> Cells:
    """Write what is to stand under each spring in all, or be put in where what is fitted is not known."""
    cells = []
    for own in spring.plan.valves:
        if own.planned and own.reason is None and own.changed:
            cells.append(("" if own.fitted else "add ") + shims(own.stack or own.put_in) or "none")
        elif own.planned and own.reason is not None:
            cells.append("see list")
        else:
            cells.append(f"as is{' ' + shims(own.fitted) if own.fitted else ''}")
    return cells
