"""The rubbing pairs as JSON."""

import dataclasses
import math
from typing import Any

import numpy as np

from valvetrain.answers.document import quantity_json, quantity_rows
from valvetrain.answers.quantity import Quantity
from valvetrain.questions.wear.study import WearResult
from valvetrain.setup.units import display_unit, from_si

__all__ = ["wear_document"]

IntArray = np.ndarray[tuple[int], np.dtype[np.intp]]


def wear_document(result: WearResult, system: str) -> dict[str, Any]:
    """Return a row a valve, and stress, film, entrainment and wear over the lobe at every speed."""
    rows = quantity_rows(result, system)
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
