"""A computed quantity at every valve, with its standard uncertainty and where that comes from."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.possible_draws import possible_only
from valvetrain.answers.simulation import Simulation, correlated_root, drawn_outputs, simulation, straight
from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.uncertainty.bent_draws import BENDS, Drawn, drawn_doubts, first_order_agrees
from valvetrain.mechanics.uncertainty.possible_rows import where_possible
from valvetrain.mechanics.uncertainty.propagation import Joint, Propagated, propagated
from valvetrain.parts.correlation import Correlation
from valvetrain.setup.setup import Column

__all__ = ["Quantity", "computed", "correlated_parts", "together"]

# Draws of quantities that take long, where a study has a short way for those that matter: 1 % of a spread.
_FULL_DRAWS = 5_000


@dataclass(frozen=True)
class Quantity:
    """One quantity at every valve.

    Attributes:
        dimension: its dimension, as in `valvetrain.setup.units`.
        value: values [SI], shape [n]; NaN where a measurement that it needs is missing.
        uncertainty: standard uncertainties [SI], shape [n]; NaN where the value is.
        contributions: sheet key -> signed contribution of that key's uncertainty [SI], shape [n].
        low, high: ends of the 95 % interval of draws [SI], shape [n]; None, or NaN at a valve, where first
            order holds: value -+ 1.96 uncertainties.
        correlation: how keys of `contributions` hang together; None where they are independent.
    """

    dimension: str
    value: FloatArray
    uncertainty: FloatArray
    contributions: Mapping[str, FloatArray]
    low: FloatArray | None = None
    high: FloatArray | None = None
    correlation: Correlation | None = None

    def ends(self, index: int) -> tuple[float, float] | None:
        """Return the ends of the draws' 95 % interval at a valve; None where first order holds."""
        if self.low is None or self.high is None:
            return None
        low, high = float(self.low[index]), float(self.high[index])
        return None if np.isnan(low) or np.isnan(high) else (low, high)


def computed(
    function: Callable[[Mapping[str, FloatArray]], Mapping[str, FloatArray]],
    inputs: Mapping[str, Column],
    dimensions: Mapping[str, str],
    core: Callable[[Mapping[str, FloatArray]], Mapping[str, FloatArray]] | None = None,
    apart: Collection[str] = (),
) -> dict[str, Quantity]:
    """Evaluate `function` at every valve and carry the sheet's uncertainties through it.

    To first order, with the correlations of inferred values, as far as that holds; where moves of all inputs
    at once leave the straight line, from a few even draws if their interval differs (JCGM 101:2008, clause
    8): the uncertainty is then their root mean square about the value, the interval theirs. Inside
    `simulation.simulating` all from draws. The value is the function's at the sheet's values either way.

    Args:
        function: takes sheet key -> array [k, n], returns quantity -> array [k, n], rows independent.
        inputs: sheet key -> measured column.
        dimensions: quantity -> its dimension; the quantities returned are these.
        core: some of the function's quantities by a shorter way. With it a simulation takes all its draws for
            these, and at most `_FULL_DRAWS` for the rest; the few draws are of these alone where they
            suffice.
        apart: quantities taken over several valves, whose uncertainty the caller adds up (`summed`).
    """
    values = {key: column.value for key, column in inputs.items()}
    spreads = {key: column.uncertainty for key, column in inputs.items()}
    shapes = {key: column.distribution for key, column in inputs.items()}
    known = [column.correlation for column in inputs.values() if column.correlation is not None]
    correlation = known[0] if known else None
    joint = _joint(correlation, values)
    possible = possible_only(function, values, spreads)
    with np.errstate(invalid="ignore", over="ignore"):  # infinite doubt
        result = propagated(possible, values, spreads, joint)
    found = {}
    for name, dimension in dimensions.items():
        parts = result.contributions[name]
        uncertainty = result.uncertainty[name]
        if correlation is not None:
            uncertainty = together(uncertainty, parts, correlation)
        found[name] = Quantity(dimension, result.value[name], uncertainty, parts, correlation=correlation)
    how = simulation()
    if how is None and straight():
        return found
    if how is None:
        # The straight line says nothing of errors that are not normal: their sum's interval is its own.
        normal = all(shapes[key].kind == "normal" for key in shapes)
        off = {name: _bent(result, found[name], name) | (not normal) for name in found}
        bent = {name for name in found.keys() - set(apart) if np.any(off[name])}
        if not bent:
            return found
        one = {key: np.atleast_1d(value)[np.newaxis] for key, value in values.items()}
        with np.errstate(invalid="ignore", over="ignore"):
            short = core is not None and bent <= core(one).keys()
            wanted = possible_only(core, values, spreads) if core is not None and short else possible
            draws = drawn_doubts(where_possible(wanted), values, spreads, result, bent, joint, shapes)
        return found | {
            name: _from_draws(found[name], draws[name], off[name], result.either_way[name]) for name in bent
        }
    if core is None or how.samples <= _FULL_DRAWS:
        return _simulated(function, values, spreads, correlation, how, found)
    few = replace(how, samples=_FULL_DRAWS)
    rest = _simulated(function, values, spreads, correlation, few, found)
    names = core({key: value[np.newaxis] for key, value in values.items()}).keys() & found.keys()
    return rest | _simulated(
        core, values, spreads, correlation, how, {name: found[name] for name in found if name in names}
    )


def _joint(correlation: Correlation | None, values: Mapping[str, FloatArray]) -> Joint | None:
    keys = [key for key in correlation.keys if key in values] if correlation is not None else []
    if correlation is None or not keys:
        return None
    return Joint(tuple(keys), correlated_root(correlation, keys))


def _bent(result: Propagated, first: Quantity, name: str) -> BoolArray:
    """Where a quantity leaves the straight line by more than first order may be trusted with, [n]."""
    off = result.departure[name]
    with np.errstate(invalid="ignore"):
        return np.asarray((off > 0.0) & ~(off <= BENDS * first.uncertainty))


def _from_draws(
    first: Quantity, drawn: Drawn, bent: BoolArray, either_way: Mapping[str, FloatArray]
) -> Quantity:
    """The quantity from draws where it bends and these say otherwise than first order.

    Its contributions are then what each input does by itself, moved up and down, scaled so that they add up
    to the uncertainty: at a least value those of first order are nothing.
    """
    agrees = first_order_agrees(first.value, first.uncertainty, drawn)
    bent = np.asarray(bent & ~agrees)
    if not np.any(bent):
        return first
    # Where most draws cannot be assembled nothing can be said.
    lost = bent & (drawn.failed > 0.5)
    told = bent & ~lost
    uncertainty = np.where(lost, np.inf, np.where(told, drawn.uncertainty, first.uncertainty))
    alone = {
        key: np.where(bent, np.copysign(size, first.contributions[key]), first.contributions[key])
        for key, size in either_way.items()
    }
    total = np.hypot.reduce(list(alone.values()), axis=0)
    if first.correlation is not None:
        total = together(total, alone, first.correlation)
    with np.errstate(invalid="ignore", divide="ignore"):
        scale = np.where(told & (total > 0.0), uncertainty / total, 1.0)
    return replace(
        first,
        uncertainty=uncertainty,
        contributions={key: scale * part for key, part in alone.items()},
        low=np.where(told, drawn.low, np.nan),
        high=np.where(told, drawn.high, np.nan),
    )


def correlated_parts(quantity: Quantity) -> dict[str, FloatArray]:
    """How far the quantity moves with each key when what is correlated with that key moves along [SI].

    Key -> sum over the keys of correlation times contribution; the contribution itself where nothing is
    correlated. Times the contribution it is the key's share of the variance, which may be negative.
    """
    parts = dict(quantity.contributions)
    correlation = quantity.correlation
    if correlation is None:
        return parts
    keys = [key for key in correlation.keys if key in parts]
    index = [correlation.keys.index(key) for key in keys]
    for key in keys:
        row = correlation.rows[correlation.keys.index(key)]
        with np.errstate(invalid="ignore"):
            terms = (
                row[place] * quantity.contributions[other] for place, other in zip(index, keys, strict=True)
            )
            parts[key] = np.asarray(sum(terms), float)
    return parts


def together(
    uncertainty: FloatArray, parts: Mapping[str, FloatArray], correlation: Correlation
) -> FloatArray:
    """Uncertainty with the products of correlated contributions (GUM 5.2.2 equation (13))."""
    keys = [key for key in correlation.keys if key in parts]
    variance = uncertainty**2
    for row, key in enumerate(keys):
        for other in keys[:row]:
            factor = correlation.rows[correlation.keys.index(key)][correlation.keys.index(other)]
            with np.errstate(invalid="ignore"):
                product = 2.0 * factor * parts[key] * parts[other]
            variance = variance + np.where(np.isfinite(product), product, 0.0)
    return np.where(np.isinf(uncertainty), uncertainty, np.sqrt(np.maximum(variance, 0.0)))


def _simulated(
    function: Callable[[Mapping[str, FloatArray]], Mapping[str, FloatArray]],
    values: Mapping[str, FloatArray],
    spreads: Mapping[str, FloatArray],
    correlation: Correlation | None,
    how: Simulation,
    first_order: Mapping[str, Quantity],
) -> dict[str, Quantity]:
    """The same quantities with the uncertainty and interval of draws."""

    columns = max(np.shape(value)[-1] for value in values.values())
    possible = where_possible(possible_only(function, values, spreads))

    def wanted(rows: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        table = possible(rows)
        return {name: _widened(table[name], columns) for name in first_order}

    with np.errstate(invalid="ignore"):
        draws = drawn_outputs(wanted, values, spreads, correlation, how)
    found = {}
    for name, one in first_order.items():
        width = one.value.size
        if width > columns:
            found[name] = one
            continue
        mean, deviation = draws.mean[name][:width], draws.uncertainty[name][:width]
        away = mean - one.value
        drawn = np.isfinite(one.value) & np.isfinite(away) & np.isfinite(deviation)
        # Where most draws cannot be assembled nothing can be said.
        lost = drawn & (draws.failed[name][:width] > 0.5)
        spread = np.hypot(deviation, away)
        found[name] = Quantity(
            one.dimension,
            one.value,
            np.where(lost, np.inf, np.where(drawn, spread, one.uncertainty)),
            one.contributions,
            np.where(drawn & ~lost, draws.low[name][:width], np.nan),
            np.where(drawn & ~lost, draws.high[name][:width], np.nan),
            correlation,
        )
    return found


def _widened(table: FloatArray, columns: int) -> FloatArray:
    """A table of draws filled up to `columns`, for quantities that are fewer than the valves."""
    short = columns - table.shape[-1]
    if short <= 0:
        return table[..., :columns]
    return np.concatenate([table, np.full((*table.shape[:-1], short), np.nan)], axis=-1)
