"""How a reported number came about: formula, inputs with their source in the sheet, substitution, result.

Every question keeps its explanations in its own folder's `explain.py`; to explain another quantity, add an
`Explanation` there. The steps of a formula are evaluated, and the tests hold the outcome against the
number that the study reports, so that an explanation cannot drift from the program.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from valvetrain.answers.formula import Line, Steps
from valvetrain.answers.quantity import Quantity
from valvetrain.parts.spec import spec_of
from valvetrain.setup.linkage_columns import height_over_tip, linkage_columns
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import DIMENSIONS, display_unit, from_si, shown

__all__ = [
    "Explained",
    "Explanation",
    "Input",
    "Plain",
    "explained",
    "noted",
    "place_of",
    "quantity_in",
]

# parts of a result whose quantities are explained as the result's own
_PARTS = ("rigid", "pairs", "growth", "found", "break_in")


@dataclass(frozen=True)
class Plain:
    """An input that is a plain number of a result, or of the setup.

    Attributes:
        question: the command that reports it.
        meaning: what it is, in shop words.
        dimension: its dimension, as in `valvetrain.setup.units`.
        pick: its value [SI] at a valve, from setup, result of the question and the valve's index; NaN where
            unknown.
        source: where it stands, if not just in the result; from setup and index where that differs.
    """

    question: str
    meaning: str
    dimension: str
    pick: Callable[[Setup, Any, int], float]
    source: str | Callable[[Setup, int], str] = ""


@dataclass(frozen=True)
class Explanation:
    """One quantity's formula.

    Attributes:
        name: the quantity, as in the results.
        question: the command that reports it.
        doc: what it is, in shop words.
        symbols: symbol -> where its value comes from: a sheet key "section.key", "question:quantity" for
            another result, or a `Plain` number.
        steps: (symbol, expression) in order, see `formula.evaluated`; the last one is the quantity. An input
            that may be left out stands inside `either`, `known`, or the branch of a `where` that is then not
            taken. Empty where it is found by a fit or a search, which `note` then describes.
        publication: where the formula comes from.
        note: what else matters.
        check: the verdict that judges it, if one does.
        also: further names by which it may be asked for, such as verdicts that judge it at some valves.
        in_si: the steps are shown in m, N, kg, s, K, for formulas with masses, times or temperatures.
        proof: steps with the reported quantity among their symbols, the last of which is nought there, for a
            quantity that a search finds.
        at: the explanation at one valve, from setup, results and the valve's index, where the way to the
            number differs from valve to valve. It may use no other questions than this explanation's.
    """

    name: str
    question: str
    doc: str
    symbols: Mapping[str, str | Plain]
    steps: tuple[tuple[str, str], ...]
    publication: str
    note: str = ""
    check: str = ""
    in_si: bool = False
    proof: tuple[tuple[str, str], ...] = ()
    at: "Callable[[Setup, Mapping[str, Any], int], Explanation] | None" = None
    also: tuple[str, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """Every name by which it may be asked for."""
        return frozenset({self.name, self.check, *self.also} - {""})

    @property
    def questions(self) -> frozenset[str]:
        """Every question whose result it needs."""
        named = {self.question}
        for source in self.symbols.values():
            if isinstance(source, Plain):
                named.add(source.question)
            elif ":" in source:
                named.add(source.split(":")[0])
        return frozenset(named)


@dataclass(frozen=True)
class Input:
    """One input: symbol, what it is, its value written in the asked units, SI value, and where it stands.

    `number` is the value in units that hang together: in, lbf, psi or mm, N, MPa, or SI; angles in rad.
    """

    symbol: str
    meaning: str
    written: str
    value: float
    source: str
    number: float


@dataclass(frozen=True)
class Explained:
    """An explanation at one valve.

    Attributes:
        explanation: the explanation as it is at this valve.
        inputs: every input.
        lines: every step; proof: every step of the proof that a search has found its end.
        place: where the valve stands in the quantity.
        value: what the study reports [SI], NaN where unmeasured; written: in the asked units.
        evaluated: what the steps give [SI]; NaN where there are none, or the last one lacks an input.
        missing: sheet keys without which it cannot be known.
    """

    explanation: Explanation
    valve: str
    inputs: tuple[Input, ...]
    lines: tuple[Line, ...]
    proof: tuple[Line, ...]
    place: int
    value: float
    written: str
    evaluated: float
    missing: tuple[str, ...]


def noted(question: str, name: str, doc: str, note: str, publication: str, check: str = "") -> Explanation:
    """Explain in words what is measured, or found by a search, a fit or a sum over the cycle."""
    return Explanation(name, question, doc, {}, (), publication, note, check)


def quantity_in(result: Any, name: str, count: int) -> Quantity:
    """Return a result's quantity, its parts' included; unknown at all `count` valves where it has none."""
    # Of a set of springs the outer one, which stands first.
    wires = list(getattr(result, "stress", {}).values())[:1]
    for part in (result, *(getattr(result, each, None) for each in _PARTS), *wires):
        found = getattr(part, name, None)
        if isinstance(found, Quantity):
            return found
    unknown = np.full(count, np.nan)
    return Quantity("ratio", unknown, unknown, {})


def place_of(setup: Setup, result: Any, quantity: Quantity, valve: str) -> int:
    """Return where a valve stands in a quantity: by its own index, or by its cylinder's."""
    index = setup.valves.index(valve)
    if quantity.value.size == len(setup.valves):
        return index
    cylinders: tuple[int, ...] = result.cylinders
    return cylinders.index(setup.trains[index].cylinder)


def explained(
    setup: Setup, results: Mapping[str, Any], explanation: Explanation, valve: str, system: str
) -> Explained:
    """Explain one quantity at one valve.

    Args:
        setup: the setup.
        results: question -> result; those of the explanation and of its symbols.
        explanation: what to explain.
        valve: the valve's name.
        system: "inch" or "metric".
    """
    index = setup.valves.index(valve)
    if explanation.at is not None:
        explanation = explanation.at(setup, results, index)
    shown_in = "" if explanation.in_si else system
    inputs = tuple(
        _input(setup, results, symbol, source, index, (system, shown_in))
        for symbol, source in explanation.symbols.items()
    )
    result = results[explanation.question]
    quantity = quantity_in(result, explanation.name, len(setup.valves))
    place = place_of(setup, result, quantity, valve)
    value = float(quantity.value[place])
    steps = Steps()
    for each in inputs:
        put_in = f"{each.value:.6g}" if explanation.in_si else each.written
        steps.learn(each.symbol, each.value, each.number, put_in)
    lines, outcome = steps.taken(explanation.steps)
    lacking = {each for line in lines for each in line.missing} if math.isnan(outcome) else set()
    written = shown(value, quantity.dimension, system)
    steps.learn(explanation.name, value, _number(value, quantity.dimension, shown_in), written)
    proof, _ = steps.taken(explanation.proof)
    return Explained(
        explanation=explanation,
        valve=valve,
        inputs=inputs,
        lines=lines,
        proof=proof,
        place=place,
        value=value,
        written=written,
        evaluated=outcome,
        missing=tuple(
            source
            for symbol, source in explanation.symbols.items()
            if isinstance(source, str)
            and ":" not in source
            and (symbol in lacking or (not lines and math.isnan(steps.known[symbol])))
        ),
    )


def _input(
    setup: Setup,
    results: Mapping[str, Any],
    symbol: str,
    source: str | Plain,
    index: int,
    systems: tuple[str, str],
) -> Input:
    """Find one input's value and where it stands; `systems` are those of `written` and of `number`."""
    shown_in = systems[1]
    if isinstance(source, Plain):
        value = float(source.pick(setup, results[source.question], index))
        stands = source.source if isinstance(source.source, str) else source.source(setup, index)
        return Input(
            symbol,
            source.meaning,
            _written(value, source.dimension, systems),
            value,
            stands or f"found by `{source.question}`",
            _number(value, source.dimension, shown_in),
        )
    if ":" in source:
        question, name = source.split(":")
        quantity = quantity_in(results[question], name, len(setup.valves))
        value = float(quantity.value[place_of(setup, results[question], quantity, setup.valves[index])])
        words = name.replace("_", " ")
        return Input(
            symbol,
            words,
            _written(value, quantity.dimension, systems),
            value,
            f"reported by `{question}`: see {question}.{name}",
            _number(value, quantity.dimension, shown_in),
        )

    section, key = source.split(".")
    if section == "engine":
        spec, one = spec_of(type(setup.engine), key), getattr(setup.engine, key)
        value, where = (math.nan, "") if one is None else (one.value, one.source)
        dimension = spec.dimension or "ratio"
        number = _number(value, dimension, shown_in)
        return Input(
            symbol, spec.doc, _written(value, dimension, systems), value, where or "not in the sheet", number
        )
    column = setup.column(section, key)
    spec = spec_of(type(getattr(setup.trains[index], section)), key)
    value, where = float(column.value[index]), column.source[index]
    meaning = spec.doc
    if source == "shaft.height":
        rows = {each: found.value for each, found in linkage_columns(setup).items()}
        over = float(height_over_tip(rows)[index])
        if over != value:
            value, meaning = over, "shaft axis above this valve's own tip"
            where += ", less this stem height over reference_stem_height"
    elif source in _ZERO_IF_LEFT_OUT and math.isnan(value):
        value, where = 0.0, "left out of the sheet: none"
    written = _written(value, spec.dimension or "ratio", systems)
    number = _number(value, spec.dimension or "ratio", shown_in)
    return Input(symbol, meaning, written, value, where or "not in the sheet", number)


def _written(value: float, dimension: str, systems: tuple[str, str]) -> str:
    """Write a value in the asked units, and where the steps are shown in SI in its SI unit too."""
    system, shown_in = systems
    written, si = shown(value, dimension, system), DIMENSIONS[dimension].si
    if shown_in or not math.isfinite(value) or display_unit(dimension, system) == si:
        return written
    return f"{written} = {value:.5g} {si}".rstrip()


def _number(value: float, dimension: str, system: str) -> float:
    """Return a value in units that hang together, as a formula's steps then do too; "" is SI."""
    if not system or dimension in ("angle", "fraction", "ratio"):
        return value
    return float(from_si(value, dimension, system))


# Left out of a sheet these are what a plain engine has: nothing.
_ZERO_IF_LEFT_OUT = (
    "pushrod.splay",
    "shaft.stand_angle",
    "adjuster.axis_lean",
    "rocker.skew",
    "head.hole_angle",
    "piston.valve_angle",
    "piston.relief_offset_along",
    "piston.relief_offset_across",
)
