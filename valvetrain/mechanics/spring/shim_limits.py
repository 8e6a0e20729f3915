"""What a valve's spring must hold to once it is shimmed."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray

__all__ = ["ShimDoubts", "ShimLimits", "ShimmedSprings", "within_limits"]

# Loads and clearances that differ by less than this part count as equal, so that a limit met exactly
# does not fail by rounding.
ROUNDING = 1e-9


@dataclass(frozen=True)
class ShimLimits:
    """Limits for each valve, numbers or arrays of shape [valves]; none has a default that hides a choice.

    Attributes:
        seat_load_low: [N].
        seat_load_high: [N].
        bind_clearance_low: [m].
        open_load_high: [N]; infinite where open load is not limited.
        seat_load_target: wanted [N]; None for the middle of the seat load's limits, NaN at a valve where no
            load is wanted more than another.
        stack_limit: thickest stack of shims, the locator not counted [m].
        most_shims: most shims in a stack.
        hardened_above: seat load above which every shim must be hardened [N].
    """

    seat_load_low: ArrayLike
    seat_load_high: ArrayLike
    bind_clearance_low: ArrayLike
    stack_limit: float
    open_load_high: ArrayLike = np.inf
    seat_load_target: ArrayLike | None = None
    most_shims: int = 4
    hardened_above: ArrayLike = np.inf

    def __post_init__(self) -> None:
        """Refuse limits that are unknown or contradict each other."""
        for name in (
            "seat_load_low",
            "seat_load_high",
            "bind_clearance_low",
            "open_load_high",
            "hardened_above",
        ):
            if np.any(np.isnan(np.asarray(getattr(self, name), float))):
                raise ValueError(f"{name.replace('_', ' ')} is not a number: a limit must be known.")
        if np.any(np.asarray(self.seat_load_low, float) > np.asarray(self.seat_load_high, float)):
            raise ValueError("the lowest seat load is above the highest: swap them.")
        if np.any(np.isinf(self.target)) or (self.seat_load_target is None and np.any(np.isnan(self.target))):
            raise ValueError(
                "the wanted seat load is not a finite number: give it, or both limits of the seat load."
            )

    @property
    def target(self) -> FloatArray:
        """Wanted seat load [N]; NaN where none is."""
        if self.seat_load_target is None:
            return np.asarray(
                0.5 * (np.asarray(self.seat_load_low, float) + np.asarray(self.seat_load_high, float))
            )
        return np.asarray(self.seat_load_target, float)


@dataclass(frozen=True)
class ShimmedSprings:
    """Springs in place, arrays of one shape.

    Attributes:
        height: installed height [m].
        seat_load: [N].
        open_load: [N].
        bind_clearance: [m].
    """

    height: FloatArray
    seat_load: FloatArray
    open_load: FloatArray
    bind_clearance: FloatArray


@dataclass(frozen=True)
class ShimDoubts:
    """By how much a value must keep its limit to keep it surely, numbers or arrays of the springs' shape.

    Attributes:
        seat_load: [N].
        open_load: [N].
        bind_clearance: [m].
    """

    seat_load: ArrayLike = 0.0
    open_load: ArrayLike = 0.0
    bind_clearance: ArrayLike = 0.0


def within_limits(
    springs: ShimmedSprings, limits: ShimLimits, hardened: ArrayLike, doubts: ShimDoubts | None = None
) -> BoolArray:
    """Whether every limit is kept; valves are the first axis of the springs' arrays; NaN is never kept.

    Args:
        springs: arrays of shape [valves, ...].
        limits: numbers or arrays of shape [valves].
        hardened: whether the stack in use is hardened throughout, broadcast against the springs.
        doubts: by which limits must be kept; whether hardened shims are asked for is decided without.
    """
    by = doubts or ShimDoubts()
    axes = (...,) + (np.newaxis,) * (springs.seat_load.ndim - 1)

    def of_valve(value: ArrayLike) -> FloatArray:
        array = np.asarray(value, float)
        return array if array.ndim == 0 else array[axes]

    seat, opened = np.asarray(by.seat_load, float), np.asarray(by.open_load, float)
    slack = ROUNDING * np.abs(springs.seat_load)
    return np.asarray(
        (springs.seat_load >= of_valve(limits.seat_load_low) + seat - slack)
        & (springs.seat_load <= of_valve(limits.seat_load_high) - seat + slack)
        & (springs.open_load <= of_valve(limits.open_load_high) - opened + slack)
        & (
            springs.bind_clearance
            >= of_valve(limits.bind_clearance_low) + np.asarray(by.bind_clearance, float) - ROUNDING
        )
        & ((springs.seat_load <= of_valve(limits.hardened_above) + slack) | np.asarray(hardened, bool))
    )
