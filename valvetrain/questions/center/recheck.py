"""The shaft assembled by the plan and measured again: what was wrong, and what is left to change."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.row.shaft import Shim, Stand, bays
from valvetrain.parts.measured import Measured
from valvetrain.parts.row import RockerShim, ShaftRow
from valvetrain.parts.valve import Station
from valvetrain.questions.center.study import CenteringResult, centering_study
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.row_parts import Item
from valvetrain.setup.setup import Setup
from valvetrain.setup.shaft_rows import Spacing, settled
from valvetrain.setup.tables.recheck import Reading

__all__ = ["Recheck", "Rechecked", "Suspect", "recheck_study"]

# A reading within so many standard uncertainties of what was foretold agrees with it.
_AGREES = 2.0
_SAME = 1e-9


@dataclass(frozen=True)
class Suspect:
    """A shim of which the difference at a rocker would tell.

    Attributes:
        valve: the rocker.
        shim: thickness [m].
        side: "in front" or "behind": where that shim seems to be.
        kind: "moved" (it seems to stand there instead of on the other side) or "extra" (one too many).
    """

    valve: str
    shim: float
    side: str
    kind: str


@dataclass(frozen=True)
class Recheck:
    """A shaft measured again.

    Attributes:
        predicted: offsets foretold by the plan.
        measured: offsets read after assembly.
        difference: measured less predicted, with the uncertainty of both.
        agrees: at each valve; True where nothing was read.
        suspects: shims that would explain what does not agree.
        now: the study of the shaft as it stands, with the estimate of both: its plan is only the change.
    """

    valves: tuple[str, ...]
    predicted: Quantity
    measured: Quantity
    difference: Quantity
    agrees: tuple[bool, ...]
    suspects: tuple[Suspect, ...]
    now: CenteringResult

    @property
    def done(self) -> bool:
        """True where nothing is left to change and every reading agrees."""
        return not any(self.now.moved) and not any(self.now.reason) and all(self.agrees)


@dataclass(frozen=True)
class Rechecked(CenteringResult):
    """The study of a shaft as it stands after assembly.

    Attributes:
        recheck: what it follows from.
    """

    recheck: Recheck | None = None


def recheck_study(
    setup: Setup, rocker: RockerResult, first: CenteringResult, readings: Mapping[str, Reading]
) -> Recheck:
    """Compare the plan with what was measured after it was carried out, and plan again from both.

    A reading that agrees with the prediction is averaged with it by their uncertainties; one that does not is
    taken for what it is: something in the first measurements, or in the assembly, was not as described.

    Raises:
        SheetError: readings that contradict each other, naming the bay.
    """
    count = len(setup.valves)
    predicted = first.offset_after
    read = np.full((2, count), np.nan)
    for valve, reading in readings.items():
        if reading.offset is not None:
            read[:, setup.valves.index(valve)] = reading.offset.value, reading.offset.uncertainty
    difference = read[0] - predicted.value
    doubt = np.hypot(read[1], predicted.uncertainty)
    with np.errstate(invalid="ignore"):
        agrees = ~(np.abs(difference) > _AGREES * doubt)
    later = _assembled(setup, first, readings, agrees)
    return Recheck(
        setup.valves,
        predicted,
        Quantity("length", read[0], read[1], {}),
        Quantity("length", difference, doubt, {}),
        tuple(bool(each) for each in agrees),
        tuple(s for k in range(count) if not agrees[k] for s in _suspects(first, k, difference[k], doubt[k])),
        centering_study(later, rocker),
    )


def _assembled(
    setup: Setup, first: CenteringResult, readings: Mapping[str, Reading], agrees: np.ndarray
) -> Setup:
    """The engine as it stands after the plan, by what was foretold and what was read."""
    trains = []
    for index, train in enumerate(setup.trains):
        reading = readings.get(train.name, Reading())
        offset = _both(first.offset_after, index, reading.offset, bool(agrees[index]))
        play = _both(first.end_clearance, index, reading.end_clearance, False)
        station = replace(train.station, offset=offset, end_clearance=play)
        if first.shafts is None:
            station = _shims(station, first, index)
        trains.append(replace(train, station=station))
    later = replace(setup, trains=tuple(trains), stock=replace(setup.stock, rocker_shims=_left(setup, first)))
    if first.shafts is None:
        return later
    own = {train.name: train for train in trains}
    rows = []
    for number, row in enumerate(first.shafts.after, 1):
        items = [Item(*each) for each in zip(row.parts, row.spread, row.kinds, strict=True)]
        where = f"after assembly [row entry {number}]"
        rows.append(settled(row.text, items, _spacings(row), own, where, setup.units))
    return replace(later, shaft_rows=tuple(rows))


def _spacings(row: ShaftRow) -> list[Spacing]:
    """Spacings of the walls where a spring needs them; elsewhere the end clearances tell."""
    walls = [part for part in row.parts if isinstance(part, Stand)]
    spread = [u for part, u in zip(row.parts, row.spread, strict=True) if isinstance(part, Stand)]
    return [
        Spacing(walls[bay.rear].position - walls[bay.front].position, spread[bay.rear])
        if bay.springs or not bay.rockers
        else Spacing(np.nan, 0.0)
        for bay in bays(row.parts)
    ]


def _both(foretold: Quantity, index: int, reading: Measured | None, averaged: bool) -> Measured | None:
    """The reading, averaged with what was foretold where wanted; what was foretold where there is none."""
    value, doubt = float(foretold.value[index]), float(np.nan_to_num(foretold.uncertainty[index]))
    if np.isnan(value):
        return reading
    if reading is None:
        return Measured(value, doubt, "the plan")
    if not averaged:
        return reading
    weights = np.array([1 / max(doubt, _SAME) ** 2, 1 / max(reading.uncertainty, _SAME) ** 2])
    mean = float(np.sum(weights * [value, reading.value]) / np.sum(weights))
    return Measured(mean, float(np.sum(weights) ** -0.5), f"{reading.source}, and the plan")


def _shims(station: Station, first: CenteringResult, index: int) -> Station:
    """What stands beside a rocker after the plan, where it was known before or is known to be there now."""
    known = (station.front_shims, station.rear_shims)
    sides = []
    for before, after in zip(known, (first.front_shims[index], first.rear_shims[index]), strict=True):
        told = bool(before) or bool(after)
        after = after or ((0.0,) if told else ())
        sides.append(tuple(Measured(each, 5e-6, "the plan") for each in after))
    return replace(station, front_shims=sides[0], rear_shims=sides[1])


def _left(setup: Setup, first: CenteringResult) -> tuple[RockerShim, ...] | None:
    """The drawer after the plan took from it and gave back."""
    if first.shafts is None or setup.stock.rocker_shims is None:
        return setup.stock.rocker_shims
    left = {shim.thickness.value: shim for shim in setup.stock.rocker_shims}
    for drawn in first.shafts.drawn:
        shim = left.get(drawn.thickness)
        if shim is None:
            if drawn.returned:
                left[drawn.thickness] = RockerShim(
                    Measured(drawn.thickness, 5e-6, "taken out"), drawn.returned
                )
        elif shim.count is not None:
            left[drawn.thickness] = replace(shim, count=max(shim.count - drawn.taken + drawn.returned, 0))
    return tuple(left.values())


def _suspects(first: CenteringResult, index: int, difference: float, doubt: float) -> list[Suspect]:
    """Shims near a rocker of which one misplaced or one too many would move it by what was seen."""
    near = set(first.front_shims[index]) | set(first.rear_shims[index])
    near |= set(first.front_removed[index]) | set(first.rear_removed[index])
    if first.shafts is not None:
        # Left in, or forgotten, anywhere in the bay.
        for row in first.shafts.before:
            for bay in bays(row.parts):
                if any(rocker.valve == first.valves[index] for rocker in bay.rockers):
                    near |= {p.thickness for slot in bay.slots for p in slot if isinstance(p, Shim)}
    found: list[tuple[float, Suspect]] = []
    side = "in front" if difference > 0 else "behind"
    for shim in sorted(near):
        for effect, kind in ((shim, "moved"), (0.5 * shim, "extra")):
            miss = abs(abs(difference) - effect)
            if miss <= _AGREES * doubt:
                found.append((miss, Suspect(first.valves[index], shim, side, kind)))
    return [suspect for _, suspect in sorted(found, key=lambda pair: pair[0])[:2]]
