"""Does each spring give its load, clear of coil bind, and which shims put it right?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.quantity import Quantity, computed
from valvetrain.studies.rocker_study import RockerResult
from valvetrain.studies.spring_line import spring_line_columns
from valvetrain.studies.spring_shim_plan import spring_shim_plan

__all__ = ["SpringResult", "spring_study"]

_DIMENSIONS = {
    "rate": "stiffness",
    "installed_height": "length",
    "seat_load": "force",
    "open_load": "force",
    "bind_clearance": "length",
    "retainer_clearance": "length",
    "installed_height_deviation": "length",
}


@dataclass(frozen=True)
class SpringResult:
    """The spring at every valve, as it is and after the shims chosen.

    Attributes:
        rate, installed_height: as measured.
        seat_load, open_load: load with the valve closed and at full net lift.
        bind_clearance: installed height less net lift less solid height.
        retainer_clearance: retainer to seal or guide, at full lift.
        installed_height_deviation: from the median of the valves of its role.
        shims: the stack to fit under each spring, in all where the shims now fitted are known, else to add
            to them; empty where nothing is to be changed or nothing helps.
        shim_reason: why no stack helps, in a sentence; empty where one does or none is needed.
        ..._after: the same quantities with the shims in place.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    rate: Quantity
    installed_height: Quantity
    seat_load: Quantity
    open_load: Quantity
    bind_clearance: Quantity
    retainer_clearance: Quantity
    installed_height_deviation: Quantity
    shims: tuple[tuple[float, ...], ...]
    shim_reason: tuple[str, ...]
    installed_height_after: Quantity
    seat_load_after: Quantity
    open_load_after: Quantity
    bind_clearance_after: Quantity


def spring_study(setup: Setup, rocker: RockerResult) -> SpringResult:
    """Study the springs, with the lifts of the rocker study."""
    lift = rocker.net_lift
    inputs = spring_line_columns(setup) | {
        "spring.installed_height": setup.column("spring", "installed_height"),
        "spring.solid_height": setup.column("spring", "solid_height"),
        "spring.retainer_to_seal": setup.column("spring", "retainer_to_seal"),
        "net lift": Column(
            lift.value, np.nan_to_num(lift.uncertainty), ("the rocker study",) * len(lift.value)
        ),
    }
    roles = np.array(setup.roles)
    now = computed(lambda rows: spring_quantities(rows, roles), inputs, _DIMENSIONS)
    shims, reasons, added = spring_shim_plan(setup, inputs, now)
    after = computed(lambda rows: spring_quantities(rows, roles, added), inputs, _DIMENSIONS)
    names = ("installed_height", "seat_load", "open_load", "bind_clearance")
    return SpringResult(
        valves=setup.valves,
        roles=setup.roles,
        shims=shims,
        shim_reason=reasons,
        **now,
        **{f"{name}_after": after[name] for name in names},
    )


def spring_quantities(
    rows: Mapping[str, FloatArray], roles: np.ndarray, shims: FloatArray | float = 0.0
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; `shims` [m] are added."""
    height = rows["spring.installed_height"] - shims
    rate, lift = rows["spring.rate"], rows["net lift"]
    seat = np.maximum(rows["spring.load"] - rate * (height - rows["spring.load_height"]), 0.0)
    return {
        "rate": rate,
        "installed_height": height,
        "seat_load": seat,
        "open_load": seat + rate * lift,
        "bind_clearance": height - lift - rows["spring.solid_height"],
        "retainer_clearance": rows["spring.retainer_to_seal"] - lift,
        "installed_height_deviation": _from_middle(height, roles),
    }


def _from_middle(height: FloatArray, roles: np.ndarray) -> FloatArray:
    """Height less the median of its role, over the valves that were measured."""
    deviation = np.full(height.shape, np.nan)
    for role in set(roles):
        own = roles == role
        known = height[..., own]
        if np.all(np.isnan(known)):
            continue
        # The middle of the set stays while one valve's reading is moved by its uncertainty.
        deviation[..., own] = known - np.nanmedian(known.reshape(-1, known.shape[-1])[0])
    return deviation
