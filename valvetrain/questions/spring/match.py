"""Which of the tested springs goes on which valve, so that the set comes out even."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.measured import Measured
from valvetrain.parts.spring import LoadTest
from valvetrain.questions.spring.curves import SpringCurves, spring_curves, springs_are_unplaced
from valvetrain.setup.setup import Column, Setup

__all__ = ["SpringMatching", "spring_matching"]


@dataclass(frozen=True)
class SpringMatching:
    """Springs as matched.

    Attributes:
        tests: the load test of each valve's spring; None where it gets none.
        curves: of the springs as matched, each with its own solid height.
        left_over: names of tested springs that no valve gets.
        trouble: why a set could not be matched; empty where it could.
    """

    tests: tuple[LoadTest | None, ...]
    curves: SpringCurves
    left_over: tuple[str, ...]
    trouble: str


def spring_matching(setup: Setup, height: FloatArray, lift: FloatArray, wanted: FloatArray) -> SpringMatching:
    """Match the tested springs to the valves.

    Args:
        setup: the setup.
        height: at which each valve's spring stands without shims [m], shape [n]; NaN where unmeasured.
        lift: full net lift [m], shape [n].
        wanted: seat load wanted [N], shape [n]; 0 where only evenness counts.

    Valves whose springs come from one table form one set. A pair is left out where that spring would come
    nearer to coil bind than the limit allows.
    """
    from valvetrain.mechanics.spring.matching import NO_SPRING, least_spread_matching

    count = len(setup.trains)
    chosen: list[LoadTest | None] = [train.spring.tests for train in setup.trains]
    left_over: list[str] = []
    trouble = ""
    least = setup.limits["bind_clearance"].low
    for springs in dict.fromkeys(setup.tested_springs):
        own = np.array([each == springs for each in setup.tested_springs])
        if len(springs) < 2:
            continue
        loads = np.full((count, len(springs)), np.nan)
        for place, test in enumerate(springs):
            curves = spring_curves(setup, [test] * count)
            rows = {key: column.value for key, column in curves.columns.items()}
            load = curves.total(rows, height)[0]
            solid = np.array([_solid(setup, test, index) for index in range(count)])
            binds = height - lift - solid < least
            loads[:, place] = np.where(binds, np.nan, load)
        try:
            match = least_spread_matching(loads[own], wanted[own])
        except ValueError as error:
            trouble = str(error)
            continue
        for index, spring in zip(np.flatnonzero(own), match.spring, strict=True):
            chosen[index] = None if spring == NO_SPRING else springs[spring]
        left_over += [test.spring for place, test in enumerate(springs) if place not in match.spring]
    curves = spring_curves(setup, chosen)
    column = curves.columns["spring.solid_height"]
    value, doubt, source = column.value.copy(), column.uncertainty.copy(), list(column.source)
    for place, own_test in enumerate(chosen):
        found = _solid_of(setup, own_test, place) if own_test is not None else None
        if found is not None:
            value[place], doubt[place], source[place] = found.value, found.uncertainty, found.source
    columns: Mapping[str, Column] = dict(curves.columns) | {
        "spring.solid_height": Column(value, doubt, tuple(source))
    }
    return SpringMatching(tuple(chosen), replace(curves, columns=columns), tuple(left_over), trouble)


def _solid_of(setup: Setup, test: LoadTest, index: int) -> Measured | None:
    """Solid height of a tested spring: its own, or that of the valve it is on now."""
    if test.solid_height is not None:
        return test.solid_height
    for train in setup.trains:
        if train.spring.tests is test:
            return train.spring.solid_height
    return setup.trains[index].spring.solid_height if springs_are_unplaced(setup) else None


def _solid(setup: Setup, test: LoadTest, index: int) -> float:
    found = _solid_of(setup, test, index)
    return np.nan if found is None else found.value
