"""Draws of a Monte Carlo that no part can have: a radius below zero is left out, not computed with."""

import dataclasses
from collections.abc import Callable, Mapping
from functools import cache

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.spec import Spec
from valvetrain.parts.valve import Station
from valvetrain.setup.schema import SECTIONS

__all__ = ["possible_only"]

Rows = Mapping[str, FloatArray]

# Farther from zero than this many standard uncertainties no draw gets there (once in 10^11 for a normal one).
_NEVER = 7.0


def possible_only(
    function: Callable[[Rows], Rows], values: Rows, uncertainties: Rows
) -> Callable[[Rows], Rows]:
    """Return `function` with NaN, a failed draw, wherever a drawn size is one that no part can have.

    Args:
        function: mapping of [k, n] arrays in and out, n valves.
        values, uncertainties: sheet key -> [n], as they are drawn about. A key that the sheet takes above
            zero only cannot be drawn at or below it; one it takes from zero on, if it is more than zero,
            not below it. Other keys, and names that are no keys, are left alone.
    """
    near: dict[str, bool] = {}
    for key, low in _lowest().items():
        if key in values and key in uncertainties:
            value, doubt = np.asarray(values[key], float), np.nan_to_num(uncertainties[key])
            if np.any((doubt > 0) & (value > 0) & (value < _NEVER * doubt)):
                near[key] = low > 0.0
    if not near:
        return function

    def only(rows: Rows) -> Rows:
        own = dict(rows)
        impossible = np.zeros((1, 1), dtype=bool)
        for key, zero_too in near.items():
            drawn = own[key]
            wrong = (values[key] > 0) & ((drawn <= 0) if zero_too else (drawn < 0))
            # Any size that can be: what is computed with it is left out below.
            own[key] = np.where(wrong, values[key], drawn)
            impossible = impossible | wrong
        found = {}
        for name, output in function(own).items():
            # Outputs that are fewer than the valves (one a cylinder) rest on any of them.
            fits = np.shape(output)[-1] == impossible.shape[-1]
            out = impossible if fits else impossible.any(axis=-1, keepdims=True)
            found[name] = np.where(out, np.nan, output)
        return found

    return only


@cache
def _lowest() -> dict[str, float]:
    """Key -> least value that the sheet takes, where that is zero or more."""
    lows = {}
    for section, part in {**SECTIONS, "station": Station}.items():
        if not dataclasses.is_dataclass(part):
            continue
        for field in dataclasses.fields(part):
            spec = field.metadata.get("spec")
            if isinstance(spec, Spec) and spec.dimension is not None and spec.low >= 0.0:
                lows[f"{section}.{field.name}"] = spec.low
    return lows
