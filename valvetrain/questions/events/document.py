"""The events as JSON, as the contract names them: one entry a valve, checking lift and lash."""

from typing import Any

import numpy as np

from valvetrain.answers.document import quantity_json, record, series_json, valve_rows
from valvetrain.answers.output import outputs
from valvetrain.answers.quantity import Quantity
from valvetrain.questions.events.answer import EventsAnswer
from valvetrain.questions.events.checks import cam_move
from valvetrain.questions.events.lash_growth import growth_words
from valvetrain.questions.events.lash_sweep import EventsSweep
from valvetrain.questions.events.study import EventsResult
from valvetrain.questions.events.wheel import WheelResult
from valvetrain.setup.units import display_unit, from_si

__all__ = ["cylinder_rows", "events_document"]

_PLACED = ("opens", "closes", "duration", "centerline", "max_lift", "area")


def events_document(result: EventsAnswer, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    cases = (result, *result.more)
    document: dict[str, Any] = {"lobes": [row for each in cases for row in _rows(each, system)]}
    document |= _both(result, system)
    document["by_checking_lift"] = [_case(each, system) | _both(each, system) for each in cases]
    if result.lift_off is not None:
        document["lift_off"] = {"lobes": _rows(result.lift_off, system)} | _both(result.lift_off, system)
    if result.hot is not None:
        document["hot"] = {"lobes": _rows(result.hot, system)}
    if result.sweep is not None:
        document["against_lash"] = _sweep_rows(result.sweep, system)
    document["cam_position"] = result.cam_position
    document["hot_lacks"] = growth_words(result.growth)
    if result.wheel is not None:
        document["degree_wheel"] = _wheel_rows(result.wheel, system)
    return document


def cylinder_rows(cylinders: tuple[int, ...], system: str, **quantities: Quantity) -> list[dict[str, Any]]:
    """Return a row a cylinder, with each quantity under its name."""
    return [
        {"cylinder": number}
        | {
            name: quantity_json(each.value[index], each.dimension, system, each.uncertainty[index])
            for name, each in quantities.items()
        }
        for index, number in enumerate(cylinders)
    ]


def _case(result: EventsResult, system: str) -> dict[str, Any]:
    return {
        "checking_lift": quantity_json(result.checking_lift, "length", system),
        "checked_at": result.checked_at,
    }


def _rows(result: EventsResult, system: str) -> list[dict[str, Any]]:
    """Return a row a valve."""
    rows = valve_rows(result, system)
    for row, source in zip(rows, result.lobe_source, strict=True):
        row["synthesised"] = source == "card"
        row |= _case(result, system)
    return rows


def _both(result: EventsResult, system: str) -> dict[str, Any]:
    """Return overlap and lobe separation of the engine, and of every cylinder."""
    document: dict[str, Any] = {}
    for key, quantity in (("overlap", result.overlap), ("lobe_separation", result.separation)):
        rows = cylinder_rows(result.cylinders, system, each=quantity)
        known = np.flatnonzero(~np.isnan(quantity.value))
        # The engine's overlap is that of the middle cylinder of those that are known.
        middle = known[np.argsort(quantity.value[known])[len(known) // 2]] if known.size else None
        document[key] = (
            quantity_json(float("nan"), "angle", system) if middle is None else rows[middle]["each"]
        )
        document[f"{key}_by_cylinder"] = [{"cylinder": row["cylinder"]} | row["each"] for row in rows]
    return document


def _sweep_rows(sweep: EventsSweep, system: str) -> dict[str, Any]:
    """Return the events against lash: an entry a valve and checking lift, its series over the lashes."""
    told = outputs(EventsResult)

    def series(name: str, check: int, column: int) -> dict[str, Any]:
        dimension = told[name].dimension or "ratio"
        values = series_json(sweep.values[name][:, check, column], dimension, system)
        doubts = [
            from_si(float(each), dimension, system, difference=True) if np.isfinite(each) else None
            for each in sweep.uncertainties[name][:, check, column]
        ]
        return {"values": values["values"], "u": doubts, "unit": display_unit(dimension, system)}

    valves, cylinders = [], []
    for check, (lift, at) in enumerate(sweep.checks):
        where = {"checking_lift": quantity_json(lift, "length", system), "checked_at": at}
        for column, valve in enumerate(sweep.valves):
            valves.append(
                {"valve": valve, "role": sweep.roles[column]}
                | where
                | {name: series(name, check, column) for name in _PLACED}
            )
        for column, cylinder in enumerate(sweep.cylinders):
            cylinders.append({"cylinder": cylinder} | where | {"overlap": series("overlap", check, column)})
    return {
        "lash_change" if sweep.changed else "lash": _lashes(sweep, system),
        "lobes": valves,
        "cylinders": cylinders,
    }


def _lashes(sweep: EventsSweep, system: str) -> dict[str, Any]:
    """Return the lashes, or by how much each valve's own is changed."""
    lashes = [from_si(float(each), "length", system, difference=sweep.changed) for each in sweep.lashes]
    return {"values": lashes, "unit": display_unit("length", system)}


def _wheel_rows(wheel: WheelResult, system: str) -> dict[str, Any]:
    """Return the degree wheel's readings against the card."""
    return {
        "readings": [
            {
                "valve": each.reading.valve,
                "role": each.reading.role,
                "checking_lift": quantity_json(each.reading.checking_lift.value, "length", system),
                "checked_at": each.reading.checked_at,
                **{
                    name: record(part, system)
                    | {"difference": quantity_json(part.value, "angle", system, part.uncertainty)}
                    for name, part in each.figures.items()
                },
                "from_card": each.from_card,
            }
            for each in wheel.comparisons
        ],
        "advance_cam": quantity_json(wheel.advance, "angle", system, wheel.uncertainty),
        "spread": quantity_json(wheel.spread, "angle", system),
        "advice": cam_move(wheel),
    }
