"""How a reported number came about: formula, inputs with their source in the sheet, substitution, result.

Every question keeps its explanations in a file of its own, named in `SOURCES`; to explain another quantity,
add an `Explanation` there. The steps of a formula are evaluated, and the tests hold the outcome against the
number that the study reports, so that an explanation cannot drift from the program.
"""

import importlib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown
from valvetrain.studies.quantity import Quantity

__all__ = ["Explained", "Explanation", "Input", "explained", "explanations"]

# modules of this package that hold `EXPLANATIONS`
SOURCES = ("explain_rocker", "explain_center", "explain_spring", "explain_pushrod", "explain_events")

_FUNCTIONS: dict[str, Any] = {
    "sqrt": math.sqrt,
    "sin": math.sin,
    "cos": math.cos,
    "tan": math.tan,
    "asin": math.asin,
    "acos": math.acos,
    "atan2": math.atan2,
    "hypot": math.hypot,
    "abs": abs,
    "max": max,
    "min": min,
    "pi": math.pi,
    "where": lambda condition, then, otherwise: then if condition else otherwise,
}


@dataclass(frozen=True)
class Explanation:
    """One quantity's formula.

    Attributes:
        name: the quantity, as in the results.
        question: the command that reports it.
        doc: what it is, in shop words.
        symbols: symbol -> where its value comes from: a sheet key "section.key", or "question:quantity" for
            another result.
        steps: (symbol, expression) in order; the last one is the quantity. Empty where it is found by a fit
            or a search, which `note` then describes.
        publication: where the formula comes from.
        note: what else matters.
        check: the verdict that judges it, if one does.
    """

    name: str
    question: str
    doc: str
    symbols: Mapping[str, str]
    steps: tuple[tuple[str, str], ...]
    publication: str
    note: str = ""
    check: str = ""


@dataclass(frozen=True)
class Input:
    """One input: symbol, what it is, its value written in the asked units, SI value, and where it stands."""

    symbol: str
    meaning: str
    written: str
    value: float
    source: str


@dataclass(frozen=True)
class Explained:
    """An explanation at one valve.

    Attributes:
        inputs: every input.
        lines: (symbol, expression, the same with numbers put in, result [SI]) of every step.
        value: what the study reports [SI], NaN where unmeasured; written: in the asked units.
        evaluated: what the steps give [SI]; NaN where there are none, or an input is unknown.
        missing: sheet keys without which it cannot be known.
    """

    explanation: Explanation
    valve: str
    inputs: tuple[Input, ...]
    lines: tuple[tuple[str, str, str, float], ...]
    value: float
    written: str
    evaluated: float
    missing: tuple[str, ...]


def explanations() -> dict[tuple[str, str], Explanation]:
    """Return every explanation by (question, quantity)."""
    found: dict[tuple[str, str], Explanation] = {}
    for source in SOURCES:
        module = importlib.import_module(f"valvetrain.studies.{source}")
        for each in module.EXPLANATIONS:
            found[(each.question, each.name)] = each
    return found


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
    inputs = tuple(
        _input(setup, results, symbol, source, index, system)
        for symbol, source in explanation.symbols.items()
    )
    quantity: Quantity = getattr(results[explanation.question], explanation.name)
    value = float(quantity.value[index])
    known: dict[str, float] = {each.symbol: each.value for each in inputs}
    written = {each.symbol: each.written for each in inputs}
    lines = []
    outcome = math.nan
    if not any(math.isnan(each) for each in known.values()):
        for symbol, expression in explanation.steps:
            outcome = _evaluated(expression, known)
            lines.append((symbol, expression, _substituted(expression, written), outcome))
            known[symbol] = outcome
            written[symbol] = symbol
    return Explained(
        explanation=explanation,
        valve=valve,
        inputs=inputs,
        lines=tuple(lines),
        value=value,
        written=shown(value, quantity.dimension, system),
        evaluated=outcome,
        missing=tuple(
            explanation.symbols[each.symbol]
            for each in inputs
            if math.isnan(each.value) and ":" not in explanation.symbols[each.symbol]
        ),
    )


def _input(
    setup: Setup, results: Mapping[str, Any], symbol: str, source: str, index: int, system: str
) -> Input:
    """Find one input's value and where it stands."""
    if ":" in source:
        question, name = source.split(":")
        quantity: Quantity = getattr(results[question], name)
        value = float(quantity.value[index])
        words = name.replace("_", " ")
        return Input(
            symbol, words, shown(value, quantity.dimension, system), value, f"result of `{question}`"
        )
    from valvetrain.parts.spec import spec_of
    from valvetrain.studies.linkage_inputs import height_over_tip, linkage_columns

    section, key = source.split(".")
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
    written = shown(value, spec.dimension or "ratio", system)
    return Input(symbol, meaning, written, value, where or "not in the sheet")


# Left out of a sheet these are what a plain engine has: nothing.
_ZERO_IF_LEFT_OUT = ("pushrod.splay", "shaft.stand_angle", "adjuster.axis_lean")


def _evaluated(expression: str, known: Mapping[str, float]) -> float:
    """Evaluate one step; the expressions are this package's own, never a user's."""
    code = expression.replace("^", "**")
    try:
        return float(eval(code, {"__builtins__": {}}, {**_FUNCTIONS, **known}))
    except (ValueError, ZeroDivisionError):
        return math.nan


def _substituted(expression: str, written: Mapping[str, str]) -> str:
    """Put the numbers in, with their units."""
    pattern = r"\b[A-Za-z_][A-Za-z_0-9]*\b"

    def number(match: re.Match[str]) -> str:
        name = match[0]
        if name in _FUNCTIONS or name not in written:
            return name
        text = written[name]
        return f"({text})" if text.startswith("-") else text

    return re.sub(pattern, number, expression)
