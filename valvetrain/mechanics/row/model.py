"""A shaft row as linear equations, bay by bay.

For a rocker i in a bay: offset_i = base_i + sum of the slots up to i + share_i * P, with the play
P = room - sum of all slots (see `shaft_row`).
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.row.shaft import Bay, Part, Shim, Spacer, Spring, Stand, bays

__all__ = ["LinearBay", "blocks", "linear_bays"]


@dataclass(frozen=True)
class LinearBay:
    """The coefficients of one bay, lengths in [m].

    Attributes:
        row, number: which row, and which bay of it.
        bay: as cut from the row.
        front, rear: its walls.
        base, share, tolerance: per rocker.
        room: play if every slot were empty of shims and of spacers that may be cut.
        low, high: allowed range of P.
        fitted: shims now in each slot; spacers: spacers in each slot that may be cut.
    """

    row: int
    number: int
    bay: Bay
    front: Stand
    rear: Stand
    base: FloatArray
    share: FloatArray
    tolerance: FloatArray
    room: float
    low: float
    high: float
    fitted: tuple[Counter[float], ...]
    spacers: tuple[tuple[Spacer, ...], ...]

    @property
    def name(self) -> str:
        """The bay as a builder would call it."""
        return f"{self.front.name} to {self.rear.name}"


def linear_bays(
    number: int,
    row: Sequence[Part],
    tolerance: Mapping[str, float] | float,
    low: float,
    high: float,
    margin: float = 0.0,
) -> list[LinearBay]:
    """The bays of a row in linear form, a solid bay's play kept `margin` from the ends of its range [m].

    A play that is within its range now may stay as it is. Raises ValueError as `shaft_row.bays` does.
    """
    stands = [part for part in row if isinstance(part, Stand)]
    found = []
    for index, bay in enumerate(bays(tuple(row))):
        front, rear = stands[bay.front], stands[bay.rear]
        start = front.position + front.width / 2
        at, base, fixed_total = start, [], 0.0
        for slot, parts in enumerate(bay.slots):
            fixed = sum(p.width for p in parts if isinstance(p, Spacer) and not p.can_be_cut)
            fixed += sum(p.free_length for p in parts if isinstance(p, Spring))
            at += fixed
            fixed_total += fixed
            if slot < len(bay.rockers):
                rocker = bay.rockers[slot]
                base.append(at + rocker.pad_position - rocker.stem)
                at += rocker.hub_width
        space = rear.position - rear.width / 2 - start - bay.hubs - fixed_total
        loose = sum(p.thickness for slot in bay.slots for p in slot if isinstance(p, Shim))
        loose += sum(p.width for slot in bay.slots for p in slot if isinstance(p, Spacer) and p.can_be_cut)
        play = bay.play_range(low, high)
        if margin > 0 and not bay.springs:
            play = _inner(play, margin, space - loose)
        found.append(
            LinearBay(
                number,
                index,
                bay,
                front,
                rear,
                np.array(base),
                np.array(bay.shares()),
                np.array([_of(tolerance, rocker.valve) for rocker in bay.rockers]),
                space,
                *play,
                tuple(Counter(p.thickness for p in parts if isinstance(p, Shim)) for parts in bay.slots),
                tuple(
                    tuple(p for p in parts if isinstance(p, Spacer) and p.can_be_cut) for parts in bay.slots
                ),
            )
        )
    return found


def blocks(found: Sequence[LinearBay]) -> list[list[LinearBay]]:
    """Bays grouped where a stand that can be moved ties neighbors together; located stands cut the row."""
    groups: list[list[LinearBay]] = []
    for bay in found:
        tied = groups and groups[-1][-1].row == bay.row and bay.front.shift > 0
        if tied:
            groups[-1].append(bay)
        else:
            groups.append([bay])
    return groups


def _inner(play: tuple[float, float], margin: float, now: float) -> tuple[float, float]:
    """The range less the margin at both ends, half of it at least left in the middle, with what is now."""
    low, high = play
    kept = min(margin, 0.25 * (high - low))
    inner = low + kept, high - kept
    return (min(inner[0], now), max(inner[1], now)) if low <= now <= high else inner


def _of(tolerance: Mapping[str, float] | float, valve: str) -> float:
    value = tolerance[valve] if isinstance(tolerance, Mapping) else tolerance
    if not value >= 0:
        raise ValueError(f"offset tolerance of {valve} is {value} m; it must be a number >= 0")
    return float(value)
