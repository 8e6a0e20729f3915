"""Sweep and lift of every valve against the stand shim, with the shims in stock marked."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.rocker.pad_effect import effect
from valvetrain.questions.rocker.stand_plan import shim_choices
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup

__all__ = ["ShimCurve", "shim_curve"]

_SAMPLES = 81

# Range shown where neither stock nor need says more: 1 mm either way [m].
_LEAST_RANGE = 1e-3


@dataclass(frozen=True)
class ShimCurve:
    """What every valve gains by each shim; NaN where unknown.

    Attributes:
        change: change of stand shim [m], [samples].
        sweep_width, lift_gain: [m], [samples, valves].
        in_stock: changes that the stock allows [m], [choices].
        stock_sweep_width, stock_lift_gain: [m], [choices, valves].
    """

    valves: tuple[str, ...]
    change: FloatArray
    sweep_width: FloatArray
    lift_gain: FloatArray
    in_stock: FloatArray
    stock_sweep_width: FloatArray
    stock_lift_gain: FloatArray


def shim_curve(setup: Setup, result: RockerResult) -> ShimCurve:
    """Follow sweep and lift over a range of stand shims that holds every valve's need and the stock."""
    needs = result.stand.own_need
    fitted = result.side.rows["shaft.stand_shim"]
    thickness = float(np.median(fitted[np.isfinite(fitted)])) if np.isfinite(fitted).any() else float("nan")
    stock = np.array(sorted(change for change, _, _ in shim_choices(setup, thickness)))
    known = needs[np.isfinite(needs)]
    reach = 1.3 * max(_LEAST_RANGE, *np.abs(known), *np.abs(stock))
    change = np.linspace(-reach, reach, _SAMPLES)
    every = effect(result.side, stand_shim=change[:, np.newaxis])
    there = effect(result.side, stand_shim=stock[:, np.newaxis])
    return ShimCurve(
        valves=result.valves,
        change=change,
        sweep_width=every.sweep_width,
        lift_gain=every.lift_gain,
        in_stock=stock,
        stock_sweep_width=there.sweep_width,
        stock_lift_gain=there.lift_gain,
    )
