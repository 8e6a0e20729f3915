"""The plan of one bay between located stands by exact enumeration, fewest changes first.

Slot by slot, every content of up to so many shims is tried; a partial stack is dropped as soon as no
allowed play could bring its rocker within tolerance. The number of changes is raised one by one, so that
the first feasible level is the least, and within it the least sum of |offset| is taken.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.row_model import LinearBay

__all__ = ["BayPlan", "enumerated"]

_EDGE = 1e-10
_SAME = 1e-10
_LARGEST = 2_000_000
# Few changes are the usual case: these levels are tried one by one before all at once.
_LEVELS = 4


@dataclass(frozen=True)
class BayPlan:
    """Contents of every slot [m], the number of changes and the sum of |offset| [m]."""

    shims: tuple[Counter[float], ...]
    changes: int
    error: float


@dataclass(frozen=True)
class _Contents:
    """What a slot can hold: total length, changes from now, and the shims; fewest changes first."""

    length: FloatArray
    changes: np.ndarray
    shims: list[tuple[float, ...]]


def enumerated(bay: LinearBay, available: Mapping[float, int | None], most: int) -> BayPlan | str:
    """The best plan of a bay without spacers to cut and without stands to move.

    Each thickness is held to its count in every slot, not over slots: the caller looks at the sum.
    Returns "none" when no plan exists, "too many" when the bay has too many combinations to try.
    """
    stock = tuple(available.items())
    slots = [_contents(tuple(sorted(fitted.elements())), stock, most) for fitted in bay.fitted]
    reach = sum(int(slot.changes.max()) for slot in slots)
    for level in (*range(min(_LEVELS, reach)), reach):
        found = _at_level(bay, slots, level)
        if found != "none":
            return found
    return "none"


def _at_level(bay: LinearBay, slots: list[_Contents], level: int) -> BayPlan | str:
    """The best stack with at most `level` changes."""
    total = np.zeros(1)
    changes = np.zeros(1, dtype=int)
    picks = np.zeros((0, 1), dtype=int)
    partial = np.zeros((0, 1))
    for number, slot in enumerate(slots):
        usable = np.searchsorted(slot.changes, level, side="right")
        if total.size * usable > _LARGEST:
            return "too many"
        sums = total[:, None] + slot.length[None, :usable]
        cost = changes[:, None] + slot.changes[None, :usable]
        if number < bay.base.size:
            # offset = base + sum + share * play, the play being anywhere in its range
            reach = bay.base[number] + sums
            tolerance, share = bay.tolerance[number] + _EDGE, bay.share[number]
            keep = (reach + share * bay.low <= tolerance) & (reach + share * bay.high >= -tolerance)
            # Slots only add length: a stack that already leaves less than the least play is lost.
            keep &= sums <= bay.room - bay.low + _EDGE
        else:
            keep = (sums <= bay.room - bay.low + _EDGE) & (sums >= bay.room - bay.high - _EDGE)
        old, new = np.nonzero(keep & (cost <= level))
        if old.size == 0:
            return "none"
        total, changes = sums[old, new], cost[old, new]
        picks = np.vstack([picks[:, old], new])
        partial = np.vstack([partial[:, old], total])
    offsets = np.abs(bay.base[:, None] + partial[:-1] + bay.share[:, None] * (bay.room - total))
    good = np.all(offsets <= bay.tolerance[:, None] + _EDGE, axis=0)
    if not np.any(good):
        return "none"
    error = np.sum(offsets, axis=0)
    best = np.lexsort((error, np.where(good, changes, np.iinfo(int).max)))[0]
    chosen = tuple(Counter(slot.shims[pick]) for slot, pick in zip(slots, picks[:, best], strict=True))
    return BayPlan(chosen, int(changes[best]), float(error[best]))


@lru_cache(maxsize=256)
def _contents(fitted: tuple[float, ...], stock: tuple[tuple[float, int | None], ...], most: int) -> _Contents:
    """Everything a slot can hold, of each length the one with fewest changes."""
    ordered = sorted((thickness for thickness, _ in stock), reverse=True)
    counts = dict(stock)
    now = Counter(fitted)
    least: dict[int, tuple[int, tuple[float, ...]]] = {}
    for size in range(max(most, len(fitted)) + 1):
        for shims in combinations_with_replacement(ordered, size):
            held = Counter(shims)
            if any((limit := counts[t]) is not None and n > limit for t, n in held.items()):
                continue
            changed = ((held - now) + (now - held)).total()
            key = round(sum(shims) / _SAME)
            if key not in least or changed < least[key][0]:
                least[key] = (changed, shims)
    kept = sorted(least.values(), key=lambda pair: pair[0])
    return _Contents(
        np.array([sum(shims) for _, shims in kept]),
        np.array([changed for changed, _ in kept]),
        [shims for _, shims in kept],
    )
