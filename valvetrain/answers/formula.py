"""Formulas written as text: evaluated step by step from what is known, strict about what is missing."""

import ast
import functools
import math
import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["FUNCTIONS", "Line", "Steps", "evaluated", "substituted"]

_PLAIN: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "sin": math.sin,
    "cos": math.cos,
    "tan": math.tan,
    "asin": math.asin,
    "acos": math.acos,
    "atan": math.atan,
    "atan2": math.atan2,
    "hypot": math.hypot,
    "exp": math.exp,
    "log": math.log,
    "log10": math.log10,
    "abs": abs,
    "max": max,
    "min": min,
}
# where(condition, then, otherwise) needs only the branch that it takes; either(a, b, ...) is the first that
# is known; known(a) says whether it is
FUNCTIONS = frozenset({*_PLAIN, "where", "either", "known", "pi"})

_OPERATORS: dict[type[ast.AST], Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
}


@dataclass(frozen=True)
class Line:
    """One step: symbol, expression, the same with numbers put in, its outcome, and what it lacks.

    The outcome is in units that hang together, see `Steps.learn`; NaN where the step lacks inputs, which
    `missing` names, or is not defined.
    """

    symbol: str
    expression: str
    substituted: str
    outcome: float
    missing: tuple[str, ...]


class Steps:
    """Steps taken one after the other, each knowing the outcomes of those before it."""

    def __init__(self) -> None:
        """Begin with nothing known."""
        self.known: dict[str, float] = {}
        self._numbers: dict[str, float] = {}
        self._written: dict[str, str] = {}

    def learn(self, symbol: str, value: float, number: float, written: str) -> None:
        """Take a value: in SI, in units that hang together, and as written."""
        self.known[symbol], self._numbers[symbol] = value, number
        self._written[symbol] = "unknown" if math.isnan(value) else written

    def taken(self, steps: tuple[tuple[str, str], ...]) -> tuple[tuple[Line, ...], float]:
        """Evaluate steps; return their lines, and the last one's outcome in SI."""
        lines, outcome = [], math.nan
        for symbol, expression in steps:
            outcome, missing = evaluated(expression, self.known)
            number = evaluated(expression, self._numbers)[0]
            lines.append(Line(symbol, expression, substituted(expression, self._written), number, missing))
            self.learn(symbol, outcome, number, symbol)
            self._written[symbol] = symbol
        return tuple(lines), outcome


def evaluated(expression: str, values: Mapping[str, float]) -> tuple[float, tuple[str, ...]]:
    """Evaluate an expression of this package's own (never a user's).

    Args:
        expression: numbers, names, + - * / ^, comparisons, and `FUNCTIONS`.
        values: name -> value; NaN is unknown.

    Returns:
        its value, and the names for want of which it has none. NaN with nothing missing: it is not defined
        there, such as the root of a negative number.

    Raises:
        ValueError: a name that `values` does not have, or something that is no formula.
    """
    missing: dict[str, None] = {}
    try:
        value = float(_value(_parsed(expression), values, missing))
    except (ArithmeticError, _DomainError):
        return math.nan, ()
    return (math.nan, tuple(missing)) if missing else (value, ())


def substituted(expression: str, written: Mapping[str, str]) -> str:
    """Put the numbers in, as `written` has them: in brackets negative ones, and raised ones with a unit."""

    def number(match: re.Match[str]) -> str:
        name = match[0]
        if name in FUNCTIONS or name not in written:
            return name
        text = written[name]
        raised = " " in text and expression[match.end() : match.end() + 1] == "^"
        return f"({text})" if raised or text.startswith("-") else text

    return re.sub(r"\b[A-Za-z_][A-Za-z_0-9]*\b", number, expression)


class _DomainError(Exception):
    """A function asked outside the range in which it is defined."""


@functools.cache
def _parsed(expression: str) -> ast.expr:
    return ast.parse(expression.replace("^", "**"), mode="eval").body


def _value(node: ast.expr, values: Mapping[str, float], missing: dict[str, None]) -> Any:
    """Evaluate a node; NaN, with the names in `missing`, where something is unknown."""
    match node:
        case ast.Constant(value=int() | float() as number):
            return number
        case ast.Name(id="pi"):
            return math.pi
        case ast.Name(id=name):
            if name not in values:
                raise ValueError(f"a formula names {name}, which is none of {', '.join(values)}.")
            if math.isnan(values[name]):
                missing[name] = None
            return values[name]
        case ast.BinOp(left=left, op=op, right=right):
            return _number(
                _OPERATORS[type(op)](_value(left, values, missing), _value(right, values, missing))
            )
        case ast.UnaryOp(op=op, operand=operand):
            return _OPERATORS[type(op)](_value(operand, values, missing))
        case ast.Compare():
            ends = [_value(each, values, missing) for each in (node.left, *node.comparators)]
            return all(
                _OPERATORS[type(op)](low, high)
                for op, low, high in zip(node.ops, ends[:-1], ends[1:], strict=True)
            )
        case ast.Call(func=ast.Name(id=function), args=arguments):
            return _called(function, arguments, values, missing)
    raise ValueError(f"{ast.unparse(node)} is no formula.")


def _called(
    function: str, arguments: list[ast.expr], values: Mapping[str, float], missing: dict[str, None]
) -> Any:
    """Evaluate a function's call."""
    if function == "known":
        lacking: dict[str, None] = {}
        _value(arguments[0], values, lacking)
        return not lacking
    if function == "where":
        before = len(missing)
        condition = _value(arguments[0], values, missing)
        if len(missing) > before:
            return math.nan
        return _value(arguments[1] if condition else arguments[2], values, missing)
    if function == "either":
        lacking = {}
        for each in arguments:
            own: dict[str, None] = {}
            value = _value(each, values, own)
            if not own:
                return value
            lacking |= own
        missing |= lacking
        return math.nan
    before = len(missing)
    found = [_value(each, values, missing) for each in arguments]
    if len(missing) > before:
        return math.nan
    try:
        return _PLAIN[function](*found)
    except KeyError:
        raise ValueError(f"{function} is not a function of the formulas.") from None
    except ValueError:
        raise _DomainError from None


def _number(value: Any) -> Any:
    """Refuse the complex number that a root of a negative one would be."""
    if isinstance(value, complex):
        raise _DomainError
    return value
