"""Valve control as JSON."""

import dataclasses
from typing import TYPE_CHECKING, Any

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.loads import PEAKS
from valvetrain_cli.json_out import quantity_json, valve_rows
from valvetrain_cli.json_out import series_json as _series_json

if TYPE_CHECKING:
    from valvetrain.questions.control.elastic_result import ElasticResult, ElasticRole
    from valvetrain.questions.control.loads import RoleLoads
    from valvetrain.questions.control.study import ControlResult
    from valvetrain_cli.control import ControlAnswer

__all__ = ["control_document"]

_MEASURES = {
    "lobe_separation": "angle",
    "lobe_separation_start": "angle",
    "lobe_gap": "length",
    "pushrod_separation": "angle",
    "pushrod_separation_start": "angle",
    "tip_separation": "angle",
    "tip_separation_start": "angle",
    "seating_angle": "angle",
    "seating_speed": "speed",
    "bounce_height": "length",
    "peak_lobe": "force",
    "peak_pushrod": "force",
    "peak_cup": "force",
    "peak_tip": "force",
    "peak_seat": "force",
    "lost_lift": "length",
    "overshoot": "length",
}


def control_document(answer: "ControlAnswer", system: str) -> dict[str, Any]:
    """Return what stands under "results": valves, roles, and the elastic sweep where it was run."""
    document: dict[str, Any] = {
        "redline": quantity_json(answer.rigid.redline, "rotation", system),
        "valves": _valves(answer.rigid, system),
    }
    if answer.loads:
        document["roles"] = [_loads(each, answer.curves, system) for each in answer.loads]
    if answer.elastic is not None:
        document["elastic"] = _elastic(answer.elastic, system)
    return document


def series_json(values: FloatArray, dimension: str, system: str) -> dict[str, Any]:
    return _series_json([float(each) for each in values], dimension, system)


def _valves(result: "ControlResult", system: str) -> list[dict[str, Any]]:
    words = {
        name: tuple(", ".join(keys) for keys in getattr(result, name)) for name in ("estimated", "missing")
    }
    rows = valve_rows(dataclasses.replace(result, **words), system)  # type: ignore[arg-type]
    for row in rows:
        for name in words:
            row[name] = row[name].split(", ") if row[name] else []
    return rows


def _loads(loads: "RoleLoads", curves: bool, system: str) -> dict[str, Any]:
    row: dict[str, Any] = {
        "role": loads.role,
        "valve": loads.valve,
        "crank_speed": series_json(loads.crank_speed, "rotation", system),
        "peaks": {name: series_json(loads.peaks[name], kind, system) for name, kind in PEAKS.items()},
        "shaft_direction": series_json(loads.shaft_direction, "angle", system),
    }
    if not curves:
        return row
    found = loads.loads
    over: dict[str, Any] = {
        "crank_angle": series_json(2.0 * loads.angle, "angle", system),
        "valve_lift": series_json(loads.curves.valve_lift, "length", system),
        "spring": series_json(loads.spring, "force", system),
    }
    kinds = {
        "tip": "force",
        "side": "force",
        "tilting_moment": "torque",
        "cup": "force",
        "lobe": "force",
        "camshaft_torque": "torque",
    }
    for name, kind in kinds.items():
        over[name] = [series_json(each, kind, system) for each in getattr(found, name)]
    for axis, name in enumerate(("shaft_x", "shaft_y", "shaft_along")):
        over[name] = [series_json(each[:, axis], "force", system) for each in found.shaft]
    over["required_spring"] = [series_json(each, "force", system) for each in loads.required]
    row["curves"] = over
    return row


def _elastic(result: "ElasticResult", system: str) -> dict[str, Any]:
    judged = result.judgments
    return {
        "crank_speed": series_json(result.crank_speed, "rotation", system),
        "least_gap": quantity_json(judged.least_gap, "length", system),
        "least_bounce": quantity_json(judged.least_bounce, "length", system),
        "ramp_share": quantity_json(judged.ramp_share, "fraction", system),
        "damping_ratio": quantity_json(judged.damping_ratio, "ratio", system),
        "roles": [_elastic_role(each, system) for each in result.roles],
    }


def _elastic_role(role: "ElasticRole", system: str) -> dict[str, Any]:
    row: dict[str, Any] = {"role": role.role, "valve": role.valve or None, "reason": role.reason or None}
    if role.stiffness is not None:
        row["stiffness"] = quantity_json(
            role.stiffness.whole, "stiffness", system, role.stiffness.whole_uncertainty
        )
        row["stiffness_from"] = role.stiffness.source or None
    if role.measures is None:
        return row
    row["limits"] = {
        name: {
            **quantity_json(limit.speed, "rotation", system, limit.uncertainty),
            "within": not limit.bound,
            "bound": limit.bound or None,
            "doubt_from": limit.doubt_from or None,
        }
        for name, limit in role.limits.items()
    }
    row["lowest"] = role.lowest
    row["doubt_from"] = role.limits[role.lowest].doubt_from or None
    row["steady"] = [bool(each) for each in role.steady]
    row["measures"] = {
        name: series_json(getattr(role.measures, name), kind, system) for name, kind in _MEASURES.items()
    }
    row["measures"]["bounces"] = {
        "values": [None if each != each else float(each) for each in role.measures.bounces]
    }
    return row
