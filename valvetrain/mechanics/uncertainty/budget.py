"""Uncertainty budget: which input contributes how much, and the expanded uncertainty that follows.

JCGM 100:2008 (GUM): contributions and combined variance 5.1.2 equation (10); second-order terms, the
note to 5.1.2; effective degrees of freedom, Welch-Satterthwaite, G.4.1 equation (G.2b); coverage factor
from Student's t, G.3.4, degrees of freedom cut to the whole number below, G.4.1 note 1 (from memory).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.uncertainty.propagation import Propagated, Quantities

__all__ = ["Budget", "budgets", "coverage_factor", "effective_degrees_of_freedom", "second_order_variance"]


@dataclass(frozen=True)
class Budget:
    """Where the uncertainty of one quantity comes from.

    Attributes:
        value, uncertainty: shape [n].
        inputs: names, the largest mean share first.
        contribution: input -> signed contribution, in the quantity's unit, shape [n].
        share: input -> share of the variance, 0 to 1, shape [n]; NaN where there is no uncertainty.
        second_order: standard uncertainty from the second-order terms alone (NaN where these would lower
            the variance), shape [n]; zero where not asked for.
        degrees_of_freedom: effective, shape [n]; infinite where every input's are.
        coverage_factor, expanded: shape [n].
    """

    value: FloatArray
    uncertainty: FloatArray
    inputs: tuple[str, ...]
    contribution: Mapping[str, FloatArray]
    share: Mapping[str, FloatArray]
    second_order: FloatArray
    degrees_of_freedom: FloatArray
    coverage_factor: FloatArray
    expanded: FloatArray


def budgets(
    result: Propagated,
    *,
    degrees_of_freedom: Mapping[str, float] | None = None,
    probability: float = 0.95,
    second_order: Quantities | None = None,
) -> dict[str, Budget]:
    """Budgets of all outputs of `propagated`.

    Args:
        result: what `propagated` returned.
        degrees_of_freedom: input -> degrees of freedom behind its uncertainty, > 0; infinite where left out.
        probability: of the expanded uncertainty.
        second_order: output -> variance to add, shape [n], from `second_order_variance`.
    """
    freedom = {} if degrees_of_freedom is None else degrees_of_freedom
    found: dict[str, Budget] = {}
    for name, parts in result.contributions.items():
        first = result.uncertainty[name]
        extra = np.zeros(first.shape) if second_order is None else np.asarray(second_order[name], float)
        variance = np.maximum(first**2 + extra, 0.0)
        uncertainty = np.sqrt(variance)
        effective = effective_degrees_of_freedom(parts, freedom, uncertainty)
        factor = coverage_factor(effective, probability)
        share = {item: _share(part, variance) for item, part in parts.items()}
        order = sorted(parts, key=lambda item: -float(np.sum(np.nan_to_num(share[item]))))
        found[name] = Budget(
            value=result.value[name],
            uncertainty=uncertainty,
            inputs=tuple(order),
            contribution={item: parts[item] for item in order},
            share={item: share[item] for item in order},
            second_order=np.sqrt(np.where(extra >= 0.0, extra, np.nan)),
            degrees_of_freedom=effective,
            coverage_factor=factor,
            expanded=factor * uncertainty,
        )
    return found


def _share(part: FloatArray, variance: FloatArray) -> FloatArray:
    """part^2/variance; an infinite part takes all, and without variance there is nothing to share."""
    usable = np.isfinite(part) & np.isfinite(variance) & (variance > 0.0)
    ratio = np.divide(
        np.where(usable, part, 0.0) ** 2,
        np.where(usable, variance, 1.0),
        where=usable,
        out=np.zeros(part.shape),
    )
    ratio = np.where(np.isinf(part), 1.0, ratio)
    return np.where((variance == 0.0) | np.isnan(variance), np.nan, ratio)


def effective_degrees_of_freedom(
    contributions: Quantities, degrees_of_freedom: Mapping[str, float], uncertainty: FloatArray
) -> FloatArray:
    """Welch-Satterthwaite: u^4 / sum(u_i^4/nu_i), shape of `uncertainty`; infinite where nothing limits it.

    Raises:
        ValueError: degrees of freedom not above 0.
    """
    total = np.zeros(np.shape(uncertainty))
    scale = np.where(np.isfinite(uncertainty) & (uncertainty > 0.0), uncertainty, np.inf)
    for name, part in contributions.items():
        number = degrees_of_freedom.get(name, np.inf)
        if not number > 0.0:
            raise ValueError(f"degrees of freedom of {name} are {number:g}; they must be above 0")
        total = total + (np.where(np.isfinite(part), part, 0.0) / scale) ** 4 / number
    return np.where(total > 0.0, 1.0 / np.where(total > 0.0, total, 1.0), np.inf)


def coverage_factor(degrees_of_freedom: FloatArray, probability: float = 0.95) -> FloatArray:
    """Student's t for the interval that holds `probability`, cut to whole degrees of freedom."""
    if not 0.0 < probability < 1.0:
        raise ValueError(f"coverage probability is {probability:g}; allowed: between 0 and 1")
    from scipy.special import ndtri, stdtrit

    freedom = np.asarray(degrees_of_freedom, float)
    finite = np.isfinite(freedom)
    level = 0.5 + 0.5 * probability
    student = stdtrit(np.maximum(np.floor(np.where(finite, freedom, 1.0)), 1.0), level)
    return np.asarray(np.where(finite, student, ndtri(level)))


def second_order_variance(
    function: Callable[[Quantities], Quantities], values: Quantities, uncertainties: Quantities
) -> dict[str, FloatArray]:
    """Variance that the second-order terms add: sum over i, j of [f_ij^2/2 + f_i f_ijj] u_i^2 u_j^2.

    Arguments as for `propagated`; derivatives by moves of one and two standard uncertainties, all in one
    call. Valid for normal, uncorrelated inputs. NaN where a move has no solution. Can be negative.
    """
    base = {name: np.atleast_1d(np.asarray(array, float)) for name, array in values.items()}
    size = np.broadcast_shapes(*(array.shape for array in base.values()))
    steps = {
        name: np.broadcast_to(np.nan_to_num(np.asarray(uncertainties[name], float)), size)
        for name in base
        if name in uncertainties and np.any(np.nan_to_num(np.asarray(uncertainties[name], float)) > 0.0)
    }
    names = list(steps)
    # Moves by multiples of the standard uncertainties, each a vector of small whole numbers.
    place: dict[tuple[int, ...], int] = {}

    def row(*moves: tuple[int, int]) -> int:
        move = [0] * len(names)
        for index, amount in moves:
            move[index] += amount
        return place.setdefault(tuple(move), len(place))

    row()
    for i in range(len(names)):
        for amount in (-2, -1, 1, 2):
            row((i, amount))
        for j in range(i):
            for one in (-1, 1):
                for other in (-1, 1):
                    row((i, one), (j, other))
    multiples = np.array(list(place), float).reshape(len(place), len(names))
    rows = {name: np.tile(np.broadcast_to(array, size), (len(place), 1)) for name, array in base.items()}
    for index, name in enumerate(names):
        rows[name] += multiples[:, index, None] * steps[name]
    added: dict[str, FloatArray] = {}
    for output, table in function(rows).items():
        total = np.zeros(size)
        middle = table[0]
        for i in range(len(names)):
            up, down = table[row((i, 1))], table[row((i, -1))]
            first = 0.5 * (up - down)
            third = 0.5 * (table[row((i, 2))] - 2.0 * up + 2.0 * down - table[row((i, -2))])
            total = total + 0.5 * (up - 2.0 * middle + down) ** 2 + first * third
            for j in range(len(names)):
                if j == i:
                    continue
                corner = {(a, b): table[row((i, a), (j, b))] for a in (-1, 1) for b in (-1, 1)}
                mixed = 0.25 * (corner[1, 1] - corner[1, -1] - corner[-1, 1] + corner[-1, -1])
                bend_up = corner[1, 1] - 2.0 * up + corner[1, -1]
                bend_down = corner[-1, 1] - 2.0 * down + corner[-1, -1]
                total = total + 0.5 * mixed**2 + first * 0.5 * (bend_up - bend_down)
        added[output] = total
    return added
