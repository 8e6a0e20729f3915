"""What a fitted linkage means on the valve tip: sweep, lift and stand shim, with intervals and a budget."""

from collections.abc import Mapping, Sequence

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.model import linkage_outputs, output_slopes
from valvetrain.mechanics.rocker.sweep import stand_shim_for_square_arm, sweep
from valvetrain.questions.fit.groups import FittedGroup
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["DIMENSIONS", "fit_quantities", "group_outputs"]

DIMENSIONS = {
    "gross_lift": "length",
    "net_lift": "length",
    "mean_ratio": "ratio",
    "sweep_width": "length",
    "sweep_share": "fraction",
    "sweep_middle": "length",
    "chamfer_distance": "length",
    "height": "length",
    "stand_shim_change_for_least_sweep": "length",
}
"""Quantity at every valve -> its dimension."""

_SAMPLES = 6000
_SEED = 1


class GroupOutputs:
    """The outputs of one group as a function of the fit's parameters."""

    def __init__(self, setup: Setup, members: Sequence[int]) -> None:
        """Take from the sheet what the fit does not infer."""
        index = list(members)
        self.lift = lobe_lift(setup).value[index]
        stem = setup.column("valve", "stem_diameter").value[index]
        self.tip = 0.5 * stem - setup.column("valve", "tip_chamfer").value[index]
        self.stand_angle = np.nan_to_num(setup.column("shaft", "stand_angle").value[index])

    def __call__(self, columns: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        """Evaluate parameter columns [k, 1] or [k, n]; returns [k, n]."""
        outputs = linkage_outputs(columns, self.lift)
        pattern = sweep(
            setback=columns["setback"],
            height=outputs["height"],
            pad_arm=columns["pad_arm"],
            pad_radius=columns["pad_radius"],
            net_lift=outputs["net_lift"],
        )
        change = stand_shim_for_square_arm(
            height=outputs["height"],
            pad_radius=columns["pad_radius"],
            net_lift=outputs["net_lift"],
            stand_angle=self.stand_angle,
        )
        reach = np.maximum(np.abs(pattern.least), np.abs(pattern.greatest))
        outputs |= {
            "sweep_share": pattern.width / outputs["gross_lift"],
            "chamfer_distance": self.tip - reach,
            "stand_shim_change_for_least_sweep": np.where(np.isnan(pattern.width), np.nan, change),
        }
        return {name: outputs[name] for name in DIMENSIONS}


def group_outputs(setup: Setup, members: Sequence[int]) -> GroupOutputs:
    """Return the outputs' function for valves fitted together."""
    return GroupOutputs(setup, members)


def fit_quantities(setup: Setup, groups: Sequence[FittedGroup]) -> dict[str, Quantity]:
    """Every quantity at every valve: middle of the posterior, its spread, its 95 % interval and its budget.

    From draws of the posterior, so that a width near its least and a second answer are held. The budget says
    which reading and which assumption the doubt comes from: shares of the linearised posterior at the most
    probable answer, whose sum of squares is its variance.
    """
    count = len(setup.valves)
    value = {name: np.full(count, np.nan) for name in DIMENSIONS}
    spread, low, high = ({name: np.full(count, np.nan) for name in DIMENSIONS} for _ in range(3))
    parts: dict[str, dict[str, FloatArray]] = {name: {} for name in DIMENSIONS}
    for group in groups:
        index = list(group.members)
        function = group_outputs(setup, index)
        for name, carried in group.fit.sampled(function, samples=_SAMPLES, seed=_SEED).items():
            value[name][index], spread[name][index] = carried.value, carried.uncertainty
            low[name][index], high[name][index] = carried.low, carried.high
        for name, shares in _budget(group, function).items():
            for label, share in shares.items():
                parts[name].setdefault(label, np.zeros(count))[index] = share
    return {
        name: Quantity(dimension, value[name], spread[name], parts[name], low[name], high[name])
        for name, dimension in DIMENSIONS.items()
    }


def _budget(group: FittedGroup, function: GroupOutputs) -> dict[str, dict[str, FloatArray]]:
    """Output -> label of the reading or assumption -> its part of the uncertainty, shape [valves].

    With slopes J in units of the readings' uncertainties and C = (J^T J + 1)^-1, a reading's part of an
    output of slopes g is g C J_r, a prior's (g C)_p; the sum of their squares is g C g^T.
    """
    fit = group.fit
    layout = fit.layout
    free = layout.free
    covariance = np.linalg.inv(fit.slopes.T @ fit.slopes + np.eye(int(free.sum())))
    labels = [label for label, used in zip(group.gathered.label, fit.used, strict=True) if used]
    found: dict[str, dict[str, FloatArray]] = {}
    names = [_assumption(name) for name in np.array(layout.names)[free]]
    for output, (_, slopes) in output_slopes(function, layout, fit.mean).items():
        gain = np.nan_to_num(slopes[:, free]) @ layout.factor @ covariance
        pieces = np.concatenate([gain @ fit.slopes.T, gain], axis=1)
        squares: dict[str, FloatArray] = {}
        for column, label in enumerate([*labels, *names]):
            squares[label] = squares.get(label, np.zeros(len(gain))) + pieces[:, column] ** 2
        found[output] = {label: np.sqrt(square) for label, square in squares.items()}
    return found


def _assumption(parameter: str) -> str:
    """What a prior is called in a budget."""
    words = {
        "tip_height": "stem heights",
        "lash": "lash",
        "ink_zero": "zero of the ink edges",
        "dial_zero": "zero of the dial",
        "ink_margin": "assumed reach of the ink",
        "tappet_position": "assumed tappet height",
        "pushrod_length": "pushrod length",
    }
    return words.get(parameter, f"assumed {parameter.replace('_', ' ')}")
