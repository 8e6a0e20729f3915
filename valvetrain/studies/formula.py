"""Formulas written as text: evaluated step by step from what is known, strict about what is missing."""

import ast
import functools
import math
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

__all__ = ["FUNCTIONS", "evaluated", "substituted"]

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
    """Put the numbers in, as `written` has them; negative ones in brackets."""

    def number(match: re.Match[str]) -> str:
        name = match[0]
        if name in FUNCTIONS or name not in written:
            return name
        return f"({written[name]})" if written[name].startswith("-") else written[name]

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
