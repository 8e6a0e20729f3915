"""The tested springs that may go from valve to valve, each with its own load and solid height."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray
from valvetrain.parts.measured import Measured
from valvetrain.parts.spring import LoadTest
from valvetrain.questions.spring.curves import SpringCurves, spring_curves, springs_are_unplaced
from valvetrain.setup.setup import Column, Setup

__all__ = ["SpringPool", "spring_pool"]


@dataclass(frozen=True)
class SpringPool:
    """Springs to be placed; valves whose springs come from one table form one set.

    Attributes:
        tests: of each spring; that of its own valve, or None, for a spring that goes nowhere else.
        may_take: whether a valve may take a spring, shape [n, springs].
    """

    tests: tuple[LoadTest | None, ...]
    may_take: BoolArray

    def placed(self, spring: NDArray[np.int64]) -> list[LoadTest | None]:
        """Load test of each valve's spring; None for a valve without."""
        return [None if each < 0 else self.tests[each] for each in spring]

    def curves_of(self, setup: Setup, tests: Sequence[LoadTest | None]) -> SpringCurves:
        """Curves of the springs as placed, each with its own solid height."""
        curves = spring_curves(setup, tests)
        column = curves.columns["spring.solid_height"]
        value, doubt, source = column.value.copy(), column.uncertainty.copy(), list(column.source)
        for place, own in enumerate(tests):
            found = _solid_of(setup, own, place) if own is not None else None
            if found is not None:
                value[place], doubt[place], source[place] = found.value, found.uncertainty, found.source
        columns: Mapping[str, Column] = dict(curves.columns) | {
            "spring.solid_height": Column(value, doubt, tuple(source))
        }
        return replace(curves, columns=columns)

    def left_over(self, spring: NDArray[np.int64]) -> list[str]:
        """Names of the tested springs that no valve gets."""
        return [
            test.spring for place, test in enumerate(self.tests) if test is not None and place not in spring
        ]

    def trouble(self, setup: Setup, spring: NDArray[np.int64]) -> str:
        """Say which measured valves get no spring; empty where there are enough."""
        height = setup.column("spring", "installed_height").value
        without = [
            valve
            for valve, own, at in zip(setup.valves, spring, height, strict=True)
            if own < 0 and not np.isnan(at)
        ]
        if not without:
            return ""
        return f"too few springs are tested: none is left for {', '.join(without)}."


def spring_pool(setup: Setup) -> SpringPool:
    """Put the springs of every table with two or more into the pool, and each other one with its valve."""
    count = len(setup.trains)
    tests: list[LoadTest | None] = []
    columns: list[BoolArray] = []
    for springs in dict.fromkeys(setup.tested_springs):
        own = np.array([each == springs for each in setup.tested_springs])
        if len(springs) > 1:
            tests += springs
            columns += [own] * len(springs)
            continue
        for valve in np.flatnonzero(own):
            tests.append(setup.trains[valve].spring.tests)
            columns.append(np.arange(count) == valve)
    return SpringPool(tuple(tests), np.array(columns).T)


def _solid_of(setup: Setup, test: LoadTest, index: int) -> Measured | None:
    """Solid height of a tested spring: its own, or that of the valve it is on now."""
    if test.solid_height is not None:
        return test.solid_height
    for train in setup.trains:
        if train.spring.tests is test:
            return train.spring.solid_height
    return setup.trains[index].spring.solid_height if springs_are_unplaced(setup) else None
