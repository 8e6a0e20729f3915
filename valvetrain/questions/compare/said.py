"""A comparison as tables, and as JSON."""

from collections.abc import Iterable
from typing import Any

from valvetrain.answers.document import quantity_json
from valvetrain.answers.table import SIGNS, Block, Sentence, Table
from valvetrain.parts.measured import Measured
from valvetrain.questions.compare.study import Comparison
from valvetrain.setup.editing.differences import Difference
from valvetrain.setup.units import shown

__all__ = ["document", "tables"]


def tables(found: Comparison, system: str, most: int = 40) -> Iterable[Block]:
    """Say what differs.

    Args:
        found: the comparison.
        system: "inch" or "metric".
        most: rows of each table; of more the number is told.
    """
    if found.left_out:
        yield Sentence(f"Only one of the two has {', '.join(found.left_out)}: left out below.")
    yield from _table(
        "Values that changed",
        ("key", "valve", "before", "after"),
        [
            (each.key, each.valve or "", _value(each.before, each, system), _value(each.after, each, system))
            for each in found.changed
        ],
        most,
    )
    yield from _table(
        "Verdicts that turned",
        ("verdict", "valve", "before", "after"),
        [
            (each.quantity, each.valve or "", _verdict(each.before), _verdict(each.after))
            for each in found.turned
        ],
        most,
    )
    yield from _table(
        "Numbers that moved beyond their doubt (k = 2)",
        ("number", "valve", "before", "after"),
        [
            (
                each.quantity,
                each.valve or "",
                shown(each.before, each.dimension, system, each.before_uncertainty),
                shown(each.after, each.dimension, system, each.after_uncertainty),
            )
            for each in found.moved
        ],
        most,
    )


def _table(caption: str, columns: tuple[str, ...], rows: list[tuple[str, ...]], most: int) -> Iterable[Block]:
    if not rows:
        yield Sentence(f"{caption}: none.", strong=True)
        return
    yield Table(caption, columns, tuple(rows[:most]), words=frozenset({0, 1}))
    if len(rows) > most:
        yield Sentence(f"and {len(rows) - most} more (--json lists all).")


def _verdict(verdict: str | None) -> str:
    return "not asked" if verdict is None else SIGNS[verdict]


def _value(value: Any, each: Difference, system: str) -> str:
    """Write one value of a sheet."""
    if value is None or value == ():
        return "unknown"
    if isinstance(value, Measured) and each.dimension:
        return shown(value.value, each.dimension, system)
    if isinstance(value, tuple) and all(isinstance(one, Measured) for one in value) and each.dimension:
        return ", ".join(shown(one.value, each.dimension, system) for one in value)
    if isinstance(value, float) and each.dimension:
        return shown(value, each.dimension, system)
    return str(value) if isinstance(value, str | int) else "differs"


def document(found: Comparison, system: str) -> dict[str, Any]:
    """Return the results of the JSON document."""
    return {
        "changed": [
            {
                "key": each.key,
                "valve": each.valve,
                "before": _json(each.before, each, system),
                "after": _json(each.after, each, system),
            }
            for each in found.changed
        ],
        "moved": [
            {
                "quantity": each.quantity,
                "valve": each.valve,
                "before": quantity_json(each.before, each.dimension, system, each.before_uncertainty),
                "after": quantity_json(each.after, each.dimension, system, each.after_uncertainty),
            }
            for each in found.moved
        ],
        "turned": [
            {
                "id": each.id,
                "valve": each.valve,
                "quantity": each.quantity,
                "before": each.before,
                "after": each.after,
            }
            for each in found.turned
        ],
        "left_out": list(found.left_out),
    }


def _json(value: Any, each: Difference, system: str) -> Any:
    if isinstance(value, Measured) and each.dimension:
        return quantity_json(value.value, each.dimension, system, value.uncertainty)
    if (
        isinstance(value, tuple)
        and value
        and all(isinstance(one, Measured) for one in value)
        and each.dimension
    ):
        return [quantity_json(one.value, each.dimension, system, one.uncertainty) for one in value]
    if isinstance(value, float) and each.dimension:
        return quantity_json(value, each.dimension, system)
    return value if isinstance(value, str | int | float | None) else _value(value, each, system)
