"""What the plan of springs and shims may use and must keep: the drawer, the limits, the loads wanted."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.questions.spring.ways import SpringWays
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.mechanics.spring.shim_limits import ShimLimits
    from valvetrain.mechanics.spring.shim_stacks import ShimStock

__all__ = ["ALIKE", "counts_fitted", "drawer", "hardness", "kinds_for_sale", "loads_wanted", "plan_limits"]

# Most shims under one spring where the sheet does not say: 0.060 in (common practice, no source).
USUAL_STACK = 1.524e-3
ALIKE = 12.7e-6
"""Shims closer together than this are one kind, and steps below it are none [m]: 0.0005 in."""


def drawer(setup: Setup, fitted: list[tuple[float, ...]]) -> "ShimStock":
    """The drawer, and the shims that the planned springs now stand on: they can be used again."""
    from valvetrain.mechanics.spring.shim_stacks import ShimStock

    kinds: list[list[float]] = []  # thickness, count, soft
    for shim in setup.stock.spring_shims:
        number = np.inf if shim.count is None else float(shim.count)
        kinds.append([shim.thickness.value, number, float(shim.hardened is False)])
    for thickness in (each for stack in fitted for each in stack):
        own = next((kind for kind in kinds if abs(kind[0] - thickness) <= ALIKE), None)
        if own is None:
            kinds.append([thickness, 1.0, 0.0])
        else:
            own[1] += 1.0
    kinds.sort()
    return ShimStock(
        tuple(kind[0] for kind in kinds),
        tuple(kind[1] for kind in kinds),
        tuple(not kind[2] for kind in kinds),
    )


def counts_fitted(stock: "ShimStock", fitted: list[tuple[float, ...]], need: BoolArray) -> NDArray[np.int64]:
    """Fitted shims by kind of the drawer; zeros for a valve that is not planned and keeps its own."""
    counts = np.zeros((len(fitted), len(stock.thickness)), np.int64)
    for valve, own in enumerate(fitted):
        for thickness in own if need[valve] else ():
            counts[valve, np.argmin(np.abs(np.array(stock.thickness) - thickness))] += 1
    return counts


def kinds_for_sale(setup: Setup, stock: "ShimStock") -> BoolArray:
    """Kinds that the sheet's stock names: what is only found under a spring is no kind to be bought."""
    named = [shim.thickness.value for shim in setup.stock.spring_shims]
    return np.array(
        [any(abs(each - thickness) <= ALIKE for each in named) for thickness in stock.thickness], bool
    )


def hardness(setup: Setup, thickness: float, hard: bool) -> bool | None:
    """Return whether the stock says that shims of a thickness are hardened."""
    for shim in setup.stock.spring_shims:
        if shim.thickness.value == thickness and (shim.hardened is not False) == hard:
            return shim.hardened
    return None


def loads_wanted(
    setup: Setup, wanted: FloatArray, now: Mapping[str, Quantity], ways: SpringWays, bare: FloatArray
) -> FloatArray:
    """Seat load wanted at each valve; where none is, the middle of what its role gives, within limits."""
    found = wanted.copy()
    limit = setup.limits["seat_load"]
    if not np.isnan(wanted).any():
        return found
    loads = now["seat_load"].value
    if np.isnan(loads).all():
        loads = np.nanmedian(ways.load_at(ways.spread(bare[:, np.newaxis]))[..., 0], axis=1)
    roles = np.array(setup.roles)
    for role in set(setup.roles):
        known = loads[(roles == role) & ~np.isnan(loads)]
        if known.size:
            middle = np.clip(np.median(known), limit.low, limit.high)
            found[(roles == role) & np.isnan(wanted)] = middle
    return found


def plan_limits(setup: Setup, wanted: FloatArray) -> "ShimLimits":
    """Limits of the plan."""
    from valvetrain.mechanics.spring.shim_limits import ShimLimits

    seat = setup.limits["seat_load"]
    stack = setup.stock.spring_shim_stack
    return ShimLimits(
        seat_load_low=seat.low,
        seat_load_high=seat.high,
        bind_clearance_low=setup.limits["bind_clearance"].low,
        stack_limit=stack.value if stack else USUAL_STACK,
        open_load_high=setup.limits["open_load"].high,
        seat_load_target=wanted,
        hardened_above=setup.limits["hardened_shims"].high,
    )
