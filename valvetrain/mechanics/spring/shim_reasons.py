"""Why no stack of shims puts a valve's spring within its limits, and what would."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.spring.shim_limits import ShimLimits

__all__ = ["LoadAt", "ReasonCode", "ShimReason", "shim_reasons"]

LoadAt = Callable[[FloatArray], FloatArray]
ReasonCode = Literal[
    "unmeasured",
    "too_weak",
    "too_strong",
    "would_bind",
    "open_load",
    "stack_limit",
    "no_thickness",
    "not_hardened",
    "out_of_stock",
    "uneven",
]
# The thickness is known far below any tolerance then, from a room of up to 30 mm.
HALVINGS = 40


@dataclass(frozen=True)
class ShimReason:
    """Why a valve has no stack; the sentence is written where units are known.

    Attributes:
        code: the kind of reason. "would_bind", "open_load" and "too_strong" name the limit that a stack thick
            enough for the lowest seat load would break, or that is broken without any shim. "uneven" is
            given by those who limit the height: shims would set this spring too low among the others.
        thickness_low: least shim thickness for the lowest seat load [m]; NaN if unknown, infinite if the
            coils close before the load is reached.
        thickness_high: greatest thickness that still keeps every other limit [m]; negative if the height
            without shims is already too low; NaN if unknown.
        wrong_spring: no thickness of shim at all can help: another spring, retainer or seat is needed.
        unknown: what was not measured, of "height", "lift", "solid height" and "load".
    """

    code: ReasonCode
    thickness_low: float
    thickness_high: float
    wrong_spring: bool
    unknown: tuple[str, ...] = ()


def shim_reasons(
    height: FloatArray,
    lift: FloatArray,
    solid_height: FloatArray,
    load_at: LoadAt,
    limits: ShimLimits,
    in_window_but_soft: FloatArray,
) -> list[ShimReason]:
    """One reason for each valve, to be read only for those without a stack.

    Args:
        height: installed height with the locator and no shim [m], shape [valves].
        lift: full lift [m], shape [valves].
        solid_height: [m], shape [valves].
        load_at: load [N] at heights [m] of shape [valves, n].
        limits: numbers or arrays of shape [valves].
        in_window_but_soft: number of stacks that only fail for not being hardened, shape [valves].
    """
    size = height.shape
    low, high, open_high, bind_low = (
        np.broadcast_to(np.asarray(limit, float), size)
        for limit in (
            limits.seat_load_low,
            limits.seat_load_high,
            limits.open_load_high,
            limits.bind_clearance_low,
        )
    )
    room = np.maximum(height - solid_height, 0.0)
    thickness_low = _thickness_for(low, height, room, load_at)
    by_seat = _thickness_for(high, height, room, load_at)
    by_open = _thickness_for(open_high, height - lift, np.maximum(room - lift, 0.0), load_at)
    # Already too much without a shim: how much too low the spring stands does not matter, only that it does.
    seat_now = load_at(height[:, np.newaxis])[:, 0]
    open_now = load_at((height - lift)[:, np.newaxis])[:, 0]
    by_seat = np.where(seat_now > high, -np.inf, by_seat)
    by_open = np.where(open_now > open_high, -np.inf, by_open)
    by_bind = height - lift - solid_height - bind_low
    reasons = []
    for valve in range(height.size):
        facts = {
            "height": height[valve],
            "lift": lift[valve],
            "solid height": solid_height[valve],
            "load": seat_now[valve],
        }
        reasons.append(
            _reason(
                [name for name, value in facts.items() if np.isnan(value)],
                float(thickness_low[valve]),
                {
                    "would_bind": float(by_bind[valve]),
                    "open_load": float(by_open[valve]),
                    "too_strong": float(by_seat[valve]),
                },
                limits.stack_limit,
                bool(in_window_but_soft[valve] > 0),
            )
        )
    return reasons


def _reason(
    unknown: list[str], low: float, highs: dict[ReasonCode, float], stack_limit: float, soft: bool
) -> ShimReason:
    if unknown:
        # Load is unknown for want of a height too: name what was to be measured first.
        missing = tuple(name for name in unknown if name != "load" or "height" not in unknown)
        return ShimReason("unmeasured", np.nan, np.nan, False, missing)
    first: ReasonCode = min(highs, key=lambda code: highs[code])
    high = highs[first]
    if high < 0.0:
        return ShimReason(first, low, high, True)
    if not np.isfinite(low):
        return ShimReason("too_weak", low, high, True)
    if low > high:
        return ShimReason(first, low, high, True)
    if low > stack_limit:
        return ShimReason("stack_limit", low, high, False)
    return ShimReason("not_hardened" if soft else "no_thickness", low, high, False)


def _thickness_for(load: FloatArray, height: FloatArray, room: FloatArray, load_at: LoadAt) -> FloatArray:
    """Thickness 0 to room at which the load is reached, by halving; infinite where it never is."""
    below, above = np.zeros(height.shape), room.copy()
    reached = load_at((height - room)[:, np.newaxis])[:, 0] >= load
    for _ in range(HALVINGS):
        middle = 0.5 * (below + above)
        enough = load_at((height - middle)[:, np.newaxis])[:, 0] >= load
        above = np.where(enough, middle, above)
        below = np.where(enough, below, middle)
    return np.where(np.isnan(height), np.nan, np.where(reached, above, np.inf))
