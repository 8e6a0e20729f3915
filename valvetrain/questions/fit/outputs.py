"""What a fitted linkage means on the valve tip: sweep, lift and stand shim, with intervals and a budget."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.linkage import LinkageFit
from valvetrain.mechanics.fit.model import linkage_outputs, output_slopes
from valvetrain.mechanics.fit.modes import summarized
from valvetrain.mechanics.rocker.sweep import stand_shim_for_square_arm, sweep
from valvetrain.questions.fit.groups import JointFit
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup

__all__ = ["DIMENSIONS", "FitDraws", "FitOutputs", "fit_draws", "fit_quantities"]

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
_PROBABILITY = 0.95


class FitOutputs:
    """The outputs at every valve as a function of the fit's parameters."""

    def __init__(self, setup: Setup) -> None:
        """Take from the sheet what the fit does not infer."""
        lift = lobe_lift(setup)
        self.lift, self.lift_doubt = lift.value, lift.uncertainty
        stem = setup.column("valve", "stem_diameter").value
        self.tip = 0.5 * stem - setup.column("valve", "tip_chamfer").value
        self.stand_angle = np.nan_to_num(setup.column("shaft", "stand_angle").value)

    def __call__(
        self, columns: Mapping[str, FloatArray], lift: FloatArray | None = None
    ) -> dict[str, FloatArray]:
        """Evaluate parameter columns [k, 1] or [k, n]; returns [k, n]. `lift`: of the lobes, if not read."""
        outputs = linkage_outputs(columns, self.lift if lift is None else lift)
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


@dataclass(frozen=True)
class FitDraws:
    """Draws of a fit.

    Attributes:
        outputs: quantity -> draws at every valve, shape [k, n].
        height: shaft axis above the reference tip of each shaft [m], shape [k, shafts].
    """

    outputs: Mapping[str, FloatArray]
    height: FloatArray


def fit_draws(setup: Setup, fit: LinkageFit) -> FitDraws:
    """Draw from all answers of a fit; seeded."""
    vectors = fit.drawn(_SAMPLES, _SEED)
    function = FitOutputs(setup)
    shape = (_SAMPLES, len(setup.valves))
    # What a lobe lifts was read apart from the linkage, and is as unsure as that reading.
    half = np.random.default_rng(_SEED + 1).standard_normal((_SAMPLES // 2, len(setup.valves)))
    lift = function.lift + function.lift_doubt * np.concatenate([half, -half])
    outputs = function(fit.layout.columns(vectors), lift)
    return FitDraws(
        {name: np.broadcast_to(table, shape) for name, table in outputs.items()},
        vectors[:, fit.layout.place("height")],
    )


def fit_quantities(setup: Setup, joint: JointFit, drawn: FitDraws | None = None) -> dict[str, Quantity]:
    """Every quantity at every valve: middle of the posterior, its spread, its 95 % interval and its budget.

    From draws of the posterior, so that a width near its least and a second answer are held. The budget says
    which reading and which assumption the doubt comes from: shares of the linearised posterior at the most
    probable answer, whose sum of squares is its variance.
    """
    drawn = drawn or fit_draws(setup, joint.fit)
    parts = _budget(joint, FitOutputs(setup))
    found = {}
    for name, dimension in DIMENSIONS.items():
        one = summarized(drawn.outputs[name], _PROBABILITY)
        found[name] = Quantity(dimension, one.value, one.uncertainty, parts[name], one.low, one.high)
    return found


def _budget(joint: JointFit, function: FitOutputs) -> dict[str, dict[str, FloatArray]]:
    """Output -> label of the reading or assumption -> its part of the uncertainty, shape [valves].

    With slopes J in units of the readings' uncertainties and C = (J^T J + 1)^-1, a reading's part of an
    output of slopes g is g C J_r, a prior's (g C)_p; the sum of their squares is g C g^T.
    """
    fit = joint.fit
    layout = fit.layout
    free = layout.free
    covariance = np.linalg.inv(fit.slopes.T @ fit.slopes + np.eye(int(free.sum())))
    labels = [label for label, used in zip(joint.gathered.label, fit.used, strict=True) if used]
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
        "setback_of_shaft": "scatter from shaft to shaft",
        "tappet_setback_of_shaft": "scatter from shaft to shaft",
        **dict.fromkeys(
            ("setback_of_valve", "pad_arm_of_valve", "socket_arm_of_valve", "arm_angle_of_valve"),
            "scatter within the set",
        ),
    }
    return words.get(parameter, f"assumed {parameter.replace('_', ' ')}")
