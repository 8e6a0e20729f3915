"""The plan of a shaft row as a mixed-integer program (scipy's HiGHS).

Shims enter with whole numbers, cut spacers and moved stands as lengths with a yes-or-no each. Lengths inside
the program are in mm, so that the solver's tolerance of 1e-6 is a nanometer.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.row.model import LinearBay
from valvetrain.mechanics.row.shaft import Stand

__all__ = ["Program", "Solution"]

_MM = 1e3
# Rounding room on every limit [mm]: a tenth of a nanometer, so that a plan exactly on a limit is allowed.
_EDGE = 1e-7


@dataclass(frozen=True)
class Solution:
    """A solved program, lengths in [m].

    Attributes:
        shims: contents of every (row, bay, slot).
        spacers: new lengths by (row, bay, slot, index).
        moves: of stands by (row, stand).
        loosened: amounts of what was let loose to solve it.
        proved: False where the solver's time ran out, so that a better one may exist.
    """

    shims: Mapping[tuple[int, int, int], Counter[float]]
    spacers: Mapping[tuple[int, int, int, int], float]
    moves: Mapping[tuple[int, int], float]
    loosened: Mapping[tuple[Any, ...], float]
    proved: bool = True


@dataclass
class Program:
    """Variables and rows of the mixed-integer program of some bays sharing one stock.

    Attributes:
        group: the bays.
        available: shims of each thickness [m] at hand, fitted ones included; None: any number.
        most: shims allowed in a slot.
        any_thickness: allow one shim of any thickness in each slot (to find what to buy).
        machining: allow hubs and stands to be faced (to find what to machine).
        seconds: time allowed for each objective; `timed_out` then says whether it ran out.
        more: allow more of each stocked thickness than at hand (to find what to buy).
    """

    group: Sequence[LinearBay]
    available: Mapping[float, int | None]
    most: int
    any_thickness: bool = False
    machining: bool = False
    more: bool = False
    seconds: float = np.inf
    timed_out: bool = False
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)
    changes: dict[int, float] = field(default_factory=dict)
    errors: list[int] = field(default_factory=list)
    names: dict[tuple[Any, ...], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Write all variables and rows."""
        self._kept = 0
        self._span = max(bay.rear.position - bay.front.position for bay in self.group) * _MM
        use: dict[float, dict[int, float]] = {thickness: {} for thickness in self.available}
        for bay in self.group:
            self._bay(bay, use)
        for thickness, count in self.available.items():
            if count is not None and use[thickness]:
                if self.more:
                    use[thickness][self._variable(("more", thickness), 0, np.inf, whole=True)] = -1
                self.rows.append((use[thickness], -np.inf, count))

    def possible(self) -> bool:
        """False only where not even fractions of shims would do: a proof, in a few milliseconds."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        result = milp(
            np.zeros(len(self.low)),
            bounds=Bounds(np.array(self.low), np.array(self.high)),
            constraints=LinearConstraint(
                self._matrix(self.rows), [row[1] for row in self.rows], [row[2] for row in self.rows]
            ),
        )
        return bool(result.status != 2)

    def _matrix(self, rows: Sequence[tuple[dict[int, float], float, float]]) -> Any:
        """The coefficients of rows as a sparse matrix."""
        from scipy.sparse import csr_array

        indices = [k for terms, _, _ in rows for k in terms]
        pointers = np.cumsum([0, *(len(terms) for terms, _, _ in rows)])
        data = [value for terms, _, _ in rows for value in terms.values()]
        return csr_array((data, indices, pointers), shape=(len(rows), len(self.low)))

    def solved(self, *objectives: Mapping[int, float]) -> Solution | None:
        """Minimise the objectives one after the other, each held at its best; None when infeasible."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        held: list[tuple[Mapping[int, float], float]] = []
        values: FloatArray | None = None
        for objective in objectives:
            rows = [*self.rows, *((dict(terms), -np.inf, most) for terms, most in held)]
            matrix = self._matrix(rows)
            cost = np.zeros(len(self.low))
            cost[list(objective)] = list(objective.values())
            result = milp(
                cost,
                integrality=np.array(self.whole),
                bounds=Bounds(np.array(self.low), np.array(self.high)),
                constraints=LinearConstraint(matrix, [r[1] for r in rows], [r[2] for r in rows]),
                options={"mip_rel_gap": 0.0, "time_limit": self.seconds},
            )
            self.timed_out |= result.status == 1
            if result.x is None:
                return None
            values = np.asarray(result.x)
            whole = all(self.whole[k] for k in objective)
            held.append((objective, float(result.fun) + (0.5 if whole else 1e-6)))
        assert values is not None
        return self._read(values)

    def error_terms(self) -> dict[int, float]:
        """Sum of the |offset| as an objective."""
        return dict.fromkeys(self.errors, 1.0)

    def named(self, *kinds: str) -> dict[int, float]:
        """Sum of the variables of these kinds as an objective."""
        return {index: 1.0 for name, index in self.names.items() if name[0] in kinds}

    def _read(self, x: FloatArray) -> Solution:
        shims: dict[tuple[int, int, int], Counter[float]] = {}
        for bay in self.group:
            for slot in range(len(bay.bay.slots)):
                shims[bay.row, bay.number, slot] = Counter()
        spacers, moves, loosened = {}, {}, {}
        for name, index in self.names.items():
            value = float(x[index])
            if name[0] == "shim":
                count = round(value)
                if count:
                    shims[name[1:4]][name[4]] = count
            elif name[0] == "spacer":
                spacers[name[1:]] = value / _MM
            elif name[0] == "move":
                moves[name[1:]] = value / _MM
            elif name[0] in ("any", "hub", "stand") and value > 1e-5:
                loosened[name] = value / _MM
            elif name[0] == "more" and value > 0.5:
                loosened[name] = round(value)
        return Solution(shims, spacers, moves, loosened, not self.timed_out)

    def _variable(
        self, name: tuple[Any, ...], low: float, high: float, whole: bool = False, cost: float = 0.0
    ) -> int:
        index = len(self.low)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(int(whole))
        if cost:
            self.changes[index] = cost
        self.names[name] = index
        return index

    def _switched(self, name: tuple[Any, ...], low: float, high: float, rest: float, cost: float) -> int:
        """A length that costs one change when it differs from `rest`."""
        index = self._variable(name, low, high)
        switch = self._variable(("switch", *name), 0, 1, whole=True, cost=cost)
        self.rows.append(({index: 1.0, switch: rest - high}, -np.inf, rest))
        self.rows.append(({index: 1.0, switch: rest - low}, rest, np.inf))
        return index

    def _wall(self, bay: LinearBay, stand: Stand, number: int) -> dict[int, float]:
        """How far a wall is moved, as terms; empty for a located one."""
        if stand.shift == 0:
            return {}
        name = ("move", bay.row, number)
        if name not in self.names:
            reach = min(stand.shift * _MM, self._span)
            self._switched(name, -reach, reach, 0.0, 1.0)
        return {self.names[name]: 1.0}

    def _bay(self, bay: LinearBay, use: Mapping[float, dict[int, float]]) -> None:
        slots = [self._slot(bay, slot, use) for slot in range(len(bay.bay.slots))]
        front, rear = self._wall(bay, bay.front, bay.bay.front), self._wall(bay, bay.rear, bay.bay.rear)
        play = _sum(rear, _scaled(front, -1.0), *(_scaled(slot, -1.0) for slot in slots))
        faced: list[tuple[dict[int, float], dict[int, float]]] = [({}, {})] * len(bay.bay.rockers)
        if self.machining:
            for side, stand, number in (
                ("rear", bay.front, bay.bay.front),
                ("front", bay.rear, bay.bay.rear),
            ):
                if stand.width > 0:
                    cut = {self._variable(("stand", bay.row, number, side), 0, stand.width * _MM): 1.0}
                    play = _sum(play, cut)
                    front = _sum(front, _scaled(cut, -1.0)) if side == "rear" else front
            faced = [
                (
                    {self._variable(("hub", r.valve, "front"), 0, r.pad_position * _MM): 1.0},
                    {self._variable(("hub", r.valve, "rear"), 0, (r.hub_width - r.pad_position) * _MM): 1.0},
                )
                for r in bay.bay.rockers
            ]
            play = _sum(play, *(cut for pair in faced for cut in pair))
        room = bay.room * _MM
        self.rows.append((play, bay.low * _MM - room - _EDGE, bay.high * _MM - room + _EDGE))
        before: dict[int, float] = {}
        for i, rocker in enumerate(bay.bay.rockers):
            before = _sum(before, slots[i])
            offset = _sum(front, before, _scaled(play, bay.share[i]), _scaled(faced[i][0], -1.0))
            before = _sum(before, _scaled(faced[i][0], -1.0), _scaled(faced[i][1], -1.0))
            constant = float(bay.base[i] + bay.share[i] * bay.room) * _MM
            tolerance = bay.tolerance[i] * _MM + _EDGE
            error = self._variable(("error", bay.row, rocker.valve), 0, tolerance)
            self.errors.append(error)
            self.rows.append((_sum(offset, {error: -1.0}), -np.inf, -constant))
            self.rows.append((_sum(offset, {error: 1.0}), -constant, np.inf))

    def _slot(self, bay: LinearBay, slot: int, use: Mapping[float, dict[int, float]]) -> dict[int, float]:
        """Length in a slot as terms."""
        at = (bay.row, bay.number, slot)
        fitted = bay.fitted[slot]
        most: float = max(self.most, fitted.total())
        length: dict[int, float] = {}
        held: dict[int, float] = {}
        for thickness, count in self.available.items():
            now = fitted[thickness]
            limit: float = most if count is None or self.more else min(most, count)
            index = self._variable(("shim", *at, thickness), 0, limit, whole=True, cost=0.0 if now else 1.0)
            if now:  # changes are |n - now|
                changed = self._variable(("changed", *at, thickness), 0, np.inf, whole=True, cost=1.0)
                self.rows.append(({changed: 1.0, index: -1.0}, -now, np.inf))
                self.rows.append(({changed: 1.0, index: 1.0}, now, np.inf))
            length[index] = thickness * _MM
            held[index] = 1.0
            use[thickness][index] = 1.0
        if held:
            self.rows.append((held, 0, most))
        if self.any_thickness:
            index = self._switched(("any", *at), 0.0, self._span, 0.0, 0.0)
            length[index] = 1.0
        for number, spacer in enumerate(bay.spacers[slot]):
            most_length = min(spacer.most * _MM, self._span)
            low, present = spacer.least * _MM, spacer.width * _MM
            low, most_length = min(low, present), max(most_length, present)
            index = self._switched(("spacer", *at, number), low, most_length, present, 1.0)
            length[index] = 1.0
        return length


def _scaled(terms: Mapping[int, float], factor: float) -> dict[int, float]:
    return {index: factor * value for index, value in terms.items()}


def _sum(*each: Mapping[int, float]) -> dict[int, float]:
    total: dict[int, float] = {}
    for terms in each:
        for index, value in terms.items():
            total[index] = total.get(index, 0.0) + value
    return total
