"""Everything that was asked of the cam events at once: several checking lifts, lashes, the degree wheel."""

from collections.abc import Sequence
from dataclasses import dataclass

from valvetrain.setup.setup import Setup
from valvetrain.studies.events_study import EventsResult, events_study
from valvetrain.studies.events_sweep_study import EventsSweep, events_sweep_study
from valvetrain.studies.wheel_study import WheelResult, wheel_study

__all__ = ["PICTURES", "EventsAnswer", "events_answer"]

PICTURES = ("lift", "lash", "ring")


@dataclass(frozen=True)
class EventsAnswer(EventsResult):
    """Events at the first checking lift and the lash set, and what else was asked.

    Attributes:
        more: events at the further checking lifts.
        lift_off: lift-off and seating of the valve, where only other checking lifts were asked; else None.
        sweep: events against lash, lift-off among them; None where one lash was asked.
        wheel: degree-wheel readings against the card; None where the sheet has none.
        picture: which figure is wanted, of `PICTURES`.
    """

    more: tuple[EventsResult, ...]
    lift_off: EventsResult | None
    sweep: EventsSweep | None
    wheel: WheelResult | None
    picture: str


def events_answer(
    setup: Setup,
    checks: Sequence[tuple[float, str]] = ((0.0, "valve"),),
    lashes: Sequence[float] = (),
    picture: str = "lift",
) -> EventsAnswer:
    """Study the events.

    Args:
        setup: the engine.
        checks: (checking lift [m], "tappet" or "valve").
        lashes: none for the lash set; one for that lash at every valve; more for a sweep beside the lash set.
        picture: of `PICTURES`.
    """
    lash = lashes[0] if len(lashes) == 1 else None
    first, *more = (events_study(setup, lift, at, lash) for lift, at in checks)
    zero = (0.0, "valve")
    # At the tappet the lash plays no part: what it changes is the valve's own lift-off.
    swept = (*checks, zero) if zero not in checks else tuple(checks)
    return EventsAnswer(
        **vars(first),
        more=tuple(more),
        lift_off=events_study(setup, *zero, lash) if zero not in checks else None,
        sweep=events_sweep_study(setup, lashes, swept) if len(lashes) > 1 else None,
        wheel=wheel_study(setup) if setup.wheel else None,
        picture=picture,
    )
