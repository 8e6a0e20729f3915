"""First-order propagation of standard uncertainties through any vectorised function, and where it ends.

Each input is moved up and down by its own standard uncertainty while the others stay, which is the
numerical form of the law of propagation: JCGM 100:2008 (GUM), 5.1.2 equation (10) with the sensitivity
of 5.1.3 note 2 (published). A few more moves of all inputs at once tell where the straight line that this
lays through the function does not hold: at a least or greatest value, where the moves up and down cancel, and
beyond a kink. All moves of all valves are one call of the function.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.uncertainty.even_draws import even_normals
from valvetrain.mechanics.uncertainty.possible_rows import where_possible

__all__ = ["Joint", "Propagated", "propagated"]

# In SI units nothing about an engine comes near this.
_BOUNDLESS = 1e100

Quantities = Mapping[str, FloatArray]

# Moves of all inputs at once; stretched so that the outermost of each input is 2.2 standard uncertainties,
# a little beyond the ends of a 95 % interval.
_PROBES, _STRETCH = 16, 1.2

# Differences this small a share of the values themselves are rounding.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Joint:
    """Inputs whose errors hang together.

    Attributes:
        names: the inputs.
        root: R, with R R^T their correlation: R times independent draws has it.
    """

    names: tuple[str, ...]
    root: FloatArray

    def mixed(self, draws: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Return independent draws with those of the joint inputs mixed; those left out are zero."""
        mixed = dict(draws)
        for name, weights in zip(self.names, self.root, strict=True):
            mixed[name] = sum(
                weight * draws[other]
                for weight, other in zip(weights, self.names, strict=True)
                if other in draws
            )
        return mixed


@dataclass(frozen=True)
class Propagated:
    """Outputs of a function with their standard uncertainties and where these come from.

    Attributes:
        value: output name -> values, shape [n].
        uncertainty: output name -> standard uncertainty, shape [n]; NaN where the value is NaN.
        contributions: output name -> input name -> signed contribution of that input to the output
            (the output's change when the input rises by one standard uncertainty), shape [n].
        either_way: output name -> input name -> root mean square of the changes upward and downward, shape
            [n]: the size of the contribution where the function is straight, and not zero at a least.
        departure: output name -> the farthest that a move of all inputs at once ends from the straight
            line, shape [n]; infinite where such a move has no solution, 0 where it is rounding.
    """

    value: Mapping[str, FloatArray]
    uncertainty: Mapping[str, FloatArray]
    contributions: Mapping[str, Mapping[str, FloatArray]]
    either_way: Mapping[str, Mapping[str, FloatArray]] = field(default_factory=dict)
    departure: Mapping[str, FloatArray] = field(default_factory=dict)


def propagated(
    function: Callable[[Quantities], Quantities],
    values: Quantities,
    uncertainties: Quantities,
    joint: Joint | None = None,
) -> Propagated:
    """Evaluate `function` with the standard uncertainties of its inputs carried to its outputs.

    Args:
        function: takes a mapping of input arrays of shape [k, n] and returns output arrays of shape
            [k, n]; the rows are independent evaluations, the columns valves. A moved row for which it raises
            ValueError has no solution.
        values: input name -> values, shape [n], any unit; NaN where unknown.
        uncertainties: input name -> standard uncertainty, shape [n], same unit, >= 0. An input left out,
            or with 0 or NaN, is taken as exact.
        joint: inputs that move together in the moves of all inputs at once.

    Returns:
        the outputs at `values`; the uncertainties are those of uncorrelated inputs. Where a moved input has
        no solution (NaN on one side), the one-sided difference is used; where both fail the uncertainty is
        infinite.
    """
    names = list(values)
    base = {name: np.atleast_1d(np.asarray(values[name], float)) for name in names}
    size = np.broadcast_shapes(*(array.shape for array in base.values()))
    steps = {
        name: np.broadcast_to(np.nan_to_num(np.asarray(uncertainties[name], float)), size)
        for name in names
        if name in uncertainties
    }
    moved = [name for name in names if name in steps and np.any(steps[name] > 0)]
    single = 1 + 2 * len(moved)
    probes = _probes(moved, size, joint) if moved else {}
    rows = {
        name: np.tile(np.broadcast_to(array, size), (single + (_PROBES if moved else 0),) + (1,) * len(size))
        for name, array in base.items()
    }
    for row, name in enumerate(moved):
        rows[name][1 + 2 * row] += steps[name]
        rows[name][2 + 2 * row] -= steps[name]
        rows[name][single:] += steps[name] * probes[name]
    try:
        outputs = function(rows)
    except ValueError:
        function({name: table[:1] for name, table in rows.items()})  # what is wrong at the values themselves
        outputs = where_possible(function)(rows)
    value: dict[str, FloatArray] = {}
    uncertainty: dict[str, FloatArray] = {}
    contributions: dict[str, Mapping[str, FloatArray]] = {}
    either_way: dict[str, Mapping[str, FloatArray]] = {}
    departure: dict[str, FloatArray] = {}
    for output, table in outputs.items():
        center = table[0]
        value[output] = center
        # Every moved input at once, shape [moved, n].
        up, down = table[1:single:2], table[2:single:2]
        parts = _half_difference(center, up, down)
        contributions[output] = dict(zip(moved, parts, strict=True))
        either_way[output] = dict(zip(moved, _either_way(center, up, down), strict=True))
        total = np.hypot.reduce(parts, axis=0)
        uncertainty[output] = np.where(np.isnan(center), np.nan, total)
        departure[output] = _departure(table, parts, moved, probes, single)
    return Propagated(value, uncertainty, contributions, either_way, departure)


def _probes(moved: Sequence[str], size: tuple[int, ...], joint: Joint | None) -> dict[str, FloatArray]:
    """Moves of all inputs at once, in standard uncertainties: input -> shape [probes, 1]."""
    table = _STRETCH * even_normals(_PROBES, len(moved))
    probes = {name: table[:, place].reshape(-1, *(1,) * len(size)) for place, name in enumerate(moved)}
    if joint is None:
        return probes
    return {name: value for name, value in joint.mixed(probes).items() if name in probes}


def _departure(
    table: FloatArray,
    parts: FloatArray,
    moved: Sequence[str],
    probes: Mapping[str, FloatArray],
    single: int,
) -> FloatArray:
    """Farthest of the moves of all inputs from the straight line, [n]; see `Propagated`."""
    center = table[0]
    if not moved:
        return np.zeros(center.shape)
    own = table[single:]
    line = np.zeros(own.shape)
    with np.errstate(invalid="ignore"):
        for name, part in zip(moved, parts, strict=True):
            line = line + probes[name] * part
        off = np.abs(own - center - line)
        farthest = np.where(np.isnan(off), np.inf, off).max(axis=0)
        rounding = _ROUNDING * np.max(np.where(np.isfinite(own), np.abs(own), 0.0), axis=0)
        steady = np.isinf(center) & np.all(own == center, axis=0)
    told = np.isfinite(center) & (farthest > np.maximum(rounding, 1e-15))
    return np.where(told & ~steady, farthest, 0.0)


def _either_way(center: FloatArray, up: FloatArray, down: FloatArray) -> FloatArray:
    """Root mean square of the changes upward and downward; of the one that is known where one is NaN."""
    with np.errstate(invalid="ignore"):
        rise, fall = up - center, down - center
    rise, fall = np.where(np.isnan(rise), fall, rise), np.where(np.isnan(fall), rise, fall)
    return np.asarray(np.sqrt(0.5 * (rise**2 + fall**2)))


def _half_difference(center: FloatArray, up: FloatArray, down: FloatArray) -> FloatArray:
    """Half of up - down; one-sided where one is NaN, infinite where both are and the center is not.

    An output that stays at the same infinity (a spring that never buckles) has not moved: 0.
    """
    with np.errstate(invalid="ignore"):  # infinity less infinity
        difference = np.where(
            np.isnan(up), center - down, np.where(np.isnan(down), up - center, 0.5 * (up - down))
        )
    steady = np.isinf(center) & (np.isnan(up) | (up == center)) & (np.isnan(down) | (down == center))
    difference = np.where(steady & ~(np.isnan(up) & np.isnan(down)), 0.0, difference)
    # Beyond all bounds there is no size left to tell, and its square could not be written.
    boundless = np.isnan(difference) | (np.abs(difference) > _BOUNDLESS)
    return np.where(boundless & ~np.isnan(center), np.inf, difference)
