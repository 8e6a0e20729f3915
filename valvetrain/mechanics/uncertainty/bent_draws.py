"""Uncertainty and interval from a few even draws, where the straight line of first order does not hold.

The rule is JCGM 101:2008, clause 8 (published; from memory): first order stands where the ends of its
interval agree with those of draws within the numerical tolerance of the digits stated.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.uncertainty.distributions import NORMAL, Distribution
from valvetrain.mechanics.uncertainty.even_draws import LATTICES, even_normals, even_places
from valvetrain.mechanics.uncertainty.propagation import Joint, Propagated, Quantities

__all__ = ["AGREES", "BENDS", "Drawn", "drawn_doubts", "first_order_agrees"]

AGREES = 0.1
"""How far the ends may lie apart, as a share of the standard uncertainty: uncertainties are written to one
digit, and half of a first digit is between a twentieth and half of the whole. Of draws that agree so no more
than 3.2 % lie beyond either end of the 95 % interval."""

BENDS = 0.3
"""A move of all inputs that ends farther from the straight line than this share of the uncertainty calls for
draws: of 10 000 quantities of random sheets those within it had ends within a quarter of the uncertainty."""

_FACTOR = 1.959964
_EVALUATIONS = 8192  # draws of one valve; half as many in all of several: what keeps a check quick
_PIECE = 128  # draws at once: many times faster than all, where a function works over angles


@dataclass(frozen=True)
class Drawn:
    """One output from draws.

    Attributes:
        uncertainty: root mean square of the draws about the value, shape [n].
        low, high: ends of the probabilistically symmetric 95 % interval, shape [n]; moved out to hold the
            value where this is itself the least or greatest that there is.
        failed: share of draws without a solution, shape [n]; the others are left out.
    """

    uncertainty: FloatArray
    low: FloatArray
    high: FloatArray
    failed: FloatArray


def drawn_doubts(
    function: Callable[[Quantities], Quantities],
    values: Quantities,
    uncertainties: Quantities,
    first: Propagated,
    outputs: Collection[str],
    joint: Joint | None = None,
    distributions: Mapping[str, Distribution] | None = None,
) -> dict[str, Drawn]:
    """Draw the inputs and summarize some outputs of `function`.

    Args:
        function, values, uncertainties, joint: as for `propagated`.
        first: what `propagated` found: the draws are spread most evenly along the directions in which its
            outputs move.
        outputs: those wanted.
        distributions: input -> shape; normal where left out.
    """
    base = {name: np.atleast_1d(np.asarray(array, float)) for name, array in values.items()}
    columns = int(np.prod(np.broadcast_shapes(*(array.shape for array in base.values()))))
    moved = list(next(iter(first.contributions.values()), {}))
    width = max(columns, *(value.size for value in first.value.values()))
    wanted = _EVALUATIONS // (2 * width - 1)
    count = max([each for each in LATTICES if each <= wanted], default=min(LATTICES))
    shapes = distributions or {}
    if any(shapes.get(name, NORMAL).kind != "normal" for name in moved):
        places = even_places(count, len(moved))
        middles = (np.arange(count) + 0.5) / count
        draws = {
            name: shapes.get(name, NORMAL).quantiles(middles)[places[:, [row]]]
            for row, name in enumerate(moved)
        }
    else:
        even = even_normals(count, len(moved))
        turned = np.einsum("ki,jia->kja", even, _directions(first, moved, columns, joint), optimize=True)
        draws = {name: turned[..., row] for row, name in enumerate(moved)}
    if joint is not None:
        draws = {name: each for name, each in joint.mixed(draws).items() if name in draws}
    rows = {}
    for name, array in base.items():
        if name in draws:
            rows[name] = array + np.nan_to_num(np.asarray(uncertainties[name], float)) * draws[name]
        else:
            rows[name] = np.broadcast_to(array, (count, columns))
    tables: dict[str, list[FloatArray]] = {name: [] for name in outputs}
    for start in range(0, count, _PIECE):
        found = function({name: array[start : start + _PIECE] for name, array in rows.items()})
        for name, table in tables.items():
            table.append(np.asarray(found[name], float))
    return {name: _summary(np.concatenate(table), first.value[name]) for name, table in tables.items()}


def first_order_agrees(
    value: FloatArray, uncertainty: FloatArray, drawn: Drawn, share: float = AGREES
) -> BoolArray:
    """Whether both ends of the first-order interval lie within `share` of the uncertainty of the draws'."""
    with np.errstate(invalid="ignore"):
        off = np.maximum(
            np.abs(value - _FACTOR * uncertainty - drawn.low),
            np.abs(value + _FACTOR * uncertainty - drawn.high),
        )
        return np.asarray(off <= share * drawn.uncertainty)


def _directions(first: Propagated, moved: list[str], columns: int, joint: Joint | None) -> FloatArray:
    """Orthonormal directions, [n, directions, inputs], those first in which the straight outputs move most.

    A few even draws are the more even the fewer directions an output depends on, and what bends mostly does
    so along what other outputs measure: a sweep along the height. Slopes of what bends itself say little.
    """
    slopes = []
    for output, parts in first.contributions.items():
        table = np.array([parts[name] for name in moved])  # [inputs, n]
        if table.shape[-1] == columns:
            straight = first.departure[output] <= BENDS * first.uncertainty[output]
            slopes.append(np.where(np.isfinite(table) & straight, table, 0.0).T)
    if not slopes:
        return np.broadcast_to(np.eye(len(moved)), (columns, len(moved), len(moved)))
    tables = np.stack(slopes, axis=1)  # [n, outputs, inputs]
    if joint is not None:
        own = [(row, joint.names.index(name)) for row, name in enumerate(moved) if name in joint.names]
        rows, places = [each for each, _ in own], [each for _, each in own]
        tables[..., rows] = tables[..., rows] @ joint.root[np.ix_(places, places)]
    length = np.sqrt((tables**2).sum(axis=-1, keepdims=True))
    tables = np.divide(tables, length, out=np.zeros_like(tables), where=length > 0.0)
    # Rounded, and what moves nothing kept in its order, so that rounding does not turn the directions.
    weights = np.diag(np.linspace(1e-3, 0.0, len(moved)))
    tables = np.round(tables, 6)
    return np.asarray(
        np.linalg.eigh(np.swapaxes(tables, -1, -2) @ tables + weights)[1][..., ::-1].swapaxes(-1, -2)
    )


def _summary(table: FloatArray, value: FloatArray) -> Drawn:
    """Summarize draws [k, n] about the value [n]."""
    known = ~np.isnan(table)
    ordered = np.sort(table, axis=0)  # NaN last
    count = known.sum(axis=0)
    # A little over one draw fewer beyond each end than a share of 2.5 %: what few draws know of it.
    tail = 0.025 - 1.28 / len(table)
    with np.errstate(invalid="ignore"):
        finite = np.isfinite(table)
        square = np.where(finite, table - value, 0.0) ** 2
        spread = np.sqrt(square.sum(axis=0) / np.maximum(finite.sum(axis=0), 1))
        low, high = (_quantile(ordered, count, level) for level in (tail, 1.0 - tail))
        return Drawn(spread, np.minimum(low, value), np.maximum(high, value), 1.0 - count / len(table))


def _quantile(ordered: FloatArray, count: np.ndarray, level: float) -> FloatArray:
    """Quantile of the first `count` of sorted draws, each the middle of its share (Hazen), per column."""
    place = np.clip(level * count - 0.5, 0.0, np.maximum(count - 1, 0))
    below = np.floor(place).astype(np.intp)
    above = np.minimum(below + 1, np.maximum(count - 1, 0))
    column = np.arange(ordered.shape[-1])
    one, other = ordered[below, column], ordered[above, column]
    part = place - below
    return np.asarray(np.where((part == 0.0) | (one == other), one, one + part * (other - one)))
