"""Verdicts on piston to valve, valve to relief, and valve to valve."""

import math
from dataclasses import replace

import numpy as np

from valvetrain.answers.verdict import Check, decided, judged
from valvetrain.questions.clearance.study import ClearanceResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["clearance_checks"]


def clearance_checks(setup: Setup, result: ClearanceResult, system: str) -> list[Check]:
    """Judge every valve against the limit of its role; nothing where the sheet says nothing of it."""
    if not result.described:
        return []
    checks = []
    for role in ("intake", "exhaust"):
        cures = tuple(_cure(setup, result, index, system) for index in range(len(result.valves)))
        own = judged(setup, f"{role}_piston_clearance", result.judged, needs=(), cure=cures, system=system)
        for index, check in enumerate(own):
            if result.roles[index] != role:
                continue
            if check.verdict == "unmeasured":
                check = replace(check, advice=_lacking(result, index))
            checks.append(check)
    if not np.isnan(result.relief_gap.value).all():
        wall = ("The head meets the relief's wall: have the relief cut wider.",) * len(result.valves)
        judged_walls = judged(
            setup,
            "relief_clearance",
            result.relief_gap,
            needs=("piston.relief_radius", "valve.head_diameter"),
            cure=wall,
            system=system,
        )
        checks += [check for check in judged_walls if check.verdict != "unmeasured"]
    return checks + _between_valves(setup, result)


def _lacking(result: ClearanceResult, index: int) -> str:
    """Say what a valve's clearance still needs."""
    missing = [key for key in result.missing[index] if key != "piston.relief_depth"]
    if missing:
        return (
            f"Measure {' and '.join(missing)}; or read the clearance with a dial every five crank degrees "
            "through the overlap and name the table as readings in [piston], with readings_lash."
        )
    return "Give stroke, rod_length, the lobe and its centerline; or dial readings as readings in [piston]."


def _cure(setup: Setup, result: ClearanceResult, index: int, system: str) -> str:
    """Say what would bring clearance: turning the cam, or cutting the relief."""
    limit = setup.limits[f"{result.roles[index]}_piston_clearance"]
    lacking = limit.low - float(result.judged.value[index])
    rate = float(result.per_degree_advance[index])
    text = f"It lacks {shown(lacking, 'length', system)}: have the relief cut deeper by that much, or"
    if math.isnan(rate) or rate == 0:
        return text + " fit a thicker gasket."
    way = "advance" if rate > 0 else "retard"
    return (
        f"{text} {way} the cam, which brings {shown(abs(rate), 'length', system)} a crank degree here and "
        "takes about as much from the other valve. Check with clay or a dial before the engine is turned."
    )


def _between_valves(setup: Setup, result: ClearanceResult) -> list[Check]:
    """Judge the gap between the heads of every cylinder."""
    limit = setup.limits["valve_to_valve"]
    checks = []
    for cylinder, value, doubt in zip(
        result.cylinders, result.valve_gap.value, result.valve_gap.uncertainty, strict=True
    ):
        if math.isnan(value):
            continue
        verdict = decided(float(value), float(doubt), limit.low, limit.high)
        advice = ""
        if verdict != "ok":
            advice = (
                "Measure between the heads with both valves held open as through the overlap; less lift, "
            )
            advice += "a later intake or smaller heads bring room."
        checks.append(
            Check(
                limit.id,
                None,
                f"{limit.doc}, cylinder {cylinder}",
                limit.dimension,
                float(value),
                float(doubt),
                limit.low,
                limit.high,
                verdict,
                limit.basis,
                advice,
            )
        )
    return checks
