"""Everything that was asked of the cam events at once: several checking lifts, lashes, the degree wheel."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import output
from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.events.cam_position import as_on_card
from valvetrain.questions.events.lash_growth import LashGrowth, hot_lash, lash_growth_study
from valvetrain.questions.events.lash_sweep import EventsSweep, events_sweep_study, lashes_at_valves
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
    growth: LashGrowth = output(None, "how far every valve's lash grows from cold to hot", key="")
    wheel: WheelResult | None = output(
        None, "degree-wheel readings against the card; None where the sheet has none", key=""
    )
    cam_late: Quantity = output(
        "angle", "how late the degree wheel found the cam against its card; minus: early"
    )
    cam_position: str = output(
        None, 'where the cam stands: as the degree "wheel" found it, or as on its "card"', key=""
    )
    picture: str = output(None, "which figure is wanted, of `PICTURES`", key="")


def events_answer(
    setup: Setup,
    checks: Sequence[tuple[float, str]] = ((0.0, "valve"),),
    lashes: Sequence[float] = (),
    picture: str = "lift",
    with_hot: bool = False,
    cam: str = "wheel",
    *,
    changed: bool = False,
) -> EventsAnswer:
    """Study the events.

    Args:
        setup: the engine.
        checks: (checking lift [m], "tappet" or "valve").
        lashes: none for the lash set; one for that lash at every valve; more for a sweep beside the lash set.
        picture: of `PICTURES`.
        with_hot: True for the events at the hot lash as well.
        cam: where the cam stands: as the degree "wheel" found it where it was read, or as on its "card".
        changed: True where `lashes` are changes of every valve's own lash.
    """
    stands = as_on_card(setup) if cam == "card" else setup
    lash = lashes_at_valves(setup, np.array(lashes), changed=changed)[0] if len(lashes) == 1 else None
    first, *more = (events_study(stands, lift, at, lash) for lift, at in checks)
    zero = (0.0, "valve")
    # At the tappet the lash plays no part: what it changes is the valve's own lift-off.
    swept = (*checks, zero) if zero not in checks else tuple(checks)
    growth = lash_growth_study(setup, events_inputs(stands, lash).columns)
    wheel = wheel_study(setup) if setup.wheel else None
    late = (np.nan, np.nan) if wheel is None else (wheel.advance, wheel.uncertainty)
    count = len(setup.trains)
    return EventsAnswer(
        **vars(first),
        more=tuple(more),
        lift_off=events_study(stands, *zero, lash) if zero not in checks else None,
        sweep=events_sweep_study(stands, lashes, swept, changed=changed) if len(lashes) > 1 else None,
        hot=_hot(stands, checks[0], lash, growth, first) if with_hot else None,
        growth=growth,
        wheel=wheel,
        cam_late=Quantity("angle", np.full(count, late[0]), np.full(count, late[1]), {}),
        cam_position="wheel" if stands.wheel else "card",
        picture=picture,
    )


def _hot(
    setup: Setup,
    check: tuple[float, str],
    lash: FloatArray | None,
    growth: LashGrowth,
    set_lash: EventsResult,
) -> EventsResult | None:
    """Events at the hot lash; a lash below none holds the valve open and has no events.

    None where no valve's lash grows, so far as is known: then the events at the lash set are all there is.
    """
    hot = hot_lash(setup, growth, set_lash.lash)
    cold = np.array([train.lash.state == "cold" for train in setup.trains])
    if not np.any(cold & ~np.isnan(hot.value)):
        return None
    # At the pushrod the lash is smaller by the rocker's ratio, hot as well as cold.
    measured = setup.column("lash", "lash").value if lash is None else lash
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(set_lash.lash.value > 0, measured / set_lash.lash.value, 1.0)
    at_hot = events_study(setup, *check, np.where(hot.value >= 0, share * hot.value, np.nan))
    # The doubt of the hot lash itself moves the events: from how they differ between two lashes around it.
    step = 25e-6
    wider = events_study(setup, *check, np.where(hot.value >= 0, share * (hot.value + step), np.nan))
    changed = {}
    for name in ("opens", "closes", "duration", "max_lift"):
        here, there = getattr(at_hot, name), getattr(wider, name)
        slope = np.abs(there.value - here.value) / step
        doubt = np.hypot(here.uncertainty, slope * hot.uncertainty)
        changed[name] = replace(here, uncertainty=doubt)
    return replace(at_hot, lash=hot, **changed)
