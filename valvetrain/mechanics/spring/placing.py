"""Which spring goes where, on which shims: one exact choice for all valves at once.

Options are listed one by one: this spring on this stack at this valve, with what it gives. One is taken for
each valve, no spring twice, no more shims than there are. In this order, each held at its best for the next:

1. as few valves as possible without any spring, then outside a limit, then outside a second one; shims never
   set a spring too low among its role to save another limit;
2. as few as possible inside a limit by less than their own doubt;
3. least sum of the distances of the seat loads from the loads wanted;
4. evenest: least sum, over the roles, of the ranges of seat load (less wanted) and open load;
5. fewest shims.

Heights are held to the middle (the median) of their role as the plan itself leaves it, which ties all valves
of a role together. That middle is branched upon: see `placing_heights`.
"""

import heapq
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.spring.placing_heights import HeightLimits, MiddleBox, height_verdict
from valvetrain.mechanics.spring.placing_options import OK, PlacingOptions
from valvetrain.mechanics.spring.placing_program import PlacingProgram, Score, is_less

__all__ = ["Placement", "best_placement"]

Whole = NDArray[np.int64]
Boxes = tuple[MiddleBox, ...]
# Choices tried for the middles of the one before, ahead of the search.
ROUNDS = 4


@dataclass(frozen=True)
class Placement:
    """The choice.

    Attributes:
        chosen: index of the option of each valve; -1 for a valve that has none, shape [valves].
        verdict: of each valve, its height included, from `OK` to `NONE`; -1 without option, shape [valves].
        score: what each aim came to, in order; loads in [N].
        bought: shims of each kind beyond the drawer, shape [kinds].
        proved: there is no better one; False where the time ran out first.
    """

    chosen: Whole
    verdict: Whole
    score: Score
    bought: Whole
    proved: bool


def best_placement(
    options: PlacingOptions,
    available: FloatArray,
    roles: Whole,
    heights: HeightLimits,
    *,
    for_sale: BoolArray | None = None,
    seconds: float = np.inf,
) -> Placement:
    """Choose one option for every valve that has any.

    Args:
        options: at least one of each valve must be free of shims and springs that others want.
        available: shims of each kind, infinite where more can be had, shape [kinds].
        roles: of the valves, whole numbers from 0 without a gap, shape [valves].
        heights: limits on the heights.
        for_sale: kinds of which more may be bought. With it, after doubt, come fewest valves off the load
            wanted and fewest shims bought, and only then the sum of the distances. Shape [kinds].
        seconds: most time; the best choice found by then is taken.
    """
    return _Search(options, available, roles, heights, for_sale, time.monotonic() + seconds).placed()


class _Search:
    """Branch and bound on the middles of the roles, a program a branch."""

    def __init__(
        self,
        options: PlacingOptions,
        available: FloatArray,
        roles: Whole,
        heights: HeightLimits,
        for_sale: BoolArray | None,
        deadline: float,
    ) -> None:
        self.options, self.available, self.roles, self.heights = options, available, roles, heights
        self.for_sale, self.deadline = for_sale, deadline
        self.proved = True
        self.role_of = roles[options.valve]
        known = np.zeros(roles.size, bool)
        known[options.valve[~np.isnan(options.height)]] = True
        self.boxes = tuple(
            MiddleBox(int(np.sum(known[roles == role]))) for role in range(int(roles.max(initial=-1)) + 1)
        )

    def placed(self) -> Placement:
        """Search until the best is proved, or the time is over."""
        program = self._program(self.boxes)
        bound, chosen = program.solved(to_the_end=False)
        best, (score, verdict) = chosen, self._true(chosen)
        for other in self._near(chosen):
            own, own_verdict = self._true(other)
            if is_less(own, score):
                best, score, verdict = other, own, own_verdict
        waiting = [(bound, 0, self.boxes, program)]
        number = 0
        while waiting:
            bound, _, boxes, program = heapq.heappop(waiting)
            if is_less(score[: len(bound)], bound) or (
                len(bound) == len(score) and not is_less(bound, score)
            ):
                continue
            if time.monotonic() > self.deadline:
                self.proved = False
                break
            chosen = program.chosen if program.chosen is not None else best
            own, own_verdict = self._true(chosen)
            if is_less(own, score):
                best, score, verdict = chosen, own, own_verdict
            if not is_less(bound, own[: len(bound)]):
                # What it was taken for it is: settle what further aims come to, unless that is done.
                if len(bound) < len(score):
                    bound, _ = program.solved(to_the_end=True)
                    number += 1
                    heapq.heappush(waiting, (bound, number, boxes, program))
                continue
            for part in self._split(boxes, chosen):
                program = self._program(part)
                bound, _ = program.solved(to_the_end=False)
                number += 1
                if not is_less(score[: len(bound)], bound):
                    heapq.heappush(waiting, (bound, number, part, program))
        taken = self.options.shims[best[best >= 0]].sum(axis=0)
        over = np.where(np.isfinite(self.available), np.maximum(taken - self.available, 0.0), 0.0)
        return Placement(best, verdict, score, over.astype(np.int64), self.proved)

    def _near(self, chosen: Whole) -> Iterator[Whole]:
        """Choices made for the middles that the one before left: mostly good ones, and found soon."""
        for _ in range(ROUNDS):
            middles = {int(self.role_of[own[0]]): own for own in self._of_roles(chosen)}
            boxes = list(self.boxes)
            for role, own in middles.items():
                middle = float(np.median(self.options.height[own]))
                boxes[role] = MiddleBox(0, (middle, middle), (middle, middle))
            if time.monotonic() > self.deadline:
                return
            _, found = self._program(tuple(boxes)).solved(to_the_end=False)
            if np.array_equal(found, chosen):
                return
            chosen = found
            yield chosen

    def _program(self, boxes: Boxes) -> PlacingProgram:
        """The program where the middles lie in these boxes, heights judged by the best that they can be."""
        low, high = (np.array([box.middle[end] for box in boxes])[self.role_of] for end in (1, 0))
        verdict = self._height_verdict(self.options.height - low, self.options.height - high)
        program = PlacingProgram(
            self.options, verdict, self.available, self.roles, self.for_sale, self.deadline
        )
        for role, box in enumerate(boxes):
            if box.valves:
                for among, least in box.counted(self.options.height):
                    program.at_least(among & (self.role_of == role), least)
        return program

    def _height_verdict(self, least: FloatArray, most: FloatArray) -> Whole:
        return height_verdict(least, most, self.heights.doubt[self.options.valve], self.heights)

    def _true(self, chosen: Whole) -> tuple[Score, Whole]:
        """What a choice comes to, each height from the middle that the choice itself leaves."""
        away = np.full(self.options.valve.size, np.nan)
        for own in self._of_roles(chosen):
            away[own] = self.options.height[own] - np.median(self.options.height[own])
        program = PlacingProgram(
            self.options,
            self._height_verdict(away, away),
            self.available,
            self.roles,
            self.for_sale,
            self.deadline,
        )
        return program.score(chosen), program.verdict(chosen)

    def _of_roles(self, chosen: Whole) -> list[Whole]:
        """The chosen options with a known height, role by role."""
        taken = chosen[chosen >= 0]
        taken = taken[~np.isnan(self.options.height[taken])]
        every = (taken[self.role_of[taken] == role] for role in range(len(self.boxes)))
        return [own for own in every if own.size]

    def _split(self, boxes: Boxes, chosen: Whole) -> Sequence[Boxes]:
        """Boxes that no longer allow a height of this choice to be judged better than it is."""
        for own in self._of_roles(chosen):
            role = int(self.role_of[own[0]])
            stands = self.options.height[own]
            low, high = boxes[role].middle
            doubt = self.heights.doubt[self.options.valve[own]]
            away = stands - np.median(stands)
            taken = height_verdict(stands - high, stands - low, doubt, self.heights)
            true = height_verdict(away, away, doubt, self.heights)
            for place in np.flatnonzero(true > taken):
                kept = doubt[place] if taken[place] == OK else 0.0
                least, most = self.heights.low + kept, self.heights.high - kept
                needed = stands[place] - (most if away[place] > most else least)
                parts = boxes[role].split(stands, float(needed))
                if parts is not None:
                    return [(*boxes[:role], part, *boxes[role + 1 :]) for part in parts]
        return ()
