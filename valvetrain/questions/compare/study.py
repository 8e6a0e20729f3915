"""Two setups compared: values that changed, numbers that moved beyond their doubt, verdicts that turned."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.answers.budget_shares import named_quantities
from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import COVERAGE, Check
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import QUESTIONS, question
from valvetrain.setup.editing.differences import Difference, differences
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import DIMENSIONS, from_si

__all__ = ["Answers", "Comparison", "Moved", "Turned", "answers", "compared"]

_EXACT = 1e-9
"""Share of a number by which rounding alone may move it."""


@dataclass(frozen=True)
class Answers:
    """Every question of one setup answered.

    Attributes:
        setup: the setup.
        results: question -> result.
        checks: question -> its verdicts.
    """

    setup: Setup
    results: Mapping[str, Any]
    checks: Mapping[str, Sequence[Check]]


@dataclass(frozen=True)
class Moved:
    """One number that moved beyond its doubt.

    Attributes:
        quantity: "question.name".
        valve: at which valve; None for a number of the engine.
        dimension: of the values and uncertainties [SI]; NaN where it is not known.
    """

    quantity: str
    valve: str | None
    dimension: str
    before: float
    before_uncertainty: float
    after: float
    after_uncertainty: float


@dataclass(frozen=True)
class Turned:
    """One verdict that turned; None where it is not asked."""

    id: str
    valve: str | None
    quantity: str
    before: str | None
    after: str | None


@dataclass(frozen=True)
class Comparison:
    """What differs.

    Attributes:
        changed: values of the sheets.
        moved: numbers of the answers.
        turned: verdicts.
        left_out: valves that only one of the two has.
    """

    changed: tuple[Difference, ...]
    moved: tuple[Moved, ...]
    turned: tuple[Turned, ...]
    left_out: tuple[str, ...]


def answers(setup: Setup, system: str) -> Answers:
    """Ask every question that `check` asks."""
    questions = [each for each in map(question, QUESTIONS) if each.in_check]
    results = asked(setup, tuple(each.name for each in questions))
    return Answers(setup, results, {each.name: each.checks(setup, results, system) for each in questions})


def compared(before: Answers, after: Answers) -> Comparison:
    """Compare two setups and their answers.

    A number has moved when its difference exceeds the difference's own expanded doubt (k = 2) and is one that
    a shop reads. What both sheets give alike counts as one measurement, whose error both answers share: only
    the difference of its two contributions counts. A measurement that differs counts twice, as two.
    """
    changed = differences(before.setup, after.setup)
    valves = [name for name in before.setup.valves if name in after.setup.valves]
    alone = sorted({*before.setup.valves} ^ {*after.setup.valves})
    return Comparison(
        changed,
        tuple(_moved(before, after, changed)),
        tuple(_turned(before, after)),
        tuple(alone) if valves else (),
    )


def _moved(before: Answers, after: Answers, changed: Sequence[Difference]) -> Iterator[Moved]:
    anew = {(each.key, each.valve) for each in changed}
    for name, result in before.results.items():
        other = dict(named_quantities(after.results[name])) if name in after.results else {}
        for key, one in named_quantities(result):
            two = other.get(key)
            if two is None or one.dimension != two.dimension:
                continue
            places = zip(
                _places(before.setup, result, one),
                _places(after.setup, after.results[name], two),
                strict=False,
            )
            for here, there in _alike(places):
                found = _one_moved(f"{name}.{key}", one, here, two, there, anew)
                if found is not None:
                    yield found


def _alike(places: Any) -> Iterator[tuple[tuple[str | None, int], tuple[str | None, int]]]:
    """Pair the places of the same name."""
    pairs = list(places)
    there = {name: (name, index) for _, (name, index) in pairs}
    for here, _ in pairs:
        if here[0] in there:
            yield here, there[here[0]]


def _places(setup: Setup, result: Any, quantity: Quantity) -> list[tuple[str | None, int]]:
    """Name the places of a quantity: valves, or the first valve of each cylinder; None for the engine."""
    size = len(quantity.value)
    if size == len(setup.valves):
        return [(valve, index) for index, valve in enumerate(setup.valves)]
    cylinders = getattr(result, "cylinders", None)
    if cylinders is not None and size == len(cylinders):
        first = {train.cylinder: train.name for train in reversed(setup.trains)}
        return [(first[each], index) for index, each in enumerate(cylinders)]
    return [(None, 0)] if size == 1 else []


def _one_moved(
    name: str,
    one: Quantity,
    here: tuple[str | None, int],
    two: Quantity,
    there: tuple[str | None, int],
    anew: set[tuple[str, str | None]],
) -> Moved | None:
    values = float(one.value[here[1]]), float(two.value[there[1]])
    doubts = float(one.uncertainty[here[1]]), float(two.uncertainty[there[1]])
    known = [math.isfinite(each) for each in values]
    if not any(known):
        return None
    found = Moved(name, here[0], one.dimension, values[0], doubts[0], values[1], doubts[1])
    if not all(known):
        return found
    away = abs(values[1] - values[0])
    digits = (DIMENSIONS[one.dimension].digits_inch, DIMENSIONS[one.dimension].digits_metric)
    read = min(
        0.5 * 10.0**-digit / max(abs(float(from_si(1.0, one.dimension, system, difference=True))), 1e-300)
        for digit, system in zip(digits, ("inch", "metric"), strict=True)
    )
    doubt = _doubt(one, here, two, there, anew)
    least = max(COVERAGE * doubt, read, _EXACT * max(map(abs, values)))
    return found if away > least else None


def _doubt(
    one: Quantity,
    here: tuple[str | None, int],
    two: Quantity,
    there: tuple[str | None, int],
    anew: set[tuple[str, str | None]],
) -> float:
    """Return the standard uncertainty of the difference of two numbers, to first order."""
    square = 0.0
    for key in {*one.contributions, *two.contributions}:
        parts = [
            float(parts[place]) if parts is not None and place < len(parts) else 0.0
            for parts, place in (
                (one.contributions.get(key), here[1]),
                (two.contributions.get(key), there[1]),
            )
        ]
        first, second = (each if np.isfinite(each) else 0.0 for each in parts)
        if (key, here[0]) in anew or (key, None) in anew:
            square += first**2 + second**2
        else:
            square += (second - first) ** 2
    return math.sqrt(square)


def _turned(before: Answers, after: Answers) -> Iterator[Turned]:
    one, two = (
        {(check.id, check.valve): check for own in each.checks.values() for check in own}
        for each in (before, after)
    )
    for key in dict.fromkeys((*one, *two)):
        first, second = one.get(key), two.get(key)
        verdicts = first.verdict if first else None, second.verdict if second else None
        if verdicts[0] != verdicts[1]:
            told = first or second
            assert told is not None
            yield Turned(key[0], key[1], told.quantity, *verdicts)
