"""Every reading that a shop could take next on one shaft: dimensions, marks, lifts, turns, stem heights."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.fit.readings import Readings
from valvetrain.questions.fit.groups import JointFit
from valvetrain.questions.fit.priors import PARAMETER_KEYS
from valvetrain.setup.linkage_columns import lobe_lift
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.columns import COLUMNS

__all__ = ["Candidate", "OneReading", "as_readings", "closed_mark", "shaft_candidates"]

_OVER_EDGES = 75e-6  # m: a caliper over two parts' edges, halves of diameters added (our judgment)
_OVER_CENTERS = 250e-6  # m: a caliper where a center must be found by eye (our judgment)
_BETWEEN_CENTERS = ("shaft.height", "rocker.pad_arm", "rocker.socket_arm")
_LIFTS = ("net_lift", "gross_lift")


@dataclass(frozen=True)
class OneReading:
    """A reading that could be taken: as in `Readings`, without its value."""

    kind: str
    valve: int
    at: float
    uncertainty: float
    parameter: str = ""


@dataclass(frozen=True)
class Candidate:
    """A measurement that could be taken: one reading, or a few that are taken in one go.

    Attributes:
        what: it, in words; instrument: what with.
        dimension: of its readings, all with the same standard uncertainty.
        readings: at least one.
        kind: of the measurement, for those who look for one.
    """

    what: str
    instrument: str
    dimension: str
    readings: tuple[OneReading, ...]

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of each reading [SI]."""
        return self.readings[0].uncertainty


def as_readings(each: Sequence[OneReading]) -> Readings:
    """The readings as the fit's model takes them; their values are not known."""
    return Readings(
        kind=tuple(one.kind for one in each),
        valve=np.array([one.valve for one in each], dtype=np.intp),
        at=np.array([one.at for one in each]),
        value=np.zeros(len(each)),
        uncertainty=np.array([one.uncertainty for one in each]),
        parameter=tuple(one.parameter for one in each),
    )


def read_to(setup: Setup, joint: JointFit, instrument: str) -> float:
    """Standard uncertainty of an instrument's reading: as taken, or as they were found to scatter."""
    return setup.instruments[instrument][1] * joint.fit.scatter.get(instrument, 1.0)


def closed_mark(setup: Setup, joint: JointFit, valve: int) -> Candidate:
    """A mark made with the valve closed."""
    one = OneReading("closed_mark", valve, math.nan, read_to(setup, joint, "ink"))
    what = f"a mark made with the valve closed, on {setup.valves[valve]}"
    return Candidate(what, "marker ink", "length", (one,))


def shaft_candidates(setup: Setup, joint: JointFit, shaft: int, worst: Sequence[int]) -> list[Candidate]:
    """Candidates on one shaft.

    Args:
        setup: the setup.
        joint: the fit.
        shaft: which of its shafts.
        worst: the shaft's valves, the least sure first.
    """
    return [
        *_dimensions(setup, joint, shaft),
        *_marks(setup, joint, worst),
        *_lifts(setup, joint, worst),
        *_heights(setup, worst),
    ]


def _dimensions(setup: Setup, joint: JointFit, shaft: int) -> list[Candidate]:
    known = setup.instruments
    members = joint.shared.shafts[shaft].members
    found = []
    for parameter, key in PARAMETER_KEYS.items():
        spec = COLUMNS[key][2]
        instrument = spec.instrument or "caliper"
        doubt = known[instrument][1]
        if key in _BETWEEN_CENTERS:
            doubt = max(doubt, _OVER_CENTERS)
        elif instrument == "caliper":
            doubt = max(doubt, _OVER_EDGES)
        which = joint.shared.of[parameter]
        for number in dict.fromkeys(which[list(members)].tolist()):
            valve = next(index for index in members if which[index] == number)
            called = joint.shared.called[parameter][number]
            whose = f", {called}" if called and key != "shaft.height" else ""
            what = f"{spec.doc.split(';')[0].split(' (')[0]} ({key}{whose})"
            reading = OneReading("dimension", valve, math.nan, doubt, parameter)
            found.append(
                Candidate(what, instrument.replace("_", " "), spec.dimension or "length", (reading,))
            )
    return found


def _marks(setup: Setup, joint: JointFit, worst: Sequence[int]) -> list[Candidate]:
    """A closed mark and an ink band where none was made yet, and where one was made, again."""
    ink, loupe = read_to(setup, joint, "ink"), setup.instruments["loupe"][1]
    lift = lobe_lift(setup).value
    kinds, places = np.array(joint.gathered.readings.kind), joint.gathered.readings.valve
    found = []
    closed = [index for index in worst if index not in places[kinds == "closed_mark"]]
    if closed:
        found.append(closed_mark(setup, joint, closed[0]))
    elif worst:
        again = closed_mark(setup, joint, worst[0])
        found.append(Candidate(f"{again.what} again", again.instrument, "length", again.readings))
    banded = set(places[np.isin(kinds, ("near_edge", "far_edge"))].tolist())
    bare = [index for index in worst if index not in banded]
    for index, word in ((bare[0] if bare else None, ""), (worst[0] if not bare else None, " again")):
        if index is not None:
            edges = tuple(
                OneReading(kind, index, float(lift[index]), ink) for kind in ("near_edge", "far_edge")
            )
            what = f"both edges of the ink band of {setup.valves[index]}{word}"
            found.append(Candidate(what, "marker ink", "length", edges))
    width = OneReading("dimension", worst[0], math.nan, 0.5 * loupe, "ink_margin")
    if not np.any([row is not None and row.kind == "closed_mark_width" for row in joint.gathered.bench]):
        what = "width of a mark with the valve closed"
        found.append(Candidate(what, "measuring loupe", "length", (width,)))
    return found


def _lifts(setup: Setup, joint: JointFit, worst: Sequence[int]) -> list[Candidate]:
    """Full lift without lash where no dial stood yet, and a turn of the adjuster."""
    dial = read_to(setup, joint, "indicator")
    lift = lobe_lift(setup).value
    kinds, places = np.array(joint.gathered.readings.kind), joint.gathered.readings.valve
    without = [index for index in worst if index not in places[np.isin(kinds, _LIFTS)]]
    at = without[0] if without else worst[0]
    again = "" if without else " again"
    gross = OneReading("gross_lift", at, float(lift[at]), dial)
    what = f"gross lift at full lift of {setup.valves[at]}{again}"
    found = [Candidate(what, "dial indicator", "length", (gross,))]
    turning = [index for index in worst if setup.trains[index].rocker.thread_pitch is not None]
    if turning:
        pitch = setup.trains[turning[0]].rocker.thread_pitch
        assert pitch is not None
        turn = OneReading("turns", turning[0], pitch.value, dial)
        what = f"pad movement for one turn of the adjuster of {setup.valves[turning[0]]}"
        found.append(Candidate(what, "dial indicator", "length", (turn,)))
    return found


def _heights(setup: Setup, worst: Sequence[int]) -> list[Candidate]:
    """The stem height of a valve where it was not measured."""
    stems = setup.column("valve", "stem_height").value
    without = [index for index in worst if np.isnan(stems[index])]
    if not without:
        return []
    doubt = setup.instruments["height_micrometer"][1]
    what = f"stem height of {setup.valves[without[0]]} (valve.stem_height)"
    reading = OneReading("dimension", without[0], math.nan, doubt, "tip_height")
    return [Candidate(what, "height micrometer", "length", (reading,))]
