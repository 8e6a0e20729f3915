"""Breaking in with the inner springs out: the loads left, and whether the valves are still controlled."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.inputs import column_of
from valvetrain.questions.control.study import control_speed
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.setup.setup import Column, Setup

__all__ = ["BreakInResult", "break_in_study"]

_DIMENSIONS = {"break_in_seat_load": "force", "break_in_open_load": "force", "break_in_rate": "stiffness"}
_INSIDE = ("middle_spring", "inner_spring")


@dataclass(frozen=True)
class BreakInResult:
    """The outer springs alone at every valve.

    Attributes:
        break_in_seat_load, break_in_open_load, break_in_rate: of the outer spring alone.
        break_in_limit: crank speed at which the rigid train leaves its lobe with the outer spring alone; NaN
            where masses are not known, infinite where it never does.
        break_in_margin: that over the break-in speed, less 1.
        speed: break-in speed [rad/s]; NaN where the sheet gives none.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    break_in_seat_load: Quantity
    break_in_open_load: Quantity
    break_in_rate: Quantity
    break_in_limit: Quantity
    break_in_margin: Quantity
    speed: float


def break_in_study(setup: Setup, curves: SpringCurves, inputs: Mapping[str, Column]) -> BreakInResult | None:
    """Study the break-in; None where the springs are single, so that there is nothing to take out."""
    if len(curves.sections) == 1:
        return None

    def quantities(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        height = rows["spring.installed_height"] + rows["spring.seat_recession"]
        seat, rate = curves.total(rows, height, _INSIDE)
        full = curves.total(rows, height - rows["net lift"], _INSIDE)[0]
        return {"break_in_seat_load": seat, "break_in_open_load": full, "break_in_rate": rate}

    found = computed(quantities, inputs, _DIMENSIONS)
    where = "the outer spring alone"
    limit = control_speed(
        setup, column_of(found["break_in_seat_load"], where), column_of(found["break_in_rate"], where)
    )
    speed = setup.engine.break_in_speed.value if setup.engine.break_in_speed else np.nan
    margin = Quantity(
        "fraction",
        limit.value / speed - 1.0,
        limit.uncertainty / speed,
        {key: part / speed for key, part in limit.contributions.items()},
        None if limit.low is None else limit.low / speed - 1.0,
        None if limit.high is None else limit.high / speed - 1.0,
    )
    return BreakInResult(
        setup.valves, setup.roles, **found, break_in_limit=limit, break_in_margin=margin, speed=speed
    )
