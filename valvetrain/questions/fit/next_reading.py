"""Which single further measurement would help a fitted linkage most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.next_reading import uncertainty_after_reading
from valvetrain.mechanics.fit.readings import Readings
from valvetrain.mechanics.uncertainty.next_measurement import decision_probability
from valvetrain.questions.fit.groups import FittedGroup
from valvetrain.questions.fit.outputs import group_outputs
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.columns import COLUMNS

__all__ = ["NextReading", "next_readings"]

_JUDGED = {"sweep_share": "sweep_width", "chamfer_distance": "contact_on_tip"}
_SHIM = "stand_shim_change_for_least_sweep"
_SHOWN = (_SHIM, "sweep_width", "sweep_middle")
_OVER_EDGES = 75e-6  # m: a caliper over two parts' edges, halves of diameters added (our judgment)
_OVER_CENTERS = 250e-6  # m: a caliper where a center must be found by eye (our judgment)
_BETWEEN_CENTERS = ("shaft.height", "rocker.pad_arm", "rocker.socket_arm")
_INK = 100e-6  # m: one edge of an ink mark
_LOUPE = 25e-6  # m: half the width of a closed mark
_USELESS = 1e3
_UNDECIDED = 3.0
_SAMPLES = 3000
_SEED = 3


@dataclass(frozen=True)
class NextReading:
    """One measurement that could be taken.

    Attributes:
        what: it, in words.
        instrument: what with.
        reading_uncertainty, dimension: its standard uncertainty [SI] and dimension.
        decided: verdicts now unsure that it is expected to decide.
        now, after: quantity -> standard uncertainty [m], the greatest over the valves.
    """

    what: str
    instrument: str
    reading_uncertainty: float
    dimension: str
    decided: float
    now: Mapping[str, float]
    after: Mapping[str, float]


@dataclass(frozen=True)
class _Candidate:
    what: str
    instrument: str
    dimension: str
    kind: str
    place: int
    at: float
    uncertainty: float
    parameter: str = ""


def next_readings(
    setup: Setup, groups: Sequence[FittedGroup], quantities: Mapping[str, Quantity]
) -> tuple[NextReading, ...]:
    """Candidates, the most useful first: by unsure verdicts decided, and doubt of the stand shim gone.

    The score is the share of the one plus the share of the other, which counts more where two answers fit.

    Each is foretold from the fit's draws before anything is measured; readings that change nothing to speak
    of (less than a twentieth of the stand shim's uncertainty and no verdict) are left out.
    """
    found: list[tuple[float, NextReading]] = []
    for group in groups:
        candidates = _candidates(setup, group, quantities)
        # The last one says nothing: what the same draws give before any reading.
        candidates.append(replace(candidates[-1], uncertainty=_USELESS))
        count = len(candidates)
        readings = Readings(
            kind=tuple(one.kind for one in candidates),
            valve=np.array([one.place for one in candidates], dtype=np.intp),
            at=np.array([one.at for one in candidates]),
            value=np.zeros(count),
            uncertainty=np.array([one.uncertainty for one in candidates]),
            parameter=tuple(one.parameter for one in candidates),
        )
        index = list(group.members)
        after = uncertainty_after_reading(
            group.fit, readings, group_outputs(setup, index), samples=_SAMPLES, seed=_SEED
        )
        left = {name: np.minimum(table[:-1] / table[-1], 1.0) for name, table in after.items()}
        unsure = max(1.0, sum(_unsure(setup, quantities, name, index) for name in _JUDGED))
        for row, one in enumerate(candidates[:-1]):
            decided = 0.0
            for name in _JUDGED:
                decided += _decided(setup, quantities, name, index, left[name][row])
            now = {name: _greatest(quantities[name].uncertainty[index]) for name in _SHOWN}
            then = {name: _greatest(quantities[name].uncertainty[index] * left[name][row]) for name in _SHOWN}
            gain = 1.0 - then[_SHIM] / now[_SHIM] if now[_SHIM] > 0.0 else 0.0
            if gain < 0.05 and decided < 0.5:
                continue
            what = f"{one.what} ({group.role})" if group.role else one.what
            reading = NextReading(what, one.instrument, one.uncertainty, one.dimension, decided, now, then)
            # With two answers nothing else matters before it is known which holds.
            weight = _UNDECIDED if len(group.fit.modes) > 1 else 1.0
            found.append((decided / unsure + weight * gain, reading))
    found.sort(key=lambda item: -item[0])
    return tuple(one for _, one in found)


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


def _candidates(setup: Setup, group: FittedGroup, quantities: Mapping[str, Quantity]) -> list[_Candidate]:
    """Every reading that a shop could take next: each dimension, and marks, lifts and turns."""
    known = setup.instruments
    found = []
    for parameter, key in PARAMETER_KEYS.items():
        spec = COLUMNS[key][2]
        instrument = spec.instrument or "caliper"
        doubt = known[instrument][1]
        if key in _BETWEEN_CENTERS:
            doubt = max(doubt, _OVER_CENTERS)
        elif instrument == "caliper":
            doubt = max(doubt, _OVER_EDGES)
        found.append(
            _Candidate(
                f"{spec.doc.split(';')[0].split(' (')[0]} ({key})",
                instrument.replace("_", " "),
                spec.dimension or "length",
                "dimension",
                0,
                float("nan"),
                doubt,
                parameter,
            )
        )
    index = list(group.members)
    lift = lobe_lift(setup).value[index]
    shim = np.nan_to_num(quantities["stand_shim_change_for_least_sweep"].uncertainty[index])
    worst = int(np.argmax(shim))
    kinds, places = np.array(group.gathered.readings.kind), group.gathered.readings.valve
    with_dial = set(places[np.isin(kinds, ("net_lift", "gross_lift"))])
    without = [place for place in range(len(index)) if place not in with_dial]
    dial = known["indicator"][1]
    name = setup.valves[index[worst]]
    nowhere, full = float("nan"), float(lift[worst])
    ink = "marker ink"
    found += [
        _Candidate(
            f"a mark made with the valve closed, on {name}",
            ink,
            "length",
            "closed_mark",
            worst,
            nowhere,
            _INK,
        ),
        _Candidate(f"the near ink edge of {name} again", ink, "length", "near_edge", worst, full, _INK),
        _Candidate(f"the far ink edge of {name} again", ink, "length", "far_edge", worst, full, _INK),
        _Candidate(
            "width of a mark with the valve closed",
            "measuring loupe",
            "length",
            "dimension",
            worst,
            nowhere,
            _LOUPE,
            "ink_margin",
        ),
    ]
    at = without[0] if without else worst
    found.append(
        _Candidate(
            f"gross lift at full lift of {setup.valves[index[at]]}",
            "dial indicator",
            "length",
            "gross_lift",
            at,
            float(lift[at]),
            dial,
        )
    )
    pitch = setup.trains[index[worst]].rocker.thread_pitch
    if pitch is not None:
        found.append(
            _Candidate(
                f"pad movement for one turn of the adjuster of {name}",
                "dial indicator",
                "length",
                "turns",
                worst,
                pitch.value,
                dial,
            )
        )
    return found
