"""Exact stepping of piecewise-linear systems over many trains and speeds at once.

Between contact changes a step is one product with the exponential of the system's matrix, exact for a lobe
that is a cubic over the step, so the step is limited by the lobe and not by the stiff contacts. Where the
contacts at the end of a step differ from those it was made with, the first change inside it is located on
the Taylor series of the exponential, and the rest of the step goes on with the new contacts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import factorial

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.elastic_system import ElasticSystem, closed_contacts

__all__ = ["LONGEST_STEP", "ContactChanges", "March", "marched"]

# lane, step, contacts before and after, velocity of the valve
Found = tuple[NDArray[np.intp], FloatArray, NDArray[np.intp], NDArray[np.intp], FloatArray]

ORDER = 22  # Taylor terms: 1e-9 relative at the longest step allowed
LONGEST_STEP = 3.0  # in the time unit of the fastest vibration
SECTIONS = 16  # a change is located by cutting its bracket into so many parts, over and over
ROUNDS = 4  # bracket of a step / 16^4
MOST_CHANGES = 200  # in one step of one lane
WEIGHTS = np.array([8, 4, 2, 1])


@dataclass(frozen=True)
class ContactChanges:
    """Contact changes in the order in which they were found; every field has the shape [changes].

    Attributes:
        train, speed: index of the train and of the speed.
        step: step and fraction since the start of the last cycle [-].
        before, after: set of closed contacts as a binary number, lobe first.
        velocity: of the valve [m/s].
    """

    train: NDArray[np.intp]
    speed: NDArray[np.intp]
    step: FloatArray
    before: NDArray[np.intp]
    after: NDArray[np.intp]
    velocity: FloatArray


@dataclass(frozen=True)
class March:
    """States at the start of every step of the last cycle, and what changed in it.

    Attributes:
        states: [V, S, steps + 1, N].
        closed: closed contacts, [V, S, steps + 1, 4].
        changes: located contact changes of the last cycle.
        unsteadiness: greatest change of the valve's place between the last two cycles [m], [V, S];
            NaN with a single cycle.
    """

    states: FloatArray
    closed: BoolArray
    changes: ContactChanges
    unsteadiness: FloatArray


def marched(
    system: ElasticSystem,
    lobe: FloatArray,
    slope: FloatArray,
    step_times: FloatArray,
    cycles: int,
    progress: Callable[[float], None] | None = None,
) -> March:
    """Run every train at every speed through some cycles of its lobe, from rest.

    Args:
        system: V trains, N states each.
        lobe: pad drop that a rigid train would have, at the ends of the steps [m], [V, steps + 1].
        slope: its derivative per step [m], [V, steps + 1].
        step_times: time of a step at each speed [s], [S]; at most 3 time units of the system.
        cycles: >= 1.
        progress: called now and then with the part done, 0 to 1.
    """
    trains, speeds, steps = len(lobe), len(step_times), lobe.shape[1] - 1
    size = system.start.shape[-1]
    front = size - 4
    length = np.broadcast_to(step_times / system.time_unit, (trains, speeds)).ravel()
    if length.max() > LONGEST_STEP * 1.001:
        raise ValueError(
            f"The longest step is {length.max():g} time units; it must be at most {LONGEST_STEP}."
        )
    train_of = np.repeat(np.arange(trains), speeds)
    series = _series(system.matrices)
    whole_steps = _exponentials(series, length.reshape(trains, speeds)).reshape(-1, 16, size, size)

    lanes = trains * speeds
    x = np.repeat(system.start, speeds, axis=0)
    number = closed_contacts(system, x.reshape(trains, speeds, size)).reshape(lanes, 4) @ WEIGHTS
    current = whole_steps[np.arange(lanes), number]
    cubic = _cubics(lobe, slope, length.reshape(trains, speeds))
    kept = np.empty((steps + 1, lanes, size))
    numbers = np.empty((steps + 1, lanes), np.intp)
    previous = np.full((steps + 1, lanes), np.nan)
    found: list[Found] = []
    locate = _Locator(system, series, train_of, length)
    for cycle in range(cycles):
        last = cycle == cycles - 1
        if cycle:
            previous[:] = kept[:, :, 2]
        found.clear()
        for step in range(steps):
            x[:, front:] = cubic[step]
            kept[step], numbers[step] = x, number
            ahead = np.matmul(current, x[:, :, None])[:, :, 0]
            now = closed_contacts(system, ahead.reshape(trains, speeds, size)).reshape(lanes, 4) @ WEIGHTS
            changed = np.flatnonzero(now != number)
            if changed.size:
                ahead[changed], now[changed], events = locate.through(changed, x[changed], number[changed])
                if last:
                    found.extend((lane, step + at, a, b, v) for lane, at, a, b, v in events)
                number = now
                current[changed] = whole_steps[changed, number[changed]]
            x = ahead
            if progress is not None and step % 64 == 0:
                progress((cycle * steps + step) / (cycles * steps))
        kept[steps], numbers[steps] = x, number
    if progress is not None:
        progress(1.0)
    drift = np.abs(kept[:, :, 2] - previous).max(axis=0) if cycles > 1 else np.full(lanes, np.nan)
    shape = (trains, speeds)
    return March(
        states=np.moveaxis(kept, 0, 1).reshape(*shape, steps + 1, size),
        closed=(np.moveaxis(numbers, 0, 1).reshape(*shape, steps + 1, 1) // WEIGHTS) % 2 == 1,
        changes=_gathered(found, speeds, system.time_unit),
        unsteadiness=drift.reshape(shape),
    )


class _Locator:
    """Carries lanes through one step in which their contacts change."""

    def __init__(
        self, system: ElasticSystem, series: FloatArray, train_of: NDArray[np.intp], length: FloatArray
    ) -> None:
        self.series, self.train_of, self.length = series, train_of, length
        self.valve_velocity = 3 + system.modes + 2
        rows = np.concatenate([system.gap, system.force], axis=1)
        # The rows on the Taylor terms, so that a trial inside the step costs no state: [V, 16, ORDER, 8, N].
        self.rows_series = np.einsum("vrn,vsknm->vskrm", rows, series)
        self.fractions = np.arange(1, SECTIONS + 1) / SECTIONS

    def through(
        self, lanes: NDArray[np.intp], x: FloatArray, number: NDArray[np.intp]
    ) -> tuple[
        FloatArray,
        NDArray[np.intp],
        list[Found],
    ]:
        """States and contacts at the end of the step, and the changes on the way."""
        events = []
        end_x, end_number = np.empty_like(x), number.copy()
        open_lanes = np.arange(lanes.size)
        done = np.zeros(lanes.size)
        for _ in range(MOST_CHANGES):
            lane = lanes[open_lanes]
            train, total = self.train_of[lane], self.length[lane]
            left = total - done[open_lanes]
            terms = np.matmul(self.series[train, number[open_lanes]], x[open_lanes][:, None, :, None])[..., 0]
            trial = np.matmul(self.rows_series[train, number[open_lanes]], x[open_lanes][:, None, :, None])
            low, high = np.zeros(lane.size), left
            after = number[open_lanes].copy()
            hit = np.zeros(lane.size, bool)
            every = np.arange(lane.size)
            for turn in range(ROUNDS):
                at = low[:, None] + (high - low)[:, None] * self.fractions
                seen = _numbers(_taylor(trial[..., 0], at))
                differs = seen != number[open_lanes][:, None]
                first = np.argmax(differs, axis=1)
                if turn == 0:
                    hit = differs.any(axis=1)
                use = hit & differs[every, first]
                after = np.where(use, seen[every, first], after)
                width = (high - low) / SECTIONS
                low = np.where(use, low + first * width, low)
                high = np.where(use, low + width, high)
            reached = np.where(hit, high, left)
            moved = _taylor(terms, reached[:, None])[:, 0]
            x[open_lanes] = moved
            ended = ~hit
            end_x[open_lanes[ended]] = moved[ended]
            end_number[open_lanes[ended]] = number[open_lanes[ended]]
            if hit.any():
                stay = open_lanes[hit]
                done[stay] += reached[hit]
                events.append(
                    (
                        lane[hit],
                        done[stay] / total[hit],
                        number[stay].copy(),
                        after[hit],
                        moved[hit, self.valve_velocity],
                    )
                )
                number[stay] = after[hit]
            open_lanes = open_lanes[hit]
            if not open_lanes.size:
                return end_x, end_number, events
        raise ValueError(
            f"Contacts change more than {MOST_CHANGES} times in one step; raise the damping or the stiffness."
        )


def _series(matrices: FloatArray) -> FloatArray:
    """A^k/k! for k = 0 to ORDER, [V, 16, ORDER + 1, N, N]."""
    size = matrices.shape[-1]
    terms = [np.broadcast_to(np.eye(size), matrices.shape)]
    for _ in range(ORDER):
        terms.append(terms[-1] @ matrices)
    return np.stack([term / factorial(k) for k, term in enumerate(terms)], axis=2)


def _exponentials(series: FloatArray, length: FloatArray) -> FloatArray:
    """exp(A h) per train, speed and contact state, [V, S, 16, N, N]: the series of h/4, squared twice."""
    powers = (length[..., None] / 4.0) ** np.arange(series.shape[2])
    quarter = np.einsum("vtk,vskij->vtsij", powers, series, optimize=True)
    half = quarter @ quarter
    whole: FloatArray = half @ half
    return whole


def _cubics(lobe: FloatArray, slope: FloatArray, length: FloatArray) -> FloatArray:
    """Lobe and its derivatives per time unit at the start of each step, [steps, V S, 4]; Hermite cubic."""
    rise = np.diff(lobe, axis=1)
    first, second = slope[:, :-1], slope[:, 1:]
    bend = 2.0 * (3.0 * rise - 2.0 * first - second)
    twist = 6.0 * (first + second - 2.0 * rise)
    table = np.stack([lobe[:, :-1], first, bend, twist], axis=-1)
    scaled = table[:, None] / length[:, :, None, None] ** np.arange(4)
    return np.moveaxis(scaled.reshape(-1, *scaled.shape[2:]), 0, 1).copy()


def _taylor(terms: FloatArray, at: FloatArray) -> FloatArray:
    """Sum of terms [lanes, k, m] times at^k, at [lanes, points] -> [lanes, points, m]."""
    total: FloatArray = np.matmul(at[..., None] ** np.arange(terms.shape[1]), terms)
    return total


def _numbers(rows: FloatArray) -> NDArray[np.intp]:
    """Closed contacts as a binary number from rows of gaps and forces, [..., 8] -> [...]."""
    number: NDArray[np.intp] = ((rows[..., :4] > 0) & (rows[..., 4:] > 0)) @ WEIGHTS
    return number


def _gathered(
    found: list[Found],
    speeds: int,
    time_unit: float,
) -> ContactChanges:
    """The found changes as flat arrays."""
    columns = [np.concatenate(part) for part in zip(*found, strict=True)] if found else [np.empty(0)] * 5
    lane = columns[0].astype(np.intp)
    return ContactChanges(
        train=lane // speeds,
        speed=lane % speeds,
        step=columns[1],
        before=columns[2].astype(np.intp),
        after=columns[3].astype(np.intp),
        velocity=columns[4] / time_unit,
    )
