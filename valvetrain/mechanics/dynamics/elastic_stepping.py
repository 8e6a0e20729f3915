"""Exact stepping of piecewise-linear systems over many trains and speeds at once.

Between contact changes a step is one product with the exponential of the system's matrix, exact for a lobe
that is a cubic over the step, so the step is limited by the lobe and not by the stiff contacts. Where the
contacts at the end of a step differ from those it was made with, the first change inside it is located on
the Taylor series of the exponential, and the rest of the step goes on with the new contacts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import comb, factorial

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.dynamics.elastic_system import ElasticSystem, closed_contacts

__all__ = ["LONGEST_STEP", "ContactChanges", "March", "marched"]

# lane, step, contacts before and after, velocity of the valve
Found = tuple[NDArray[np.intp], FloatArray, NDArray[np.intp], NDArray[np.intp], FloatArray]

SMALLEST = 3e-11  # of Taylor terms, at the longest step
ORDER = 22  # Taylor terms: 1e-9 relative at the longest step allowed
LONGEST_STEP = 3.0  # in the time unit of the fastest vibration
SECTIONS = 16  # a change is located by cutting its bracket into so many parts, over and over
BLOCK = 6  # terms that one product gives
FEW = 9  # Taylor terms enough within one section: 1e-13
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
        self.train_of, self.length = train_of, length
        self.size = system.start.shape[-1]
        self.valve_velocity = 3 + system.modes + 2
        self.table = series[:, :, 1 : BLOCK + 1].reshape(*series.shape[:2], -1, self.size)
        rows = np.concatenate([system.gap, system.force], axis=1)
        self.rows = np.ascontiguousarray(np.swapaxes(rows, 1, 2))
        self.terms = _terms(float(length.max()))
        # A^(m + j)/(m + j)! = A^j/j! A^m/m! over the ways of choosing j from m + j
        self.carried = [
            np.array([1.0 / comb(done + j, j) for j in range(1, BLOCK + 1)])[:, None]
            for done in range(self.terms)
        ]
        self.samples = _powers(np.arange(1, SECTIONS + 1) / SECTIONS, self.terms)
        self.narrowed = _narrowing(self.terms)

    def through(
        self, lanes: NDArray[np.intp], x: FloatArray, number: NDArray[np.intp]
    ) -> tuple[FloatArray, NDArray[np.intp], list[Found]]:
        """States and contacts at the end of the step, and the changes on the way."""
        events: list[Found] = []
        end_x, end_number = np.empty_like(x), number.copy()
        todo = np.arange(lanes.size)
        done = np.zeros(lanes.size)
        for _ in range(MOST_CHANGES):
            lane = lanes[todo]
            train, total = self.train_of[lane], self.length[lane]
            left = total - done
            terms = self._taylor(train, number, x)
            trial = np.matmul(terms, self.rows[train])
            reached, hit = self._first_change(trial, left, number)
            powers = _powers(reached, self.terms)[:, None, :]
            x, rows = np.matmul(powers, terms)[:, 0], np.matmul(powers, trial)[:, 0]
            ended = ~hit
            end_x[todo[ended]], end_number[todo[ended]] = x[ended], number[ended]
            if not hit.any():
                return end_x, end_number, events
            after = _closed(rows) @ WEIGHTS
            done = (done + reached)[hit]
            events.append(
                (lane[hit], done / total[hit], number[hit], after[hit], x[hit, self.valve_velocity])
            )
            todo, x, number = todo[hit], x[hit], after[hit]
        raise ValueError(
            f"Contacts change more than {MOST_CHANGES} times in one step; the dampings are too small for it."
        )

    def _taylor(self, train: NDArray[np.intp], number: NDArray[np.intp], x: FloatArray) -> FloatArray:
        """Taylor terms of the state, [lanes, terms, N]: A^k x / k!, each block from the term before it."""
        table = self.table[train, number]
        terms = np.empty((len(x), self.terms, self.size))
        terms[:, 0] = x
        for done in range(0, self.terms - 1, BLOCK):
            block = np.matmul(table, terms[:, done, :, None]).reshape(len(x), BLOCK, self.size)
            upto = min(done + BLOCK, self.terms - 1)
            terms[:, done + 1 : upto + 1] = (block * self.carried[done])[:, : upto - done]
        return terms

    def _first_change(
        self, trial: FloatArray, left: FloatArray, number: NDArray[np.intp]
    ) -> tuple[FloatArray, BoolArray]:
        """Time to just after the first change (or to the step's end), and whether there is one."""
        before = (number[:, None, None] // WEIGHTS) % 2 == 1
        # Polynomials in the share of the bracket; each round narrows the bracket to one section.
        shares = trial * _powers(left, trial.shape[1])[:, :, None]
        differs = (_closed(np.matmul(self.samples, shares)) != before).any(axis=2)
        hit = differs.any(axis=1)
        if not hit.any():
            return left, hit
        before, shares, differs = before[hit], shares[hit], differs[hit]
        low, width = np.zeros(len(shares)), 1.0 / SECTIONS
        for turn in range(ROUNDS):
            if turn:
                differs = (_closed(np.matmul(self.samples[:, :FEW], shares)) != before).any(axis=2)
                # Rounding can hide the change at the bracket's very end: then it is in the last section.
                differs[:, -1] = True
            section = np.argmax(differs, axis=1)
            low += section * width
            if turn < ROUNDS - 1:
                shares = np.matmul(self.narrowed[section, :, : shares.shape[1]], shares)
                width /= SECTIONS
        reached = left.copy()
        reached[hit] *= low + width
        return reached, hit


def _narrowing(terms: int) -> FloatArray:
    """Matrices that turn a polynomial's terms in u into its first terms in v, u = (section + v)/SECTIONS."""
    start = np.arange(SECTIONS) / SECTIONS
    table = np.zeros((SECTIONS, FEW, terms))
    for m in range(FEW):
        for k in range(m, terms):
            table[:, m, k] = comb(k, m) * start ** (k - m) / SECTIONS**m
    return table


def _terms(longest: float) -> int:
    """Terms of the exponential's series that carry a step to 3e-11: those beyond are not felt."""
    size, term = 1.0, 0
    while size > SMALLEST or term < FEW:
        term += 1
        size *= longest / term
    return term + 1


def _powers(at: FloatArray, terms: int) -> FloatArray:
    """Powers 0 to terms - 1 along a new last axis."""
    powers = np.empty((*at.shape, terms))
    powers[..., 0] = 1.0
    powers[..., 1:] = at[..., None]
    return np.multiply.accumulate(powers, axis=-1)


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


def _closed(rows: FloatArray) -> BoolArray:
    """Closed contacts from rows of gaps and forces, [..., 8] -> [..., 4]."""
    closed: BoolArray = (rows[..., :4] > 0) & (rows[..., 4:] > 0)
    return closed


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
