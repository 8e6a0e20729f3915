"""Rows of rockers brought to agree with what was measured on them; what cannot be is a fault of its bay.

Offsets and end clearances found on the engine are taken as true: the stems stand where the offsets put them,
and a bay without springs is as long as its parts and the end clearance found in it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Spring, Stand, placed, with_measured_offsets
from valvetrain.parts.measured import Measured
from valvetrain.parts.row import RowText, ShaftRow
from valvetrain.parts.train import Train
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.row_parts import Item, row_items
from valvetrain.setup.units import shown

__all__ = ["Spacing", "settled", "shaft_rows"]

# Readings farther apart than this many standard uncertainties contradict each other.
_CONTRADICTION = 3.0


@dataclass(frozen=True)
class Spacing:
    """Middle of a wall to middle of the next [m]; NaN where it was not measured."""

    value: float
    uncertainty: float


def shaft_rows(
    texts: Sequence[RowText],
    trains: Sequence[Train],
    system: str,
    instruments: dict[str, tuple[str, float]],
) -> tuple[ShaftRow, ...]:
    """Build every `[[row]]`.

    Raises:
        SheetError: with what is wrong, row by row.
    """
    faults: list[Fault] = []
    rows: list[ShaftRow] = []
    placed_on: dict[str, str] = {}
    for number, text in enumerate(texts, 1):
        where = f"setup.toml [row entry {number}]"
        own = _own(text, trains, len(texts), where, faults)
        if not own:
            continue
        for name in own:
            if name in placed_on:
                faults.append(
                    Fault(where, f"the rocker of {name} is in {placed_on[name]} as well", "Keep one.")
                )
            placed_on[name] = f"row entry {number}"
        try:
            items = row_items(text, where, own, named=len(texts) > 1, system=system, instruments=instruments)
            rows.append(settled(text, items, _spacings(text, items, where), own, where, system))
        except SheetError as error:
            faults += error.faults
    nowhere = [train.name for train in trains if train.name not in placed_on]
    if texts and not faults and nowhere:
        faults.append(
            Fault("setup.toml [[row]]", f"{', '.join(nowhere)} stand in no row", "Add their shaft.")
        )
    if faults:
        raise SheetError(faults)
    return tuple(rows)


def _own(
    text: RowText, trains: Sequence[Train], rows: int, where: str, faults: list[Fault]
) -> dict[str, Train]:
    """Return the trains whose rockers are on this shaft."""
    if rows == 1 and not any(train.shaft.name for train in trains):
        return {train.name: train for train in trains}
    if rows > 1 and text.shaft is None:
        faults.append(Fault(f"{where} shaft", "is missing", "With more than one row, each names its shaft."))
        return {}
    own = {t.name: t for t in trains if text.shaft is None or t.shaft.name == text.shaft}
    if not own:
        faults.append(
            Fault(
                f"{where} shaft",
                f"no valve is on the shaft '{text.shaft}'",
                "Name each valve's shaft in the valves table, column shaft.",
            )
        )
    return own


def _spacings(text: RowText, items: Sequence[Item], where: str) -> list[Spacing]:
    """Spread the list of spacings over the bays of the row."""
    bays = sum(isinstance(item.part, Stand) for item in items) - 1
    given = text.spacing
    if not given:
        return [Spacing(math.nan, 0.0)] * max(bays, 0)
    if bays % len(given):
        raise SheetError(
            [
                Fault(
                    f"{where} spacing",
                    f"has {len(given)} lengths for {bays} bays",
                    "Give one a bay, or a list that repeats.",
                )
            ]
        )
    return [Spacing(each.value, each.uncertainty) for each in given] * (bays // len(given))


def settled(
    text: RowText,
    items: Sequence[Item],
    spacings: Sequence[Spacing],
    trains: Mapping[str, Train],
    where: str,
    system: str,
) -> ShaftRow:
    """Give every wall and stem its place from what was measured.

    Args:
        text: the row as written.
        items: its parts from front to rear; where walls and stems stand in them plays no part.
        spacings: between neighboring walls.
        trains: of the valves on it.
        where: how the row is called in faults.
        system: units of the faults.

    Raises:
        SheetError: naming the bay that does not add up, or whose measurements contradict each other.
    """
    walls = [k for k, item in enumerate(items) if isinstance(item.part, Stand)]
    if len(walls) < 2 or walls[0] != 0 or walls[-1] != len(items) - 1:
        raise SheetError(
            [
                Fault(
                    where,
                    "a row begins and ends with a wall",
                    "Put 'stand', 'collar' or 'end' first (front) and last (each or rear).",
                )
            ]
        )
    faults: list[Fault] = []
    names = [items[k].kind for k in walls]
    if text.fixed_at is not None and text.fixed_at not in names:
        what = f"'{text.fixed_at}' is not a wall of the row"
        faults.append(Fault(f"{where} fixed_at", what, f"Its walls are {', '.join(names)}."))
    parts = [item.part for item in items]
    spread = [item.spread for item in items]
    kinds = [item.kind for item in items]
    held: list[str] = []
    at = 0.0
    spread[0] = 0.0
    for (first, last), spacing in zip(pairwise(walls), spacings, strict=True):
        front, rear = parts[first], parts[last]
        assert isinstance(front, Stand)
        assert isinstance(rear, Stand)
        bay = f"{where}, bay {front.name} to {rear.name}"
        between = 0.5 * (front.width + rear.width)
        try:
            room, known_to, held_here = _room(items[first + 1 : last], spacing, between, trains, bay, system)
        except SheetError as error:
            faults += error.faults
            room, known_to, held_here = 1.0, 0.0, True
        at += between + room
        parts[last] = replace(rear, position=at)
        # Of the distance between two walls, each gets its part.
        spread[last] = known_to
        if held_here:
            held.append(f"{front.name} to {rear.name}")
    if faults:
        raise SheetError(faults)
    row = tuple(parts)
    # Every stem under its pad first; then where the measured offset puts it.
    now = {rocker.valve: rocker.offset for rocker in placed(row).rockers}
    row = tuple(replace(p, stem=p.stem + now[p.valve]) if isinstance(p, Rocker) else p for p in row)
    offsets = {name: _value(trains[name].station.offset) for name in now}
    for name, offset in offsets.items():
        hub = next(p.hub_width for p in row if isinstance(p, Rocker) and p.valve == name)
        if abs(offset) > hub:
            faults.append(
                Fault(
                    _bay_of(row, name, where),
                    f"rocker {name}: its offset {shown(offset, 'length', system)} is larger than its hub "
                    f"{shown(hub, 'length', system)}",
                    "Check the offset and its unit.",
                )
            )
    if faults:
        raise SheetError(faults)
    row = with_measured_offsets(row, offsets)
    return ShaftRow(text.shaft or "", row, tuple(spread), tuple(kinds), tuple(held), text)


def _room(
    items: Sequence[Item],
    spacing: Spacing,
    between: float,
    trains: Mapping[str, Train],
    bay: str,
    system: str,
) -> tuple[float, float, bool]:
    """Length between two walls [m], its standard uncertainty, and whether too little is known to plan."""

    def length(value: float) -> str:
        return shown(value, "length", system)

    names = [item.kind for item in items if isinstance(item.part, Rocker)]
    springs = [item.part for item in items if isinstance(item.part, Spring)]
    solid = sum(_solid(item) for item in items)
    free = sum(spring.free_length for spring in springs)
    doubt = math.sqrt(spacing.uncertainty**2 + sum(item.spread**2 for item in items))
    play = spacing.value - between - solid - free
    if springs:
        if math.isnan(play):
            raise SheetError(
                [Fault(bay, "its springs need the spacing of the walls", "Measure it: spacing = [...].")]
            )
        room = play + free
        if room + _CONTRADICTION * doubt < sum(spring.solid_length for spring in springs):
            raise SheetError(
                [
                    Fault(
                        bay,
                        f"does not add up to the stand spacing: {length(room)} is left for springs that are "
                        f"{length(sum(s.solid_length for s in springs))} solid",
                        "Check spacing, hub widths, spacers and shims.",
                    )
                ]
            )
    gaps = [(name, gap) for name in names if (gap := trains[name].station.end_clearance) is not None]
    for (one, first), (other, second) in ((a, b) for k, a in enumerate(gaps) for b in gaps[k + 1 :]):
        allowed = _CONTRADICTION * max(math.hypot(first.uncertainty, second.uncertainty), 1e-9)
        if abs(first.value - second.value) > allowed:
            raise SheetError(
                [
                    Fault(
                        bay,
                        f"the end clearances found at {one}, {length(first.value)}, and at {other}, "
                        f"{length(second.value)}, contradict each other: the play of a bay is one",
                        "Push all of its parts to one end and measure again.",
                    )
                ]
            )
    found, known_to = _mean([gap for _, gap in gaps])
    pressed = bool(springs) and not math.isnan(play) and play < -_CONTRADICTION * doubt
    for name, gap in gaps:
        if pressed and gap.value > _CONTRADICTION * gap.uncertainty:
            raise SheetError(
                [
                    Fault(
                        bay,
                        f"an end clearance of {length(gap.value)} was found at {name}, and a pressed spring "
                        "leaves none",
                        "Leave end_clearance blank where a spring presses, or check spring_free_length.",
                    )
                ]
            )
    predicted = max(play, 0.0) if springs else play
    if not math.isnan(play) and not springs and math.isnan(found) and play < -_CONTRADICTION * doubt:
        raise SheetError(
            [
                Fault(
                    bay,
                    f"does not add up to the stand spacing: its parts are {length(-play)} longer than "
                    "the room between its walls",
                    "Check spacing, hub widths, spacers and shims.",
                )
            ]
        )
    if not math.isnan(play + found) and abs(predicted - found) > _CONTRADICTION * math.hypot(doubt, known_to):
        raise SheetError(
            [
                Fault(
                    bay,
                    f"does not add up to the stand spacing: its parts leave {length(predicted)} of play, and "
                    f"{length(found)} was found",
                    "Check spacing, hub widths, spacers, shims and the end clearance.",
                )
            ]
        )
    if springs:
        return play + solid + free, spacing.uncertainty, False
    if not math.isnan(found):
        return solid + found, known_to, False
    if not math.isnan(play):
        return solid + play, spacing.uncertainty, False
    return solid, 0.0, bool(names)


def _solid(item: Item) -> float:
    part = item.part
    if isinstance(part, Rocker):
        return part.hub_width
    if isinstance(part, Shim):
        return part.thickness
    return part.width if isinstance(part, Spacer) else 0.0


def _mean(readings: Sequence[Measured]) -> tuple[float, float]:
    """Weighted mean of readings of one length and its standard uncertainty; NaN without readings."""
    if not readings:
        return math.nan, 0.0
    weights = np.array([1 / max(each.uncertainty, 1e-9) ** 2 for each in readings])
    value = float(np.sum(weights * [each.value for each in readings]) / np.sum(weights))
    return value, float(np.sum(weights) ** -0.5)


def _value(measured: Measured | None) -> float:
    return math.nan if measured is None else measured.value


def _bay_of(row: Sequence[object], valve: str, where: str) -> str:
    """Name the bay in which a rocker stands."""
    at = next(k for k, part in enumerate(row) if isinstance(part, Rocker) and part.valve == valve)
    front = next(part for part in reversed(row[:at]) if isinstance(part, Stand))
    rear = next(part for part in row[at:] if isinstance(part, Stand))
    return f"{where}, bay {front.name} to {rear.name}"
