"""Results as JSON: one writer for every result, made from what its fields say of themselves."""

import dataclasses
import importlib.metadata
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from valvetrain.answers.output import outputs
from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.setup.units import display_unit, from_si

__all__ = [
    "checks_json",
    "document",
    "length_list",
    "quantity_json",
    "quantity_rows",
    "record",
    "series_json",
    "valve_rows",
]


# In SI units nothing about an engine comes near this: what does is without bounds.
_BOUNDLESS = 1e100


def quantity_json(
    value: float, dimension: str, system: str, uncertainty: float | None = None
) -> dict[str, Any]:
    """Return one quantity; a value that is unmeasured or unlimited is null."""
    entry: dict[str, Any] = {
        "value": _converted(value, dimension, system),
        "unit": display_unit(dimension, system),
    }
    if uncertainty is not None:
        spread = _converted(uncertainty, dimension, system, difference=True)
        if spread is not None:
            entry["u"] = spread
    return entry


def _converted(value: float, dimension: str, system: str, *, difference: bool = False) -> float | None:
    """Convert a value; None for one that is unknown or without bounds, which JSON has no number for."""
    if not abs(value) < _BOUNDLESS:
        return None
    return float(from_si(float(value), dimension, system, difference=difference))


def length_list(lengths: Sequence[float], system: str) -> list[dict[str, Any]]:
    """Return a list of lengths."""
    return [quantity_json(each, "length", system) for each in lengths]


def series_json(values: Iterable[float], dimension: str, system: str) -> dict[str, Any]:
    """Return a series of one quantity; what is unknown is null."""
    return {
        "values": [_converted(each, dimension, system) for each in values],
        "unit": display_unit(dimension, system),
    }


def valve_rows(result: Any, system: str) -> list[dict[str, Any]]:
    """Return a row a valve: every quantity of a result, its lists of lengths, its words.

    An array of plain numbers is written where its field says what it is; a field whose JSON name is empty is
    left out. What is not as long as the valves is something else's, and left out too.
    """
    rows: list[dict[str, Any]] = [
        {"valve": valve, "role": role} for valve, role in zip(result.valves, result.roles, strict=True)
    ]
    told = outputs(type(result))
    for field in dataclasses.fields(result):
        column, about = getattr(result, field.name), told.get(field.name)
        if field.name in ("valves", "roles") or (about is not None and not about.key):
            continue
        key = about.key if about is not None else field.name
        dimension = None if about is None else about.dimension
        for index, entry in enumerate(_column(column, dimension, len(rows), system)):
            rows[index][key] = entry
    return rows


def quantity_rows(result: Any, system: str) -> list[dict[str, Any]]:
    """Return a row a valve with every quantity of a result, and nothing else."""
    rows: list[dict[str, Any]] = [
        {"valve": valve, "role": role} for valve, role in zip(result.valves, result.roles, strict=True)
    ]
    for field in dataclasses.fields(result):
        column = getattr(result, field.name)
        if isinstance(column, Quantity):
            for row, entry in zip(rows, _quantities(column, system), strict=True):
                row[field.name] = entry
    return rows


def _column(column: Any, dimension: str | None, count: int, system: str) -> list[Any]:
    """Write one field's entry at every valve; nothing where it is not the valves'."""
    if isinstance(column, Quantity):
        return _quantities(column, system) if len(column.value) == count else []
    if isinstance(column, tuple) and len(column) == count:
        return [
            length_list(entry, system) if isinstance(entry, tuple) and dimension != "words" else entry
            for entry in column
        ]
    if isinstance(column, np.ndarray) and dimension is not None and column.shape == (count,):
        return [quantity_json(each, dimension, system) for each in column]
    return []


def _quantities(column: Quantity, system: str) -> list[dict[str, Any]]:
    """Write a quantity at every place, with the ends of its interval where draws gave them."""
    entries = []
    for index, value in enumerate(column.value):
        entry = quantity_json(value, column.dimension, system, column.uncertainty[index])
        ends = column.ends(index)
        if ends is not None:
            for name, end in zip(("low95", "high95"), ends, strict=True):
                entry[name] = quantity_json(end, column.dimension, system)["value"]
        entries.append(entry)
    return entries


def record(part: Any, system: str, index: int | None = None) -> dict[str, Any]:
    """Return every described field of a dataclass under its JSON name.

    Args:
        part: a result, or a part of one.
        system: "inch" or "metric".
        index: place of the valve in fields that hold one number a valve; None for a part of one thing.
    """
    entries = {}
    for name, about in outputs(type(part)).items():
        if about.key:
            entries[about.key] = _entry(getattr(part, name), about.dimension, system, index)
    return entries


def _entry(value: Any, dimension: str | None, system: str, index: int | None) -> Any:
    """Write one field."""
    if isinstance(value, Quantity):
        written = _quantities(value, system)
        return written if index is None else written[index]
    if isinstance(value, np.ndarray) and value.ndim:
        if index is not None:
            return _entry(value[index], dimension, system, None)
        if dimension is not None:
            return series_json(value.ravel(), dimension, system)
        return value.tolist()
    if dimension is not None and isinstance(value, int | float | np.floating | np.integer):
        return quantity_json(float(value), dimension, system)
    if isinstance(value, tuple | list):
        if index is not None:
            return _entry(value[index], dimension, system, None)
        return [_entry(each, dimension, system, None) for each in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return record(value, system, index)
    if isinstance(value, Mapping):
        return {str(key): _entry(each, dimension, system, index) for key, each in value.items()}
    return _plain(value)


def _plain(value: Any) -> Any:
    """Write a word, a count or a plain number; what is not finite is null."""
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value


def checks_json(checks: Sequence[Check], system: str) -> list[dict[str, Any]]:
    """Return the verdicts."""
    rows = []
    for check in checks:
        limit = {
            "low": quantity_json(check.low, check.dimension, system),
            "high": quantity_json(check.high, check.dimension, system),
        }
        rows.append(
            {
                "id": check.id,
                "valve": check.valve,
                "quantity": {
                    "name": check.quantity,
                    **quantity_json(check.value, check.dimension, system, check.uncertainty),
                },
                "limit": limit,
                "verdict": check.verdict,
                "basis": check.basis,
                "advice": check.advice,
            }
        )
    return rows


def document(
    command: str,
    sheet: str,
    results: Mapping[str, Any],
    checks: Sequence[Check],
    cautions: Sequence[str],
    system: str,
    extra: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the whole document; `extra` stands beside the results."""
    return {
        "tool": "valvetrain",
        "version": importlib.metadata.version("valvetrain"),
        "command": command,
        "sheet": sheet,
        "units": system,
        "results": dict(results),
        "checks": checks_json(checks, system),
        "cautions": list(cautions),
        **(extra or {}),
    }
