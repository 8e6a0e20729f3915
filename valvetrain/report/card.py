"""The bench card: at every valve what to fit and to what to set it, beside blanks for what is measured."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from valvetrain.answers.table import Table
from valvetrain.answers.verdict import Check
from valvetrain.questions.center.words import shims_words
from valvetrain.report.model import BLANK, BOX, BenchCard
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["bench_card"]

Cells = list[str]
_Column = tuple[str, Cells]


def bench_card(
    setup: Setup, results: Mapping[str, Any], checks: Mapping[str, Sequence[Check]], system: str
) -> BenchCard:
    """Make the card; a column that would be empty at every valve is left out.

    A figure that the work will change is not written as if it were to be set.
    """
    unit, force = display_unit("length", system), display_unit("force", system)

    def length(value: float) -> str:
        return "" if np.isnan(value) else shown(value, "length", system).removesuffix(f" {unit}")

    def shims(stack: Sequence[float]) -> str:
        return shims_words(stack, system).removesuffix(f" {unit}")

    fit: list[_Column] = []
    set_to: list[_Column] = []
    if "spring" in results:
        spring = results["spring"]
        again = _out(checks, "rocker") & _apart(setup, results)
        weak = _out(checks, "spring")
        height = [
            "measure" if valve in again else length(float(each))
            for valve, each in zip(setup.valves, spring.installed_height_after.value, strict=True)
        ]
        load = [
            "" if np.isnan(each) else shown(float(each), "force", system).removesuffix(f" {force}")
            for each in spring.seat_load_after.value
        ]
        load = [
            "measure" if valve in again or (valve in weak and own.reason is not None) else each
            for valve, own, each in zip(setup.valves, spring.plan.valves, load, strict=True)
        ]
        fit += [
            ("spring", list(spring.spring_after)),
            (f"shims under spring {unit}", _under_springs(spring, shims)),
        ]
        set_to += [(f"installed height {unit}", height), (f"seat load {force}", load)]
    if "center" in results:
        center = results["center"]
        misplaced = _out(checks, "center")
        play = [
            "see list" if reason and valve in misplaced else length(float(each))
            for valve, each, reason in zip(
                setup.valves, center.end_clearance.value, center.reason, strict=True
            )
        ]
        fit += [
            (f"rocker shims in front {unit}", [shims(each) for each in center.front_shims]),
            (f"rocker shims behind {unit}", [shims(each) for each in center.rear_shims]),
        ]
        set_to.append((f"end clearance {unit}", play))
    if "pushrod" in results:
        plan = results["pushrod"].plan
        chosen = [length(plan.stated[place]) if place >= 0 else "" for place in map(int, plan.chosen)]
        fit.append((f"pushrod {unit}", chosen))
    wanted = setup.column("lash", "wanted").value
    set_to.append((f"lash {unit}", [length(float(each)) for each in wanted]))
    fitted = _table("Fit, valve by valve; a dash: not known or none", setup.valves, fit, blanks=False)
    told = "Set, and write what is found; measure: not known before the work is done"
    return BenchCard(
        fitted if len(fitted.columns) > 1 else None, _table(told, setup.valves, set_to, blanks=True)
    )


def _table(caption: str, valves: Sequence[str], columns: Sequence[_Column], *, blanks: bool) -> Table:
    """Make a table, without columns that would tell nothing at any valve, with a blank beside each figure."""
    names, cells = ["valve"], [list(valves)]
    for name, own in columns:
        if blanks or set(own) - {"", "as is"}:
            names.append(name)
            cells.append([each or "-" for each in own])
        if blanks:
            names.append("found")
            cells.append([BLANK] * len(valves))
    if blanks:
        names.append("done")
        cells.append([BOX] * len(valves))
    words = frozenset() if blanks else frozenset(range(1, len(names)))
    return Table(caption, tuple(names), tuple(zip(*cells, strict=True)), words=words)


def _out(checks: Mapping[str, Sequence[Check]], question: str) -> frozenset[str]:
    """Name the valves at which a question found something outside its limits."""
    own = checks.get(question, ())
    return frozenset(check.valve for check in own if check.verdict == "out" and check.valve)


def _apart(setup: Setup, results: Mapping[str, Any]) -> frozenset[str]:
    """Name the valves whose tip stands apart: the work on valve or seat changes their installed height."""
    if "rocker" not in results:
        return frozenset()
    plans = results["rocker"].stand.shafts
    return frozenset(setup.valves[index] for plan in plans for index in plan.group.apart)


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
