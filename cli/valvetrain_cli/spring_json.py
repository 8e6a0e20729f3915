"""The springs as JSON."""

from typing import Any

from valvetrain.questions.spring.advice import note_sentence
from valvetrain.questions.spring.study import SpringResult, spread
from valvetrain.setup.units import display_unit, from_si
from valvetrain_cli.json_out import length_list, quantity_json, valve_rows

__all__ = ["spring_document"]


def spring_document(result: SpringResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        own = result.plan.valves[index]
        row["shim_plan"] = {
            "planned": own.planned,
            "fitted": length_list(own.fitted, system),
            "take_out": length_list(own.take_out, system),
            "put_in": length_list(own.put_in, system),
            "in_all": length_list(own.stack, system),
            "hardened": own.hardened,
            "another_spring": bool(own.reason and own.reason.wrong_spring),
            "higher_by_other_parts": {
                "low": quantity_json(own.higher_low, "length", system),
                "high": quantity_json(own.higher_high, "length", system),
            },
        }
        for section, member in result.members.items():
            row[section] = {
                name: quantity_json(each.value[index], each.dimension, system, each.uncertainty[index])
                for name, each in member.items()
            }
    document: dict[str, Any] = {
        "valves": rows,
        "seat_load_spread": [
            {
                "role": role,
                "now": quantity_json(now, "force", system),
                "after": quantity_json(spread(result.seat_load_after, result.roles)[role], "force", system),
            }
            for role, now in spread(result.seat_load, result.roles).items()
        ],
        "matched": result.matched,
        "springs_left_over": sorted(result.left_over),
        "shims_to_buy": [
            {
                "thickness": quantity_json(each.thickness, "length", system),
                "number": each.number,
                "hardened": each.hardened,
            }
            for each in result.plan.to_buy
        ],
        "plan_proved": result.plan.proved,
        "notes": sorted(note_sentence(note, system) for note in result.notes),
    }
    if result.purchase is not None:
        document["with_purchase"] = _with_purchase(result, system)
    if result.trouble:
        document["match_trouble"] = result.trouble
    if result.stress:
        document["stress"] = {key: valve_rows(each, system) for key, each in result.stress.items()}
    if result.surge:
        document["surge"] = [
            {
                "spring": each.section,
                "role": each.role,
                "valve": each.valve,
                "frequency": quantity_json(each.frequency, "frequency", system),
                "meets": [
                    {
                        "order": int(order),
                        "speed": quantity_json(speed, "rotation", system),
                        "amplitude": quantity_json(amplitude, "length", system),
                    }
                    for order, speed, amplitude in zip(
                        each.met_order, each.met_speed, each.met_amplitude, strict=True
                    )
                ],
                "harmonics": {
                    "orders": each.order.tolist(),
                    "values": [from_si(float(one), "length", system) for one in each.amplitude],
                    "unit": display_unit("length", system),
                },
            }
            for each in result.surge.values()
        ]
    if result.break_in is not None:
        document["break_in"] = {
            "speed": quantity_json(result.break_in.speed, "rotation", system),
            "valves": valve_rows(result.break_in, system),
        }
    return document


def _with_purchase(result: SpringResult, system: str) -> dict[str, Any]:
    """Return the plan with the shims of the shopping list, and how many valves are not right in each plan."""
    found = result.purchase
    assert found is not None
    rows = []
    for index, valve in enumerate(result.valves):
        row: dict[str, Any] = {"valve": valve, "spring": found.spring[index]}
        row["shims"] = length_list(found.plan.valves[index].stack, system)
        for name in ("installed_height", "seat_load", "open_load", "bind_clearance"):
            each = getattr(found, name)
            row[name] = quantity_json(each.value[index], each.dimension, system, each.uncertainty[index])
        rows.append(row)
    names = ("out", "unsure", "off_target")
    return {
        "valves": rows,
        "without": dict(zip(names, result.plan.faults, strict=True)),
        "with": dict(zip(names, found.plan.faults, strict=True)),
    }
