"""Results as the JSON document of the command line's contract."""

import dataclasses
import importlib.metadata
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import click

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.setup.units import display_unit, from_si

__all__ = ["checks_json", "length_list", "print_document", "quantity_json", "series_json", "valve_rows"]


def quantity_json(
    value: float, dimension: str, system: str, uncertainty: float | None = None
) -> dict[str, Any]:
    """Return one quantity; a value that is unmeasured or unlimited is null."""
    entry: dict[str, Any] = {
        "value": from_si(float(value), dimension, system) if math.isfinite(value) else None,
        "unit": display_unit(dimension, system),
    }
    if uncertainty is not None and math.isfinite(uncertainty):
        entry["u"] = from_si(float(uncertainty), dimension, system, difference=True)
    return entry


def length_list(lengths: Sequence[float], system: str) -> list[dict[str, Any]]:
    """Return a list of lengths."""
    return [quantity_json(each, "length", system) for each in lengths]


def series_json(values: Sequence[float], dimension: str, system: str) -> dict[str, Any]:
    """Return a series of one quantity; what is unknown is null."""
    return {
        "values": [
            from_si(float(each), dimension, system) if math.isfinite(each) else None for each in values
        ],
        "unit": display_unit(dimension, system),
    }


def valve_rows(result: Any, system: str) -> list[dict[str, Any]]:
    """Return a row a valve: every quantity of a result, its lists of lengths and its words."""
    rows: list[dict[str, Any]] = [
        {"valve": valve, "role": role} for valve, role in zip(result.valves, result.roles, strict=True)
    ]
    for field in dataclasses.fields(result):
        column = getattr(result, field.name)
        if isinstance(column, Quantity) and len(column.value) != len(rows):
            continue  # a quantity of something else than the valves
        if field.name in ("valves", "roles") or (isinstance(column, tuple) and len(column) != len(rows)):
            continue
        for index, row in enumerate(rows):
            if isinstance(column, Quantity):
                row[field.name] = quantity_json(
                    column.value[index], column.dimension, system, column.uncertainty[index]
                )
                ends = column.ends(index)
                if ends is not None:
                    for name, end in zip(("low95", "high95"), ends, strict=True):
                        row[field.name][name] = quantity_json(end, column.dimension, system)["value"]
            elif isinstance(column, tuple):
                entry = column[index]
                row[field.name] = length_list(entry, system) if isinstance(entry, tuple) else entry
    return rows


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


def print_document(
    command: str,
    sheet: str,
    results: dict[str, Any],
    checks: Sequence[Check],
    cautions: Sequence[str],
    system: str,
    extra: Mapping[str, Any] | None = None,
) -> None:
    """Print the document; `extra` stands beside the results."""
    document = {
        "tool": "valvetrain",
        "version": importlib.metadata.version("valvetrain"),
        "command": command,
        "sheet": sheet,
        "units": system,
        "results": results,
        "checks": checks_json(checks, system),
        "cautions": list(cautions),
        **(extra or {}),
    }
    click.echo(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))
