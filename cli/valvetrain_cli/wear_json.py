"""The contacts and the record as JSON."""

import dataclasses
import math
from typing import Any

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.questions.record.study import RecordResult
from valvetrain.questions.wear.study import WearResult
from valvetrain.setup.units import display_unit, from_si
from valvetrain_cli.json_out import quantity_json

__all__ = ["contacts", "record"]

IntArray = np.ndarray[tuple[int], np.dtype[np.intp]]


def record(result: RecordResult, system: str) -> dict[str, Any]:
    """Return the record's rows, its diagnoses and its readings."""
    rows = _rows(result, system)
    for index, row in enumerate(rows):
        row |= {
            "readings": result.readings[index],
            "lash_state": result.lash_state[index],
            "lift_state": result.lift_state[index],
            "turned": result.turned[index],
            "next_date": result.next_date[index] or None,
            "skipped": result.skipped[index],
        }
        row["found"] = [
            {"name": each.name, "reason": each.reason, "sure": each.sure} for each in result.found[index]
        ]
        row["stands_out"] = list(result.stands_out[index])
    return {"record": result.source, "counted_in": result.axis, "valves": rows}


def contacts(result: WearResult, system: str) -> dict[str, Any]:
    """Return a row a valve, and stress, film, entrainment and wear over the lobe at every speed."""
    rows = _rows(result, system)
    pairs = result.pairs
    # Over the lobes alone, every degree: what is between the samples a reader can draw.
    lifted = (result.motion.curves.tappet_lift > 0).any(axis=0)
    at = np.flatnonzero(lifted)[::2]
    for index, row in enumerate(rows):
        for field in dataclasses.fields(pairs):
            column = getattr(pairs, field.name)
            if isinstance(column, Quantity):
                row[field.name] = quantity_json(
                    column.value[index], column.dimension, system, column.uncertainty[index]
                )
            elif not isinstance(column, np.ndarray):
                row[field.name] = column[index]
        row |= {
            "contact": result.contact[index],
            "film_regime": result.film_regime[index],
            "entrainment_zero": result.entrainment_zero[index],
            "rotation_sense": result.rotation_sense[index],
        }
        row["peak_rpm"] = _number(float(result.peak_rpm.value[index]))
        row["missing"] = list(result.missing[index])
        row["obstacles"] = [{"name": name, "reason": reason} for name, reason in result.obstacles[index]]
        row["rotation_strength"] = _number(float(result.rotation_strength.value[index]))
    return {
        "rpm": list(result.rpm),
        "spring_load_only": [bool(each) for each in result.motion.static],
        "masses_missing": list(result.motion.masses_missing),
        "lift_spread": {
            role: {
                "spread": quantity_json(spread, "length", system),
                "repeatability": quantity_json(repeats, "length", system),
            }
            for role, (spread, repeats) in result.lift_spread.items()
        },
        "valves": rows,
        "over_lobe": {
            "cam_angle": {"unit": "deg", "values": np.degrees(result.motion.angle[at]).tolist()},
            "series": [
                {"valve": valve, "rpm": speed, **_series(result, index, number, at, system)}
                for index, valve in enumerate(result.valves)
                for number, speed in enumerate(result.rpm)
            ],
        },
    }


def _rows(result: Any, system: str) -> list[dict[str, Any]]:
    """Return a row a valve with every quantity of a result."""
    rows: list[dict[str, Any]] = [
        {"valve": valve, "role": role} for valve, role in zip(result.valves, result.roles, strict=True)
    ]
    for field in dataclasses.fields(result):
        column = getattr(result, field.name)
        if not isinstance(column, Quantity):
            continue
        for index, row in enumerate(rows):
            row[field.name] = quantity_json(
                column.value[index], column.dimension, system, column.uncertainty[index]
            )
    return rows


def _series(result: WearResult, valve: int, speed: int, at: IntArray, system: str) -> dict[str, Any]:
    """Return what varies over the lobe at one speed of one valve."""
    lobe = result.lobe
    return {
        name: {
            "unit": display_unit(dimension, system),
            "values": [
                _number(each) for each in from_si(values[valve, speed, at], dimension, system).tolist()
            ],
        }
        for name, values, dimension in (
            ("load", result.motion.lobe, "force"),
            ("stress", lobe.touch.pressure, "pressure"),
            ("entrainment", lobe.entrainment, "speed"),
            ("sliding", lobe.sliding, "speed"),
            ("film", lobe.film, "roughness"),
            ("film_ratio", lobe.film_ratio, "ratio"),
            ("temperature_rise", lobe.flash, "rise"),
            ("relative_wear", lobe.wear, "ratio"),
        )
    }


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
