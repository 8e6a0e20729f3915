"""What a fit says of each shaft: where it stands, its stand shim, and each answer where two fit."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.linkage import Mode
from valvetrain.mechanics.fit.modes import summarized
from valvetrain.questions.fit.deciding import deciding_words
from valvetrain.questions.fit.fitted_setup import fitted_setup, inferred_values
from valvetrain.questions.fit.groups import JointFit
from valvetrain.questions.fit.outputs import FitDraws, fit_draws
from valvetrain.questions.fit.shared import ShaftOfFit
from valvetrain.questions.rocker.stand_plan import ShaftPlan
from valvetrain.questions.rocker.study import RockerResult, rocker_study
from valvetrain.setup.setup import Setup

__all__ = ["FittedShaft", "ShaftAnswer", "ShaftValue", "fitted_shafts", "likely_answers"]

# An answer less probable than this is not shown on its own; the intervals hold it all the same.
_LEAST_PROBABLE = 0.02
_PROBABILITY = 0.95


@dataclass(frozen=True)
class ShaftValue:
    """One quantity of a shaft [m]: value, standard uncertainty, and ends of its 95 % interval."""

    value: float
    uncertainty: float
    low: float
    high: float


@dataclass(frozen=True)
class ShaftAnswer:
    """One answer that explains the readings of a shaft.

    Attributes:
        weight: its probability, 0 to 1.
        height: of the shaft's axis above its reference tip, if this answer is the right one.
        shim: change of stand shim for the least sweep of its middle valve, if so.
        plan: the stand shim from the stock, if so.
    """

    weight: float
    height: ShaftValue
    shim: ShaftValue
    plan: ShaftPlan


@dataclass(frozen=True)
class FittedShaft:
    """One shaft.

    Attributes:
        shaft: its name and valves.
        height, shim: as in `ShaftAnswer`, by all answers.
        answers: the most probable first.
        ambiguity: what a second answer means and what decides, in words; empty where there is none.
    """

    shaft: ShaftOfFit
    height: ShaftValue
    shim: ShaftValue
    answers: tuple[ShaftAnswer, ...]
    ambiguity: str


def likely_answers(joint: JointFit, shaft: int) -> tuple[float, ...]:
    """Probabilities of the answers of a shaft that are worth a shop's trouble."""
    return tuple(weight for weight in joint.fit.weight_of(shaft) if weight >= _LEAST_PROBABLE)


def fitted_shafts(setup: Setup, joint: JointFit, drawn: FitDraws) -> tuple[FittedShaft, ...]:
    """Describe every shaft."""
    studies: dict[tuple[int, ...], RockerResult] = {}

    def study(mode: Mode) -> RockerResult:
        """The rocker study of the sheet that this combination of answers would give."""
        if mode.crossing not in studies:
            alone = dataclasses.replace(joint.fit, modes=(dataclasses.replace(mode, weight=1.0),))
            inferred, correlation = inferred_values(setup, dataclasses.replace(joint, fit=alone))
            studies[mode.crossing] = rocker_study(fitted_setup(setup, inferred, correlation))
        return studies[mode.crossing]

    found = []
    for number, shaft in enumerate(joint.shared.shafts):
        height, shim = _known_of(drawn, number, shaft)
        weights = likely_answers(joint, number)
        answers = []
        for place, weight in enumerate(weights):
            own = (height, shim)
            fit = joint.fit
            if len(joint.fit.weight_of(number)) > 1:
                fit = joint.fit.answers_of(number)[place]
                own = _known_of(fit_draws(setup, fit), number, shaft)
            plans = study(fit.modes[0]).stand.shafts
            plan = next(each for each in plans if shaft.members[0] in each.group.members)
            answers.append(ShaftAnswer(weight, *own, plan))
        words = deciding_words(setup, joint, number, weights) if len(weights) > 1 else ""
        found.append(FittedShaft(shaft, height, shim, tuple(answers), words))
    return tuple(found)


def _known_of(drawn: FitDraws, number: int, shaft: ShaftOfFit) -> tuple[ShaftValue, ShaftValue]:
    shims = drawn.outputs["stand_shim_change_for_least_sweep"][:, list(shaft.members)]
    return _known(drawn.height[:, number]), _known(np.median(shims, axis=1))


def _known(draws: FloatArray) -> ShaftValue:
    one = summarized(draws[:, np.newaxis], _PROBABILITY)
    return ShaftValue(*(float(part[0]) for part in (one.value, one.uncertainty, one.low, one.high)))
