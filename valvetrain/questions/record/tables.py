"""What the record says of every valve, as a table."""

import math
from collections.abc import Iterator

import numpy as np

from valvetrain.answers.table import Block, Sentence, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.record.even_wear import even_wear
from valvetrain.questions.record.study import RecordResult
from valvetrain.setup.units import shown, written_unit

__all__ = ["record_tables"]


def record_tables(result: RecordResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say what the record says of every valve."""
    unit = written_unit("length", system)
    dated = result.axis == "date"
    coming = list(result.next_date) if dated else _times(result, system)
    axis = {"hours": "h", "distance": written_unit("distance", system), "date": "days"}[result.axis]
    yield valve_table(
        f"Record {result.source}, counted in {result.axis}: changes over it in {unit}, resets taken out",
        result.valves,
        [
            ("rows", [str(each) for each in result.readings]),
            ("lash moved", result.lash_change),
            ("lash", list(result.lash_state)),
            ("lift moved", result.lift_change),
            ("lift", list(result.lift_state)),
            ("turns", [{True: "yes", False: "NO", None: "-"}[each] for each in result.turned]),
            ("next look" if dated else f"next look in {axis}", coming),
            ("the record says", [_found(result, index) for index in range(len(result.valves))]),
        ],
        system,
        verdicts_of(checks, result.valves),
    )
    least = [
        (name, float(np.nanmedian(quantity.value)))
        for name, quantity in (("lash", result.provable_lash), ("lift", result.provable_lift))
        if np.isfinite(quantity.value).any()
    ]
    if least:
        told = " and ".join(f"{shown(value, 'length', system)} of {name}" for name, value in least)
        yield Sentence(f"At a usual valve this record would prove a change of {told}, and nothing less.")
    yield from even_wear(result, checks, system)
    if np.isfinite(result.next_in.value).any():
        yield Sentence(
            "A next look carries each valve's fastest believable rate on beyond the record, to half of what "
            "is left, and is never later than the usual interval."
        )
    if not result.named:
        yield Sentence(
            "The sheet names no engine ([record] engine): a record of another one would not be noticed."
        )
    if sum(result.skipped):
        yield Sentence(f"{sum(result.skipped)} lash readings in the other state (hot or cold) are left out.")


def _found(result: RecordResult, index: int) -> str:
    names = [each.name for each in result.found[index] if each.name != "no change found"]
    if len(names) > 1:  # what lash or lift cannot tell stands in its own column
        names = [name for name in names if name != "cannot tell"]
    return "; ".join(names) or "no change"


def _times(result: RecordResult, system: str) -> list[str]:
    quantity = result.next_in
    unit = written_unit(quantity.dimension, system)
    return [
        "-"
        if math.isnan(each)
        else "now"
        if each == 0
        else shown(each, quantity.dimension, system).removesuffix(f" {unit}")
        for each in quantity.value.tolist()
    ]
