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
from valvetrain.mechanics.row.model import LinearBay

__all__ = ["BayPlan", "candidates", "enumerated"]

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
        found = _stacks(bay, slots, level)
        if isinstance(found, str):
            return found
        if found.changes.size:
            best = np.lexsort((found.error, found.changes))[0]
            return _read(slots, found, int(best))
    return "none"


def candidates(
    bay: LinearBay, available: Mapping[float, int | None], most: int, level: int
) -> list[BayPlan] | str:
    """Every plan of at most `level` changes that could serve when the drawer is short.

    Of plans that use the same numbers of every counted thickness only the one with fewest changes, then the
    least error, is kept. "too many" as for `enumerated`.
    """
    stock = tuple(available.items())
    slots = [_contents(tuple(sorted(f.elements())), stock, most, distinct=False) for f in bay.fitted]
    found = _stacks(bay, slots, level)
    if isinstance(found, str):
        return found
    counted = [t for t, count in stock if count is not None]
    used = sum(
        np.array([[shims.count(t) for t in counted] for shims in slot.shims]).reshape(-1, len(counted))[pick]
        for slot, pick in zip(slots, found.picks, strict=True)
    )
    order = np.lexsort((found.error, found.changes))
    _, first = np.unique(np.asarray(used)[order], axis=0, return_index=True)
    return [_read(slots, found, int(order[k])) for k in first]


@dataclass(frozen=True)
class _Stacks:
    """All stacks that meet the limits: what is picked in each slot [slot, stack], changes, error [m]."""

    picks: np.ndarray
    changes: np.ndarray
    error: FloatArray


def _read(slots: list[_Contents], found: _Stacks, index: int) -> BayPlan:
    chosen = tuple(Counter(s.shims[pick]) for s, pick in zip(slots, found.picks[:, index], strict=True))
    return BayPlan(chosen, int(found.changes[index]), float(found.error[index]))


def _stacks(bay: LinearBay, slots: list[_Contents], level: int) -> _Stacks | str:
    """Every stack within the limits with at most `level` changes, or "too many"."""
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
        total, changes = sums[old, new], cost[old, new]
        picks = np.vstack([picks[:, old], new])
        partial = np.vstack([partial[:, old], total])
    offsets = np.abs(bay.base[:, None] + partial[:-1] + bay.share[:, None] * (bay.room - total))
    good = np.all(offsets <= bay.tolerance[:, None] + _EDGE, axis=0)
    return _Stacks(picks[:, good], changes[good], np.sum(offsets[:, good], axis=0))


@lru_cache(maxsize=256)
def _contents(
    fitted: tuple[float, ...],
    stock: tuple[tuple[float, int | None], ...],
    most: int,
    distinct: bool = True,
) -> _Contents:
    """Everything a slot can hold; where `distinct`, of each length only the one with fewest changes."""
    ordered = sorted((thickness for thickness, _ in stock), reverse=True)
    counts = dict(stock)
    now = Counter(fitted)
    least: dict[object, tuple[int, tuple[float, ...]]] = {}
    for size in range(max(most, len(fitted)) + 1):
        for shims in combinations_with_replacement(ordered, size):
            held = Counter(shims)
            if any((limit := counts[t]) is not None and n > limit for t, n in held.items()):
                continue
            changed = ((held - now) + (now - held)).total()
            key: object = round(sum(shims) / _SAME) if distinct else shims
            if key not in least or changed < least[key][0]:
                least[key] = (changed, shims)
    kept = sorted(least.values(), key=lambda pair: pair[0])
    return _Contents(
        np.array([sum(shims) for _, shims in kept]),
        np.array([changed for changed, _ in kept]),
        [shims for _, shims in kept],
    )
