"""Which reading tells two answers of a shaft apart, and how well."""

import math

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.linkage import LinkageFit
from valvetrain.mechanics.fit.model import ReadingModel
from valvetrain.questions.fit.candidates import Candidate, as_readings, closed_mark, shaft_candidates
from valvetrain.questions.fit.groups import JointFit
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["deciding_words"]

_DECIDES = 3.0  # standard deviations between what the answers foretell
_SAMPLES = 1500
_SEED = 5


def deciding_words(setup: Setup, joint: JointFit, shaft: int, weights: tuple[float, ...]) -> str:
    """Say what two answers of one shaft mean, and which reading decides."""
    one = joint.shared.shafts[shaft]
    whose = f" of shaft {one.called}" if one.called else ""
    return (
        f"Two answers fit the readings{whose}, {weights[0]:.0%} and {weights[1]:.0%} probable: the pad "
        "crosses the tip one way or the other as the valve opens, and the stand shim goes the other way with "
        f"it. Ink bands cannot tell them apart. {_decider(setup, joint, shaft)}"
    )


def _decider(setup: Setup, joint: JointFit, shaft: int) -> str:
    members = joint.shared.shafts[shaft].members
    answers = joint.fit.answers_of(shaft)[:2]
    kinds = np.array(joint.gathered.readings.kind)
    marked = [
        index
        for index in members
        if index in joint.gathered.readings.valve[(kinds == "closed_mark") & joint.fit.used]
    ]
    marks = [closed_mark(setup, joint, index) for index in members if index not in marked]
    apart, doubt = _apart(answers, marks)
    best = int(np.argmax(apart / doubt)) if marks else -1
    said = ""
    if marked:
        valves = ", ".join(setup.valves[index] for index in marked)
        said = f"The closed marks read at {valves} lie within their doubt of both. "
    elif apart[best] >= _DECIDES * doubt[best]:
        valve = setup.valves[marks[best].readings[0].valve]
        places = f"the answers put it {shown(float(apart[best]), 'length', setup.units)} apart"
        return f"A mark made with the valve closed (reading closed_mark) on {valve} decides: {places}."
    others = shaft_candidates(setup, joint, shaft, members)
    each, its = _apart(answers, others)
    strength = each / its
    first = int(np.argmax(strength))
    if strength[first] >= _DECIDES:
        return f"{said}What decides is {others[first].what}, with a {others[first].instrument}."
    if best >= 0 and apart[best] > 0.0:
        wanted = math.ceil((_DECIDES * doubt[best] / apart[best]) ** 2)
        if wanted <= len(marks):
            valves = ", ".join(setup.valves[one.readings[0].valve] for one in marks[:wanted])
            several = f"marks made with the valve closed (reading closed_mark) on {valves} together do"
            return f"{said}No single reading decides; {several}."
    helps = f"What helps most is {others[first].what}."
    return f"{said}No reading decides by itself: the answers differ too little. {helps}"


def _apart(answers: tuple[LinkageFit, ...], each: list[Candidate]) -> tuple[FloatArray, FloatArray]:
    """How far apart the two answers foretell the first reading of each candidate, and how surely."""
    if not each:
        return np.zeros(0), np.ones(0)
    readings = as_readings([one.readings[0] for one in each])
    middles, spreads = [], []
    for fit in answers:
        draws = ReadingModel(readings, fit.layout).predicted(fit.drawn(_SAMPLES, _SEED))
        middles.append(np.nanmean(draws, axis=0))
        spreads.append(np.nanvar(draws, axis=0))
    doubt = np.sqrt(sum(spreads) / 2.0 + readings.uncertainty**2)
    return np.abs(middles[0] - middles[1]), np.asarray(doubt)
