"""Everything that was asked of the cam events at once: several checking lifts, lashes, the degree wheel."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import output
from valvetrain.questions.events.lash_growth import hot_lash
from valvetrain.questions.events.lash_sweep import EventsSweep, events_sweep_study
from valvetrain.questions.events.study import EventsResult, events_inputs, events_study
from valvetrain.questions.events.wheel import WheelResult, wheel_study
from valvetrain.setup.setup import Setup

__all__ = ["PICTURES", "EventsAnswer", "events_answer"]

PICTURES = ("lift", "lash", "ring")


@dataclass(frozen=True)
class EventsAnswer(EventsResult):
    """Events at the first checking lift and the lash set, and what else was asked."""

    more: tuple[EventsResult, ...] = output(None, "events at the further checking lifts", key="")
    lift_off: EventsResult | None = output(
        None,
        "lift-off and seating of the valve, where only other checking lifts were asked; else None",
        key="",
    )
    sweep: EventsSweep | None = output(
        None, "events against lash, lift-off among them; None where one lash was asked", key=""
    )
    hot: EventsResult | None = output(
        None,
        "the first checking lift's events at the hot lash; None where its growth is not known, or where the "
        "engine's lash was set hot",
        key="",
    )
    wheel: WheelResult | None = output(
        None, "degree-wheel readings against the card; None where the sheet has none", key=""
    )
    picture: str = output(None, "which figure is wanted, of `PICTURES`", key="")


def events_answer(
    setup: Setup,
    checks: Sequence[tuple[float, str]] = ((0.0, "valve"),),
    lashes: Sequence[float] = (),
    picture: str = "lift",
    with_hot: bool = False,
) -> EventsAnswer:
    """Study the events.

    Args:
        setup: the engine.
        checks: (checking lift [m], "tappet" or "valve").
        lashes: none for the lash set; one for that lash at every valve; more for a sweep beside the lash set.
        picture: of `PICTURES`.
        with_hot: True for the events at the hot lash as well, where a cold lash is set and its growth known.
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
        hot=_hot(setup, checks[0]) if with_hot and lash is None else None,
        wheel=wheel_study(setup) if setup.wheel else None,
        picture=picture,
    )


def _hot(setup: Setup, check: tuple[float, str]) -> EventsResult | None:
    """Events at the hot lash; a lash below none holds the valve open and has no events."""
    if any(train.lash.at == "pushrod" or train.lash.state != "cold" for train in setup.trains):
        return None
    hot = hot_lash(setup, events_inputs(setup).columns, events_study(setup, *check).lash)
    if np.isnan(hot.value).all():
        return None
    at_hot = events_study(setup, *check, np.where(hot.value >= 0, hot.value, np.nan))
    # The doubt of the hot lash itself moves the events: from how they differ between two lashes around it.
    step = 25e-6
    wider = events_study(setup, *check, np.where(hot.value >= 0, hot.value + step, np.nan))
    changed = {}
    for name in ("opens", "closes", "duration", "max_lift"):
        here, there = getattr(at_hot, name), getattr(wider, name)
        slope = np.abs(there.value - here.value) / step
        doubt = np.hypot(here.uncertainty, slope * hot.uncertainty)
        changed[name] = replace(here, uncertainty=doubt)
    return replace(at_hot, lash=hot, **changed)
