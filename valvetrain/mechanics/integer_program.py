"""A mixed-integer program written row by row, whose aims are solved one after another (scipy's HiGHS)."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["IntegerProgram", "Terms"]

Terms = Mapping[int, float]
# What a held aim may lose: ten times what the solver itself tells apart, because a row as tight as the
# solver's own accuracy can make it fail.
HELD = 1e-5


@dataclass
class IntegerProgram:
    """Variables, rows low <= sum of terms <= high, and the time left for solving them; numbers near 1.

    Attributes:
        deadline: `time.monotonic` at which solving ends; infinite for no end.
        proved: False from the moment that an aim was not proved the best in time.
    """

    deadline: float = np.inf
    proved: bool = True
    _low: list[float] = field(default_factory=list)
    _high: list[float] = field(default_factory=list)
    _whole: list[bool] = field(default_factory=list)
    _rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def variable(self, low: float = 0.0, high: float = 1.0, *, whole: bool = False) -> int:
        """Add a variable; returns its index."""
        self._low.append(low)
        self._high.append(high)
        self._whole.append(whole)
        return len(self._low) - 1

    def row(self, terms: Terms, low: float = -np.inf, high: float = np.inf) -> None:
        """Add a row."""
        self._rows.append((terms, low, high))

    def least(self, aim: Terms) -> FloatArray | None:
        """Values of all variables for which an aim is least.

        None where no values keep every row, or, with `proved` False, where none were found in time.

        Raises:
            RuntimeError: the solver fails in any other way.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        left = self.deadline - time.monotonic()
        if left <= 0.0:
            self.proved = False
            return None
        found = milp(
            self._dense(aim),
            constraints=LinearConstraint(self._matrix(), *self._ends()),
            bounds=Bounds(np.array(self._low), np.array(self._high)),
            integrality=np.array(self._whole, int),
            options={"mip_rel_gap": 0.0} | ({"time_limit": left} if np.isfinite(left) else {}),
        )
        self.proved &= found.status in (0, 2)
        if found.status not in (0, 1, 2):
            raise RuntimeError(f"the program could not be solved: {found.message}")
        return None if found.x is None else np.asarray(found.x, float)

    def hold(self, aim: Terms, best: float) -> None:
        """Keep an aim at its best from here on, and leave out what cannot take part in any such answer.

        A yes-or-no variable is left out where its reduced cost in the program without whole numbers is more
        than the distance of the best from that program's own least.
        """
        self.row(aim, -np.inf, best + HELD)
        from scipy.optimize import linprog
        from scipy.sparse import vstack

        matrix, (low, high) = self._matrix(), self._ends()
        below, above = np.isfinite(high), np.isfinite(low)
        found = linprog(
            self._dense(aim),
            A_ub=vstack([matrix[below], -matrix[above]]),
            b_ub=np.concatenate([high[below], -low[above]]),
            bounds=np.column_stack([self._low, self._high]),
            method="highs",
        )
        if found.status != 0:
            return
        room = best - float(found.fun) + HELD
        never = np.array(self._whole) & (np.asarray(found.lower.marginals) > room)
        for index in np.flatnonzero(never):
            self._high[index] = self._low[index]

    def _dense(self, aim: Terms) -> FloatArray:
        cost = np.zeros(len(self._low))
        cost[list(aim)] = list(aim.values())
        return cost

    def _ends(self) -> tuple[FloatArray, FloatArray]:
        return np.array([row[1] for row in self._rows]), np.array([row[2] for row in self._rows])

    def _matrix(self) -> Any:
        """The coefficients of all rows as a sparse matrix."""
        from scipy.sparse import csr_array

        indices = [index for terms, _, _ in self._rows for index in terms]
        pointers = np.cumsum([0, *(len(terms) for terms, _, _ in self._rows)])
        data = [value for terms, _, _ in self._rows for value in terms.values()]
        return csr_array((data, indices, pointers), shape=(len(self._rows), len(self._low)))
