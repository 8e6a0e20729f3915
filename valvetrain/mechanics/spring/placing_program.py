"""The choice of springs and shims as a program of whole numbers, every height judged beforehand."""

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.integer_program import IntegerProgram, Terms
from valvetrain.mechanics.spring.placing_options import NONE, OUT, UNSURE, PlacingOptions

__all__ = ["PlacingProgram", "Score", "is_less"]

Whole = NDArray[np.int64]
Score = tuple[float, ...]
# Sums of loads that differ by less are equal [N]: far below what a tester shows, above the solver's rounding.
EQUAL = 0.02


def is_less(one: Score, other: Score) -> bool:
    """Whether a score is better: at the first aim in which they differ."""
    for left, right in zip(one, other, strict=False):
        if abs(left - right) > EQUAL:
            return left < right
    return False


class PlacingProgram:
    """One yes-or-no variable an option, and the aims in their order.

    Args:
        options: to choose from.
        heights: verdict on the height of each option, shape [options].
        available: shims of each kind, shape [kinds].
        roles: of the valves, shape [valves].
        for_sale: kinds of which more may be bought; None where none is.
        deadline: `time.monotonic` at which to end.
    """

    def __init__(
        self,
        options: PlacingOptions,
        heights: Whole,
        available: FloatArray,
        roles: Whole,
        for_sale: BoolArray | None,
        deadline: float,
    ) -> None:
        """Judge every option; the program itself is written when it is solved."""
        self.options, self.available, self.roles, self.for_sale = options, available, roles, for_sale
        self.worst = np.maximum(options.verdict, heights)
        # One sum of counts: each weighs more than all valves in everything that follows it. A height that
        # shims bring outside counts thrice, so that they never do so to save another limit.
        weight = float(3 * roles.size + 1)
        apart = (heights >= OUT) * np.where(options.lowers, 3.0, 1.0)
        self.verdicts = (
            (options.verdict == NONE) * weight**3
            + (self.worst >= OUT) * weight**2
            + ((options.verdict >= OUT) + apart) * weight
            + (self.worst == UNSURE)
        )
        self.program = IntegerProgram(deadline)
        self.of_valve = [np.flatnonzero(options.valve == each) for each in range(roles.size)]
        self.bought: dict[int, int] = {}
        self.chosen: Whole | None = None
        self._counted: list[tuple[BoolArray, int]] = []
        self._left: list[tuple[dict[int, float] | None, int]] | None = None
        self._reach = 0

    @property
    def proved(self) -> bool:
        """Whether every aim was proved the best in time."""
        return self.program.proved

    def at_least(self, among: BoolArray, count: int) -> None:
        """Ask that so many valves take one of these options, shape [options]."""
        self._counted.append((among, count))

    def verdict(self, chosen: Whole) -> Whole:
        """Verdict on each valve; -1 without an option."""
        return np.where(chosen >= 0, self.worst[chosen], -1)

    def score(self, chosen: Whole) -> Score:
        """What each aim comes to; loads in [N]."""
        taken = chosen[chosen >= 0]
        options = self.options
        ranges = [float(np.ptp(own)) for own in self._loads(taken) if own.size]
        shims = float(options.shims[taken].sum())
        aims = [float(options.distance[taken].sum()), float(sum(ranges)), shims]
        if self.for_sale is not None:
            aims = [float(options.off_target[taken].sum()), float(self._over(taken).sum()), *aims]
        return (float(self.verdicts[taken].sum()), *aims)

    def solved(self, *, to_the_end: bool) -> tuple[Score, Whole]:
        """Solve the aims one after another, as far as the sum of the distances or to the end.

        Returns:
            what the aims that were solved come to, and the choice; infinite where nothing is allowed.
        """
        if self._left is None:
            self._write()
        assert self._left is not None
        while self._left and (to_the_end or len(self._left) > 2):
            aim, reach = self._left[0]
            terms = self._ranges() if aim is None else aim
            found = self.program.least(terms) if terms else None
            if terms and found is None:
                if self.chosen is not None or not self.program.proved:
                    break
                return (np.inf,), np.full(self.roles.size, -1)
            if found is not None:
                new = self._read(found)
                if self.chosen is None or not is_less(self.score(self.chosen), self.score(new)):
                    self.chosen = new
                ranges = self.score(self.chosen)[reach - 1] / self.scale
                self.program.hold(terms, ranges if aim is None else self._value(terms, self.chosen))
            self._reach = reach
            del self._left[0]
        if self.chosen is None:
            self.chosen = self._in_turn()
        return self.score(self.chosen)[: self._reach], self.chosen

    def _value(self, terms: Terms, chosen: Whole) -> float:
        """What a sum of the options' and the purchases' variables comes to."""
        over = self._over(chosen[chosen >= 0])
        values = dict.fromkeys(chosen[chosen >= 0].tolist(), 1.0)
        values |= {variable: float(over[kind]) for kind, variable in self.bought.items()}
        return sum(weight * values.get(index, 0.0) for index, weight in terms.items())

    def _over(self, taken: Whole) -> FloatArray:
        """Shims of each kind beyond the drawer."""
        shims = self.options.shims[taken].sum(axis=0)
        return np.where(np.isfinite(self.available), np.maximum(shims - self.available, 0.0), 0.0)

    def _scale(self) -> float:
        """Load by which loads are divided, so that the solver sees numbers up to 1 [N]."""
        loads = (self.options.distance, *self._loads(np.arange(self.options.valve.size)))
        return max(1.0, *(float(np.ptp(own)) for own in loads if own.size))

    def _write(self) -> None:
        """Write the rows, and the aims with how many of the score each settles."""
        options, valves = self.options, self.roles.size
        for _ in range(options.valve.size):
            self.program.variable(whole=True)
        for own in self.of_valve:
            if own.size:
                self.program.row(dict.fromkeys(own.tolist(), 1.0), 1.0, 1.0)
        for spring in np.unique(options.spring[options.spring >= 0]):
            self.program.row(_terms(options.spring == spring), high=1.0)
        for kind in np.flatnonzero(np.isfinite(self.available)):
            taken = _terms(options.shims[:, kind])
            if self.for_sale is not None and self.for_sale[kind]:
                self.bought[int(kind)] = self.program.variable(0.0, np.inf)
                taken[self.bought[int(kind)]] = -1.0
            self.program.row(taken, high=float(self.available[kind]))
        for among, count in self._counted:
            if not among.all():
                self.program.row(_terms(among), low=float(count))
        self.scale = self._scale()
        # The sum of the distances stays below 1, and so below one valve in the counts before it.
        distance = options.distance / (1.01 * valves * self.scale)
        shims = _terms(options.shims.sum(axis=1))
        if self.for_sale is None:
            self._left = [(_terms(self.verdicts + distance), 2), (None, 3), (shims, 4)]
            return
        off = options.off_target / (1.0 + valves)
        bought = {**_terms(distance), **dict.fromkeys(self.bought.values(), 1.0)}
        self._left = [(_terms(self.verdicts + off), 2), (bought, 4), (None, 5), (shims, 6)]

    def _loads(self, taken: Whole) -> list[FloatArray]:
        """Seat loads less wanted, and open loads, of each role, as far as they are compared [N]."""
        role = self.roles[self.options.valve[taken]]
        loads = (self.options.seat_load[taken], self.options.open_load[taken])
        return [load[(role == each) & ~np.isnan(load)] for load in loads for each in np.unique(role)]

    def _ranges(self) -> dict[int, float]:
        """Highest less lowest load of each role; written as rows of the program."""
        aim: dict[int, float] = {}
        scale = self.scale
        for load in (self.options.seat_load, self.options.open_load):
            for role in np.unique(self.roles):
                own = self.roles[self.options.valve] == role
                known = load[own & ~np.isnan(load)]
                if not known.size:
                    continue
                zero, low, high = float(known.min()), 0.0, float(np.ptp(known)) / scale
                lowest, highest = (self.program.variable(low, high) for _ in range(2))
                for valve in np.flatnonzero(self.roles == role):
                    at = (load[self.of_valve[valve]] - zero) / scale
                    # What is not to be compared stretches neither end.
                    self.program.row(
                        {**_given(self.of_valve[valve], np.where(np.isnan(at), low, at)), highest: -1.0},
                        high=0.0,
                    )
                    self.program.row(
                        {**_given(self.of_valve[valve], np.where(np.isnan(at), high, at)), lowest: -1.0},
                        low=0.0,
                    )
                aim |= {highest: 1.0, lowest: -1.0}
        return aim

    def _read(self, values: FloatArray) -> Whole:
        chosen = np.full(self.roles.size, -1, np.int64)
        for valve, own in enumerate(self.of_valve):
            if own.size:
                chosen[valve] = own[np.argmax(values[own])]
        return chosen

    def _in_turn(self) -> Whole:
        """A choice found at once: valves with the fewest options choose first."""
        options = self.options
        chosen = np.full(self.roles.size, -1, np.int64)
        left, free = self.available.copy(), np.ones(options.spring.max(initial=-1) + 2, bool)
        for valve in sorted(range(self.roles.size), key=lambda each: self.of_valve[each].size):
            own = self.of_valve[valve]
            own = own[(options.shims[own] <= left).all(axis=1) & free[options.spring[own]]]
            if own.size:
                taken = own[np.lexsort((options.distance[own], self.verdicts[own]))[0]]
                chosen[valve] = taken
                left -= options.shims[taken]
                free[options.spring[taken]] = options.spring[taken] < 0
        return chosen


def _terms(values: FloatArray | Whole | BoolArray) -> dict[int, float]:
    known = np.asarray(values, float)
    return {int(index): float(known[index]) for index in np.flatnonzero(known)}


def _given(indices: Whole, values: FloatArray) -> dict[int, float]:
    return dict(zip(indices.tolist(), values.tolist(), strict=True))
