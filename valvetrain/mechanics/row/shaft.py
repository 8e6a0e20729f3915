"""A rocker shaft as a row of parts from front to rear, and where every part then sits.

Positions are along the shaft, positive toward the rear; the datum is anywhere. Stands and end fixings are
walls; what lies between two walls is a bay. Shims, spacers and springs between two hubs (or a hub and a wall)
fill a slot: within a slot their order does not matter to the rockers.

Forward model (derived). In a solid bay every part can move by the same play P = bay - solid parts, and a
rocker pushed to the middle of its play has P/2 in front of it. In a bay with springs these press the parts
apart: with more than one spring the forces are equal, so each takes its part of the compression in
proportion to its compliance 1/rate. Both are one formula: the share of P in front of a rocker is 1/2 in a
solid bay, and the share of the compliance in front of it in a sprung one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.row.single_rocker import RockerShims, single_rocker_shims

__all__ = [
    "Bay",
    "Part",
    "Placed",
    "Rocker",
    "RockerShims",
    "RowPositions",
    "Shim",
    "Spacer",
    "Spring",
    "Stand",
    "bays",
    "end_fixing",
    "placed",
    "single_rocker_shims",
    "with_measured_offsets",
]


@dataclass(frozen=True)
class Stand:
    """A wall on the shaft: a stand, or an end fixing (a stand that cannot move).

    Attributes:
        name: as the builder calls it.
        position: [m] of its middle as it sits now.
        width: [m] along the shaft, >= 0.
        shift: [m] how far it can be moved either way in its bolt holes; 0: located; infinite: free.
    """

    name: str
    position: float
    width: float = 0.0
    shift: float = 0.0


@dataclass(frozen=True)
class Rocker:
    """A rocker on the shaft.

    Attributes:
        valve: the valve that it works (`1I`).
        hub_width: [m] > 0.
        pad_position: [m] from the hub's front face to the middle of the pad.
        stem: [m] position of the valve stem's axis along the shaft.
    """

    valve: str
    hub_width: float
    pad_position: float
    stem: float


@dataclass(frozen=True)
class Shim:
    """A shim now fitted, [m] thick."""

    thickness: float


@dataclass(frozen=True)
class Spacer:
    """A solid spacer, [m] long; one that may be cut anew can have any length from `least` to `most`."""

    width: float
    can_be_cut: bool = False
    least: float = 0.0
    most: float = np.inf


@dataclass(frozen=True)
class Spring:
    """A spring or wave washer on the shaft.

    Attributes:
        free_length, solid_length: [m].
        least_length, most_length: [m] allowed when assembled; most_length below the free length keeps a
            preload.
        rate: [N/m]; only the ratios between the springs of one bay matter.
    """

    free_length: float
    solid_length: float
    least_length: float
    most_length: float
    rate: float = 1.0


Part = Stand | Rocker | Shim | Spacer | Spring


@dataclass(frozen=True)
class Bay:
    """The parts between two walls.

    Attributes:
        front, rear: indices of the two walls among the row's stands.
        rockers: from front to rear.
        slots: the parts before, between and behind the rockers: one more than there are rockers.
    """

    front: int
    rear: int
    rockers: tuple[Rocker, ...]
    slots: tuple[tuple[Shim | Spacer | Spring, ...], ...]

    @property
    def springs(self) -> tuple[Spring, ...]:
        """The bay's springs from front to rear."""
        return tuple(part for slot in self.slots for part in slot if isinstance(part, Spring))

    @property
    def hubs(self) -> float:
        """Sum of the hub widths [m]."""
        return sum(rocker.hub_width for rocker in self.rockers)

    def solid(self, slot: int) -> float:
        """Sum of shims and spacers [m] in a slot."""
        return sum(_length(part) for part in self.slots[slot])

    def shares(self) -> tuple[float, ...]:
        """Share of the bay's play (or of its springs' compression) in front of each rocker, 0 to 1."""
        if not self.springs:
            return (0.5,) * len(self.rockers)
        soft = np.array([sum(1 / p.rate for p in slot if isinstance(p, Spring)) for slot in self.slots])
        return tuple(float(part) for part in np.cumsum(soft)[:-1] / np.sum(soft))

    def play_range(self, low: float, high: float) -> tuple[float, float]:
        """Allowed range of P [m]: the end clearance of a solid bay, or what its springs may be compressed by
        (negative: compressed)."""
        if not self.springs:
            return low, high
        soft = np.array([1 / spring.rate for spring in self.springs])
        soft = soft / np.sum(soft)
        least = max((s.least_length - s.free_length) / c for s, c in zip(self.springs, soft, strict=True))
        most = min((s.most_length - s.free_length) / c for s, c in zip(self.springs, soft, strict=True))
        return float(least), float(most)


@dataclass(frozen=True)
class Placed:
    """A rocker where it sits.

    Attributes:
        valve: as in the row.
        front_face: [m] position of the hub's front face.
        offset: [m] pad center from the stem's axis, positive toward the rear.
        end_clearance: [m] free play of the rocker; 0 where springs take it up; negative: the bay is too full.
        spring_lengths: [m] of the bay's springs, front to rear; empty in a solid bay.
    """

    valve: str
    front_face: float
    offset: float
    end_clearance: float
    spring_lengths: tuple[float, ...] = ()


@dataclass(frozen=True)
class RowPositions:
    """Every rocker of a row from front to rear, and the play P [m] of each bay."""

    rockers: tuple[Placed, ...]
    play: tuple[float, ...]


def end_fixing(name: str, position: float) -> Stand:
    """A wall without width that cannot move; `position` [m] is the face that the row meets."""
    return Stand(name, position)


def bays(row: tuple[Part, ...]) -> tuple[Bay, ...]:
    """The row cut at its walls.

    Raises ValueError, naming the place, when the row does not begin and end with a wall, when a width is
    negative or not finite, when two walls are out of order, or when a pad lies off its hub.
    """
    if len(row) < 2 or not isinstance(row[0], Stand) or not isinstance(row[-1], Stand):
        raise ValueError("the row must begin and end with a stand or an end fixing")
    for part in row:
        _checked(part)
    found: list[Bay] = []
    slots: list[list[Shim | Spacer | Spring]] = [[]]
    rockers: list[Rocker] = []
    wall = row[0]
    count = 0
    for part in row[1:]:
        if isinstance(part, Stand):
            if part.position - part.width / 2 < wall.position + wall.width / 2:
                raise ValueError(f"bay {wall.name} to {part.name}: the walls overlap or are out of order")
            found.append(Bay(count, count + 1, tuple(rockers), tuple(tuple(slot) for slot in slots)))
            wall, rockers, slots, count = part, [], [[]], count + 1
        elif isinstance(part, Rocker):
            rockers.append(part)
            slots.append([])
        else:
            slots[-1].append(part)
    return tuple(found)


def placed(row: tuple[Part, ...]) -> RowPositions:
    """Where every rocker sits, pushed to the middle of its play or held by its springs.

    A bay that is too full (negative play) is not an error here: its rockers report a negative clearance.
    """
    stands = [part for part in row if isinstance(part, Stand)]
    rockers: list[Placed] = []
    plays: list[float] = []
    for bay in bays(row):
        front, rear = stands[bay.front], stands[bay.rear]
        at = front.position + front.width / 2
        length = rear.position - rear.width / 2 - at
        free = sum(spring.free_length for spring in bay.springs)
        play = length - bay.hubs - sum(bay.solid(slot) for slot in range(len(bay.slots))) - free
        soft = sum(1 / spring.rate for spring in bay.springs)
        lengths = tuple(s.free_length + min(play, 0.0) / s.rate / soft for s in bay.springs)
        plays.append(play)
        for index, (rocker, share) in enumerate(zip(bay.rockers, bay.shares(), strict=True)):
            at += sum(_length(part, springs=True) for part in bay.slots[index])
            face = at + share * play
            clearance = play if not bay.springs else max(play, 0.0)
            offset = face + rocker.pad_position - rocker.stem
            rockers.append(Placed(rocker.valve, face, offset, clearance, lengths))
            at += rocker.hub_width
    return RowPositions(tuple(rockers), tuple(plays))


def with_measured_offsets(row: tuple[Part, ...], offsets: Mapping[str, float]) -> tuple[Part, ...]:
    """The row with its stems moved to where the measured offsets [m] say that they are.

    What was measured is taken as true, with each rocker at the middle of its play, and the difference from
    the row as described goes to the stem's position, so that a change of parts is predicted from what was
    seen. Valves without a measurement, or with NaN, stay as they are.

    Raises ValueError for a valve that is not in the row and for an offset larger than its hub.
    """
    now = {rocker.valve: rocker.offset for rocker in placed(row).rockers}
    unknown = sorted(set(offsets) - set(now))
    if unknown:
        raise ValueError(f"valve {unknown[0]} has a measured offset but no rocker in the row")
    moved: list[Part] = []
    for part in row:
        if isinstance(part, Rocker) and not np.isnan(offsets.get(part.valve, np.nan)):
            wanted = offsets[part.valve]
            if abs(wanted) > part.hub_width:
                raise ValueError(f"rocker {part.valve}: offset {wanted} m is larger than its hub")
            moved.append(replace(part, stem=part.stem + now[part.valve] - wanted))
        else:
            moved.append(part)
    return tuple(moved)


def _length(part: Shim | Spacer | Spring, springs: bool = False) -> float:
    if isinstance(part, Shim):
        return part.thickness
    if isinstance(part, Spacer):
        return part.width
    return part.free_length if springs else 0.0


def _checked(part: Part) -> None:
    """Raise ValueError for a part that cannot be."""
    sizes: tuple[float, ...]
    if isinstance(part, Stand):
        name, sizes = f"stand {part.name}", (part.width, part.shift)
        if not np.isfinite(part.position):
            raise ValueError(f"{name}: position is {part.position}; it must be a finite number")
    elif isinstance(part, Rocker):
        name, sizes = f"rocker {part.valve}", (part.hub_width, part.pad_position)
        if not 0 <= part.pad_position <= part.hub_width:
            raise ValueError(f"{name}: the pad at {part.pad_position} m is off its hub")
    elif isinstance(part, Shim):
        name, sizes = "shim", (part.thickness,)
    elif isinstance(part, Spacer):
        name, sizes = "spacer", (part.width, part.least, part.most - part.least)
    else:
        name = "spring"
        sizes = (part.solid_length, part.least_length - part.solid_length, part.rate)
        sizes += (part.most_length - part.least_length, part.free_length - part.most_length)
        if part.rate <= 0:
            raise ValueError(f"spring: rate is {part.rate}; it must be positive")
    if any(np.isnan(size) or size < 0 for size in sizes):
        raise ValueError(f"{name}: sizes {sizes} m; none may be negative, unknown or out of order")
