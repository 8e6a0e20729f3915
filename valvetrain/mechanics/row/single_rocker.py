"""Shims beside one rocker from its measured offset and end clearance alone, by exact enumeration.

The rocker floats between two walls and its offset is taken at the middle of its play. Thickness f added in
front and r behind it make the play P - f - r and move the middle by (f - r)/2 toward the rear (derived).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, combinations_with_replacement
from typing import TypeAlias

import numpy as np

__all__ = ["RockerShims", "Stock", "single_rocker_shims"]

Stock: TypeAlias = Mapping[float, int | None] | Sequence[float]

# Two lengths nearer than this [m] are the same: far below any shop measurement, far above rounding.
_SAME = 1e-10


@dataclass(frozen=True)
class RockerShims:
    """The change of shims found for one rocker.

    Attributes:
        reachable: True when the change brings offset and end clearance within what was asked.
        reason: why not, in a sentence; empty when reachable.
        front_added, front_removed, rear_added, rear_removed: [m] shim thicknesses, thickest first. A shim
            removed on one side may be the one added on the other.
        offset_after, end_clearance_after: [m] with the change (the best found when not reachable).
        wanted_front, wanted_rear: [m] the exact change of thickness that would bring the offset to zero with
            the end clearance at the middle of its range; negative: less.
        assumes_fitted: True when thickness is taken out on a side where what is fitted is not known: look
            first that it is there.
    """

    reachable: bool
    reason: str
    front_added: tuple[float, ...]
    front_removed: tuple[float, ...]
    rear_added: tuple[float, ...]
    rear_removed: tuple[float, ...]
    offset_after: float
    end_clearance_after: float
    wanted_front: float
    wanted_rear: float
    assumes_fitted: bool = False

    @property
    def changes(self) -> int:
        """Shims handled: taken out plus put in."""
        return sum(map(len, (self.front_added, self.front_removed, self.rear_added, self.rear_removed)))


@dataclass(frozen=True)
class _Options:
    """Ways to change one side: net thickness, number of shims handled, and which."""

    net: np.ndarray
    handled: np.ndarray
    added: list[tuple[float, ...]]
    removed: list[tuple[float, ...]]


def single_rocker_shims(
    offset: float,
    end_clearance: float,
    stock: Stock,
    clearance_low: float,
    clearance_high: float,
    *,
    offset_tolerance: float | None = None,
    fitted_front: Sequence[float] | None = None,
    fitted_rear: Sequence[float] | None = None,
    most_shims: int = 2,
) -> RockerShims:
    """Which shims, added and removed in front of and behind a rocker, bring it over its stem.

    Args:
        offset: [m] measured, positive toward the rear, rocker at the middle of its play.
        end_clearance: [m] measured play, front and rear together, >= 0.
        stock: shim thicknesses [m], with the number of each (None: as many as wanted), or just a list.
        clearance_low, clearance_high: [m] allowed play afterward.
        offset_tolerance: [m] |offset| that will do. Within it the fewest shims are handled, then the offset
            is least; where it cannot be met, or is None, the offset is least, then the shims fewest. None
            asks only for the end clearance: look at `offset_after`.
        fitted_front, fitted_rear: [m] shims now there; None: not known, then stock thicknesses may be taken
            out, marked `assumes_fitted`, and only where no plan without that does as well (tolerance None)
            or is within tolerance.
        most_shims: added on a side, and taken out of a side where what is fitted is not known.

    A NaN offset or clearance gives an unreachable result with the reason. Raises ValueError for a negative
    clearance or thickness or a range out of order.
    """
    thicknesses = dict(stock) if isinstance(stock, Mapping) else dict.fromkeys(stock)
    if any(not thickness > 0 for thickness in thicknesses):
        raise ValueError(f"stock holds {sorted(thicknesses)} m; every thickness must be positive")
    if not 0 <= clearance_low <= clearance_high:
        raise ValueError(
            f"end clearance range {clearance_low} to {clearance_high} m is out of order or negative"
        )
    if end_clearance < 0 or (offset_tolerance is not None and offset_tolerance < 0):
        raise ValueError(
            f"end clearance {end_clearance} m and tolerance {offset_tolerance} m must not be < 0"
        )
    if np.isnan(offset) or np.isnan(end_clearance):
        what = "offset" if np.isnan(offset) else "end clearance"
        nothing: tuple[float, ...] = ()
        return RockerShims(False, f"{what} not measured", *(nothing,) * 4, *(float("nan"),) * 4)
    front_now, rear_now = _named(fitted_front, thicknesses), _named(fitted_rear, thicknesses)
    items = tuple(thicknesses.items())
    spare = end_clearance - (clearance_low + clearance_high) / 2
    wanted = (spare / 2 - offset, spare / 2 + offset)
    best: RockerShims | None = None
    unknown = fitted_front is None or fitted_rear is None
    for assume in (False, True) if unknown else (False,):
        front = _options(items, front_now, rear_now or (), most_shims, assume)
        rear = _options(items, rear_now, front_now or (), most_shims, assume)
        found = _chosen(
            offset,
            end_clearance,
            (clearance_low, clearance_high),
            offset_tolerance,
            front,
            rear,
            thicknesses,
            wanted,
            (fitted_front is None, fitted_rear is None),
        )
        if found.reachable and offset_tolerance is not None:
            return found
        if best is None or _nearer(found, best, clearance_low, clearance_high):
            best = found
    assert best is not None
    return best


@lru_cache(maxsize=64)
def _options(
    stock: tuple[tuple[float, int | None], ...],
    fitted: tuple[float, ...] | None,
    fitted_elsewhere: tuple[float, ...],
    most: int,
    assume: bool,
) -> _Options:
    """Every way to change one side."""
    thicknesses = dict(stock)
    # A shim from the other side may be reused, so its thickness counts as at hand; counts are held later.
    addable = _multisets(dict.fromkeys((*thicknesses, *fitted_elsewhere)), most)
    addable = [a for a in addable if _in_stock(a, fitted_elsewhere, thicknesses)]
    if fitted is None:
        removable = _multisets(thicknesses, most) if assume else [()]
    else:
        removable = sorted(
            {tuple(sorted(c, reverse=True)) for n in range(len(fitted) + 1) for c in combinations(fitted, n)},
            key=len,
        )
    pairs = [(a, r) for a in addable for r in removable if not set(a) & set(r)]
    if fitted is None and assume:
        # What is really fitted is not known: a plain swap of one for one, or only in, or only out.
        pairs = [(a, r) for a, r in pairs if not (a and r) or len(a) == len(r) == 1]
    if all(count is None for count in thicknesses.values()) and not fitted_elsewhere:
        # Any number of each is at hand: of stacks that measure the same, the one of fewest shims will do.
        least: dict[int, tuple[tuple[float, ...], tuple[float, ...]]] = {}
        for a, r in sorted(pairs, key=lambda pair: len(pair[0]) + len(pair[1])):
            least.setdefault(round((sum(a) - sum(r)) / _SAME), (a, r))
        pairs = list(least.values())
    return _Options(
        np.array([sum(a) - sum(r) for a, r in pairs]),
        np.array([len(a) + len(r) for a, r in pairs]),
        [a for a, _ in pairs],
        [r for _, r in pairs],
    )


def _named(
    fitted: Sequence[float] | None, thicknesses: Mapping[float, int | None]
) -> tuple[float, ...] | None:
    """Fitted shims under the stock's own number where they are the same but for rounding."""
    if fitted is None:
        return None
    return tuple(next((t for t in thicknesses if abs(t - shim) <= _SAME), shim) for shim in fitted)


def _multisets(thicknesses: Mapping[float, int | None], most: int) -> list[tuple[float, ...]]:
    """Up to `most` shims, thickest first."""
    ordered = sorted(thicknesses, reverse=True)
    return [c for n in range(most + 1) for c in combinations_with_replacement(ordered, n)]


def _chosen(
    offset: float,
    play: float,
    clearance: tuple[float, float],
    tolerance: float | None,
    front: _Options,
    rear: _Options,
    stock: Mapping[float, int | None],
    wanted: tuple[float, float],
    unknown: tuple[bool, bool],
) -> RockerShims:
    """The best pair of changes."""
    f, r = front.net[:, None], rear.net[None, :]
    moved = offset + (f - r) / 2
    left = play - f - r
    handled = (front.handled[:, None] + rear.handled[None, :]).astype(float)
    excess = np.maximum(np.maximum(clearance[0] - left, left - clearance[1]), 0.0)
    excess = np.where(excess <= _SAME, 0.0, excess)
    miss = np.maximum(np.abs(moved) - (tolerance or 0.0), 0.0)
    # Rounded so that equal stacks of different shims tie instead of being told apart by rounding.
    ranks = [np.round(excess / _SAME), np.round(miss / _SAME), handled, np.round(np.abs(moved) / _SAME)]
    open_ = np.ones(moved.shape, bool)
    while True:
        mask = open_
        for rank in ranks:
            mask = mask & (rank == np.min(rank, where=mask, initial=np.inf))
        i, j = np.unravel_index(np.argmax(mask), moved.shape)
        if _in_stock(front.added[i] + rear.added[j], front.removed[i] + rear.removed[j], stock):
            break
        open_[i, j] = False  # changing nothing is always in stock, so that this ends
    reason = ""
    if excess[i, j] > 0:
        reason = "no shims of the stock bring the end clearance into its range"
    elif ranks[1][i, j] > 0 and tolerance is not None:
        reason = "no shims of the stock bring the offset within tolerance at an allowed end clearance"
    return RockerShims(
        reachable=not reason,
        reason=reason,
        front_added=front.added[i],
        front_removed=front.removed[i],
        rear_added=rear.added[j],
        rear_removed=rear.removed[j],
        offset_after=float(moved[i, j]),
        end_clearance_after=float(left[i, j]),
        wanted_front=wanted[0],
        wanted_rear=wanted[1],
        assumes_fitted=bool((unknown[0] and front.removed[i]) or (unknown[1] and rear.removed[j])),
    )


def _in_stock(
    added: tuple[float, ...], removed: tuple[float, ...], stock: Mapping[float, int | None]
) -> bool:
    """Whether the drawer and what was taken out hold what is put in."""
    for thickness in set(added):
        count = stock.get(thickness, 0)
        if count is not None and added.count(thickness) > count + removed.count(thickness):
            return False
    return True


def _nearer(one: RockerShims, other: RockerShims, low: float, high: float) -> bool:
    """Whether `one` is less far outside what was asked."""

    def far(plan: RockerShims) -> tuple[float, float]:
        outside = max(low - plan.end_clearance_after, plan.end_clearance_after - high, 0.0)
        return round(outside / _SAME), abs(plan.offset_after)

    return far(one) < far(other)
