"""Which shims from the stock go under which spring; springs that are right are left alone."""

from collections.abc import Mapping

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.shim_limits import ShimLimits
from valvetrain.mechanics.shim_stacks import ShimStock
from valvetrain.mechanics.spring_shims import chosen_shims
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.quantity import Quantity

__all__ = ["spring_shim_plan"]

# Most shims under one spring where the sheet does not say: 0.060 in (common practice, no source).
USUAL_STACK = 1.524e-3


def spring_shim_plan(
    setup: Setup, inputs: Mapping[str, Column], now: Mapping[str, Quantity]
) -> tuple[tuple[tuple[float, ...], ...], tuple[str, ...], FloatArray]:
    """Choose shims for the springs that need them.

    A spring needs shims when a load or clearance is outside its limit, or when its seat load is off the load
    wanted by more than its own uncertainty (k = 2).

    Returns:
        the stack to fit at each valve, why there is none where one is needed, and the thickness added to what
        is fitted now [m], negative where shims come out.
    """
    count = len(setup.trains)
    none: tuple[float, ...] = ()
    shims, reasons, added = [none] * count, [""] * count, np.zeros(count)
    thicknesses = tuple(sorted({each.thickness.value for each in setup.stock.spring_shims}))
    seat, bind = setup.limits["seat_load"], setup.limits["bind_clearance"]
    wanted = setup.column("spring", "seat_load_target").value
    need = _needs(setup, now, wanted)
    if not thicknesses or not need.any():
        reasons = ["no spring shims in the stock list" if each else "" for each in need]
        return tuple(shims), tuple(reasons), added
    fitted = np.array([sum(each.value for each in train.spring.shims_fitted) for train in setup.trains])
    rate, load, at = (inputs[key].value for key in ("spring.rate", "spring.load", "spring.load_height"))

    def load_at(height: FloatArray) -> FloatArray:
        row = (slice(None), np.newaxis)
        return np.maximum(load[need][row] - rate[need][row] * (height - at[need][row]), 0.0)

    stack = setup.stock.spring_shim_stack
    middle = 0.5 * (seat.low + seat.high)
    plan = chosen_shims(
        (now["installed_height"].value + fitted)[need],
        inputs["net lift"].value[need],
        inputs["spring.solid_height"].value[need],
        load_at,
        ShimStock(thicknesses),
        ShimLimits(
            seat_load_low=seat.low,
            seat_load_high=seat.high,
            bind_clearance_low=bind.low,
            stack_limit=stack.value if stack else USUAL_STACK,
            open_load_high=setup.limits["open_load"].high,
            seat_load_target=np.where(np.isnan(wanted), middle, wanted)[need],
        ),
    )
    for place, index in enumerate(np.flatnonzero(need)):
        reason = plan.reasons[place]
        if reason is not None:
            reasons[index] = reason.sentence
            continue
        stacked = [
            thickness
            for thickness, number in zip(thicknesses, plan.stack[place], strict=True)
            for _ in range(int(number))
        ]
        shims[index] = tuple(sorted(stacked, reverse=True))
        added[index] = sum(stacked) - fitted[index]
        if abs(added[index]) < 1e-9:
            shims[index] = none
    return tuple(shims), tuple(reasons), added


def _needs(setup: Setup, now: Mapping[str, Quantity], wanted: FloatArray) -> BoolArray:
    """Say which springs need another stack."""
    needs = np.zeros(len(setup.trains), dtype=bool)
    for name in ("seat_load", "open_load", "bind_clearance"):
        limit, value = setup.limits[name], now[name].value
        needs |= (value < limit.low) | (value > limit.high)
    seat = now["seat_load"]
    return np.asarray(needs | (np.abs(seat.value - wanted) > 2 * seat.uncertainty))
