"""Which further measurement, or which two together, would help a fitted linkage most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.next_reading import uncertainty_after_readings
from valvetrain.mechanics.uncertainty.next_measurement import decision_probability
from valvetrain.questions.fit.candidates import Candidate, OneReading, as_readings, shaft_candidates
from valvetrain.questions.fit.groups import JointFit
from valvetrain.questions.fit.outputs import FitOutputs
from valvetrain.setup.setup import Setup

__all__ = ["NextReading", "next_readings"]

_JUDGED = {"sweep_share": "sweep_width", "chamfer_distance": "contact_on_tip"}
_SHIM = "stand_shim_change_for_least_sweep"
_SHOWN = (_SHIM, "sweep_width", "sweep_middle")
_UNDECIDED = 3.0
_LITTLE = 0.05  # share of the stand shim's doubt
_BETTER = 1.25  # a pair is named where it does so many times as much as the better of the two
_PAIRS = 3
_PAIRED = 6  # the best single measurements, of which pairs are looked at
_SAMPLES = 2000
_SEED = 3


@dataclass(frozen=True)
class NextReading:
    """One measurement that could be taken, or two together.

    Attributes:
        chosen: the measurements.
        shaft: name of the shaft it is for; empty where there is but one.
        decided: verdicts now unsure that it is expected to decide.
        now, after: quantity -> standard uncertainty [m], the greatest over the shaft's valves.
    """

    chosen: tuple[Candidate, ...]
    shaft: str
    decided: float
    now: Mapping[str, float]
    after: Mapping[str, float]

    @property
    def what(self) -> str:
        """It, in words."""
        return " and ".join(one.what for one in self.chosen)

    @property
    def instrument(self) -> str:
        """What with."""
        return " and ".join(dict.fromkeys(one.instrument for one in self.chosen))


def next_readings(
    setup: Setup, joint: JointFit, quantities: Mapping[str, Quantity]
) -> tuple[NextReading, ...]:
    """Candidates on every shaft, the most useful of each first: by unsure verdicts decided, and doubt gone.

    The score is the share of the verdicts plus the share of the stand shim's doubt, which counts more where
    two answers fit. Pairs that do clearly more than either alone stand among them. Each is foretold from the
    fit's draws before anything is measured; readings that change nothing to speak of (less than a twentieth
    of the stand shim's uncertainty and no verdict) are left out.
    """
    return tuple(
        one for shaft in range(len(joint.shared.shafts)) for one in _next_of(setup, joint, quantities, shaft)
    )


def _next_of(
    setup: Setup, joint: JointFit, quantities: Mapping[str, Quantity], shaft: int
) -> list[NextReading]:
    index = list(joint.shared.shafts[shaft].members)
    doubt = np.nan_to_num(quantities[_SHIM].uncertainty[index])
    worst = [index[place] for place in np.argsort(-doubt, kind="stable")]
    candidates = shaft_candidates(setup, joint, shaft, worst)
    each = [reading for one in candidates for reading in one.readings]
    ends = np.cumsum([len(one.readings) for one in candidates])
    own = [tuple(range(end - len(one.readings), end)) for one, end in zip(candidates, ends, strict=True)]
    left = _left(setup, joint, each, own, index)
    unsure = max(1.0, sum(_unsure(setup, quantities, name, index) for name in _JUDGED))
    # With two answers nothing else matters before it is known which holds.
    weight = _UNDECIDED if len(joint.fit.weight_of(shaft)) > 1 else 1.0

    def foretold(
        row: int, left: Mapping[str, FloatArray], chosen: tuple[Candidate, ...]
    ) -> tuple[float, float, NextReading]:
        decided = sum(_decided(setup, quantities, name, index, left[name][row]) for name in _JUDGED)
        now = {name: _greatest(quantities[name].uncertainty[index]) for name in _SHOWN}
        then = {name: _greatest(quantities[name].uncertainty[index] * left[name][row]) for name in _SHOWN}
        gain = 1.0 - then[_SHIM] / now[_SHIM] if now[_SHIM] > 0.0 else 0.0
        reading = NextReading(chosen, joint.shared.shafts[shaft].called, decided, now, then)
        return decided / unsure + weight * gain, gain, reading

    single = [foretold(row, left, (one,)) for row, one in enumerate(candidates)]
    found = [one for one in single if one[1] >= _LITTLE or one[2].decided >= 0.5]
    best = sorted(range(len(single)), key=lambda row: -single[row][0])[:_PAIRED]
    pairs = list(combinations(sorted({*best, *_lengths(candidates)}), 2))
    left = _left(setup, joint, each, [(*own[a], *own[b]) for a, b in pairs], index)
    for row, (a, b) in enumerate(pairs):
        both = foretold(row, left, (candidates[a], candidates[b]))
        alone = max(single[a][0], single[b][0])
        if both[0] > max(_BETTER * alone, alone + _LITTLE):
            found.append(both)
    found.sort(key=lambda item: -item[0])
    singles = [one for one in found if len(one[2].chosen) == 1]
    together = [one for one in found if len(one[2].chosen) == 2][:_PAIRS]
    return [one[2] for one in sorted([*singles, *together], key=lambda item: -item[0])]


def _left(
    setup: Setup,
    joint: JointFit,
    each: Sequence[OneReading],
    sets: Sequence[tuple[int, ...]],
    index: list[int],
) -> dict[str, FloatArray]:
    """Share of each quantity's doubt that each set of readings would leave, shape [sets, valves]."""
    # The last one holds nothing: what the same draws give before any reading.
    after = uncertainty_after_readings(
        joint.fit, as_readings(each), [*sets, ()], FitOutputs(setup), samples=_SAMPLES, seed=_SEED
    )
    return {
        name: np.minimum(table[:-1, index] / np.where(table[-1, index] > 0.0, table[-1, index], 1.0), 1.0)
        for name, table in after.items()
    }


def _lengths(candidates: Sequence[Candidate]) -> list[int]:
    """The shaft's height and the pads' radius: neither says much without the other."""
    wanted = ("height", "pad_radius")
    return [row for row, one in enumerate(candidates) if one.readings[0].parameter in wanted]


def _greatest(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else float("nan")


def _decided(
    setup: Setup, quantities: Mapping[str, Quantity], name: str, index: list[int], left: FloatArray
) -> float:
    """Number of verdicts on one quantity, now unsure, that are decided with `left` of its uncertainty."""
    limit = setup.limits[_JUDGED[name]]
    low, high = np.array(limit.low), np.array(limit.high)
    value, now = quantities[name].value[index], quantities[name].uncertainty[index]
    with np.errstate(invalid="ignore"):
        before = decision_probability(value, now, now, low, high)
        then = decision_probability(value, now, now * left, low, high)
    return float(np.nansum(np.where(before == 0.0, then, 0.0)))


def _unsure(setup: Setup, quantities: Mapping[str, Quantity], name: str, index: list[int]) -> float:
    """Number of verdicts on one quantity that are unsure now."""
    return _decided(setup, quantities, name, index, np.zeros(len(index)))
