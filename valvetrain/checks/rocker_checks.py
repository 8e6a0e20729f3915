"""Verdicts on where the rocker meets the valve tip."""

import numpy as np

from valvetrain.checks.verdict import Check, judged
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown
from valvetrain.studies.rocker_study import RockerResult

__all__ = ["rocker_checks"]

_PAD_SIDE = ("shaft.setback", "shaft.height", "rocker.pad_arm", "rocker.pad_radius")


def rocker_checks(setup: Setup, result: RockerResult, system: str) -> list[Check]:
    """Judge sweep width and the contact's distance from the tip's chamfer at every valve."""
    cure = tuple(_cure(setup, result, index, system) for index in range(len(setup.valves)))
    return [
        *judged(
            setup,
            "sweep_width",
            result.sweep_share,
            needs=(*_PAD_SIDE, "valve.stem_height"),
            cure=cure,
            system=system,
        ),
        *judged(
            setup,
            "contact_on_tip",
            result.chamfer_distance,
            needs=(*_PAD_SIDE, "valve.stem_height", "valve.stem_diameter", "valve.tip_chamfer"),
            cure=cure,
            system=system,
        ),
    ]


def _cure(setup: Setup, result: RockerResult, index: int, system: str) -> str:
    """Say which stand shim brings the sweep to its least."""
    change = float(result.stand_shim_change_for_least_sweep.value[index])
    if np.isnan(change):
        return ""
    least = shown(float(result.least_sweep_width.value[index]), "length", system)
    if change > 0:
        turn = f"Raise the shaft: {shown(change, 'length', system)} more"
    else:
        turn = f"Lower the shaft: {shown(-change, 'length', system)} less"
    what = f"{turn} under the stand gives the least sweep, {least}"
    stock = [each.value for each in setup.stock.stand_shims]
    if change > 0 and stock:
        best = min(stock, key=lambda each: abs(each - change))
        what += f"; nearest in stock {shown(best, 'length', system)}"
    return f"{what}. One stand shim serves every valve of that shaft; reset the adjusters after."
