"""The rockers along the shaft as JSON: every valve, the plan of the shafts, the re-check."""

from collections.abc import Sequence
from typing import Any

from valvetrain.answers.document import length_list, quantity_json, record, valve_rows
from valvetrain.questions.center.plan import ShaftPlan
from valvetrain.questions.center.recheck import Recheck
from valvetrain.questions.center.recheck_tables import suspect_lines
from valvetrain.questions.center.study import CenteringResult
from valvetrain.questions.center.words import blocked_lines, plan_lines, remedy_words

__all__ = ["center_document"]


def center_document(result: CenteringResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = valve_rows(result, system)
    if result.growth is not None:
        for index, row in enumerate(rows):
            row |= record(result.growth, system, index)
    document: dict[str, Any] = {"valves": rows}
    if result.shafts is not None:
        document["plan"] = _plan(result.shafts, system)
    recheck = getattr(result, "recheck", None)
    if recheck is not None:
        document["recheck"] = _recheck(recheck, system)
    return document


def _plan(shafts: ShaftPlan, system: str) -> dict[str, Any]:
    """Return the plan for JSON."""

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


def _recheck(recheck: Recheck, system: str) -> dict[str, Any]:
    """Return the re-check for JSON."""

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
