"""Does the cam stand where its card says, and which way and how far must it move?"""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.answers.output import output
from valvetrain.mechanics.cam.event_placement import Role, centerline_from_placed, duration_from_placed
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.wheel import WheelReading
from valvetrain.questions.events.cam_position import as_on_card, card_centers
from valvetrain.questions.events.study import EventsResult, events_study
from valvetrain.setup.setup import Setup

__all__ = ["Difference", "WheelComparison", "WheelResult", "wheel_study"]


@dataclass(frozen=True)
class Difference:
    """One figure as read and as it should be [crank rad], with the uncertainty of their difference."""

    read: float = output("angle", "as read")
    should: float = output("angle", "as it should be", key="card")
    uncertainty: float = output("angle", "standard uncertainty of the difference", key="")

    @property
    def value(self) -> float:
        """As read less as it should be."""
        return self.read - self.should


@dataclass(frozen=True)
class WheelComparison:
    """One reading of the degree wheel against the card, at the same checking lift.

    Attributes:
        reading: as read.
        centerline, opens, closes, duration: compared first to last.
        retarded: how much later than the card the lobe comes [crank rad]; negative: earlier.
        from_card: True where the card gives these very events; False where they were worked out from the
            lobe, its centerline and, at the valve, rocker and lash.
    """

    reading: WheelReading
    centerline: Difference
    opens: Difference
    closes: Difference
    duration: Difference
    from_card: bool

    @property
    def figures(self) -> dict[str, Difference]:
        """What is compared, by its name, first to last."""
        return {
            "centerline": self.centerline,
            "opens": self.opens,
            "closes": self.closes,
            "duration": self.duration,
        }

    @property
    def retarded(self) -> float:
        """The lobe's lateness [crank rad]; an exhaust centerline counts before top dead center."""
        return self.centerline.value if self.reading.role == "intake" else -self.centerline.value


@dataclass(frozen=True)
class WheelResult:
    """All readings against the card.

    Attributes:
        comparisons: in the order of the readings.
        advance: crank angle by which to advance the cam so that it agrees best with all centerlines;
            negative: retard it. NaN where nothing could be compared. uncertainty: of it.
        spread: greatest difference of one centerline from that advance: a lobe that stands wrong on its
            cam, or a reading that is off; NaN with fewer than two.
    """

    comparisons: tuple[WheelComparison, ...]
    advance: float
    uncertainty: float
    spread: float


def wheel_study(setup: Setup) -> WheelResult:
    """Compare every degree-wheel reading of a sheet with its card: centerlines first, then the events."""
    cases: dict[tuple[float, str], EventsResult] = {}
    compared = []
    for reading in setup.wheel:
        case = (reading.checking_lift.value, reading.checked_at)
        if case not in cases:
            cases[case] = events_study(as_on_card(setup), *case)
        compared.append(_compared(setup, reading, cases[case]))
    known = [each for each in compared if not np.isnan(each.centerline.value)]
    if not known:
        return WheelResult(tuple(compared), np.nan, np.nan, np.nan)
    late = np.array([each.retarded for each in known])
    doubt = np.array([each.centerline.uncertainty for each in known])
    weight = 1.0 / np.maximum(doubt, 1e-6) ** 2
    advance = float(np.sum(weight * late) / np.sum(weight))
    spread = float(np.max(np.abs(late - advance))) if late.size > 1 else np.nan
    return WheelResult(tuple(compared), advance, float(np.sum(weight) ** -0.5), spread)


def _compared(setup: Setup, reading: WheelReading, worked_out: EventsResult) -> WheelComparison:
    """Hold one reading against the card's events at its own checking lift."""
    role: Role = "intake" if reading.role == "intake" else "exhaust"
    index = setup.valves.index(reading.valve)
    train = setup.trains[index]
    own = next(
        (
            each
            for each in train.lobe.events
            if each.checking_lift is not None
            and each.opens is not None
            and each.closes is not None
            and each.checked_at == reading.checked_at
            and abs(each.checking_lift.value - reading.checking_lift.value) < 1e-6
        ),
        None,
    )
    if own is not None and own.opens is not None and own.closes is not None:
        opens, closes = own.opens.value, own.closes.value
        doubts = [own.opens.uncertainty, own.closes.uncertainty]
        duration_doubt = float(np.hypot(doubts[0], doubts[1]))
        middle_doubt = 0.5 * duration_doubt
    else:
        opens, closes = float(worked_out.opens.value[index]), float(worked_out.closes.value[index])
        doubts = [float(worked_out.opens.uncertainty[index]), float(worked_out.closes.uncertainty[index])]
        middle_doubt = float(worked_out.centerline.uncertainty[index])
        duration_doubt = float(worked_out.duration.uncertainty[index])
    read = (reading.opens.uncertainty, reading.closes.uncertainty)
    both = float(np.hypot(*read))
    should_middle = float(centerline_from_placed(opens, closes, role))
    if own is None and np.isnan(should_middle):
        # Events unknown (no lobe described): the centerline of [cam] itself is what is left to compare.
        column = card_centers(setup, [lobe_curve(each.lobe) for each in setup.trains])
        should_middle, middle_doubt = float(column.value[index]), float(column.uncertainty[index])
    return WheelComparison(
        reading,
        Difference(
            float(centerline_from_placed(reading.opens.value, reading.closes.value, role)),
            should_middle,
            float(np.hypot(0.5 * both, middle_doubt)),
        ),
        Difference(reading.opens.value, opens, float(np.hypot(read[0], doubts[0]))),
        Difference(reading.closes.value, closes, float(np.hypot(read[1], doubts[1]))),
        Difference(
            float(duration_from_placed(reading.opens.value, reading.closes.value)),
            opens + pi + closes,
            float(np.hypot(both, duration_doubt)),
        ),
        own is not None,
    )
