"""When does each valve really open and close at the lash that is set?"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from valvetrain.answers.output import dimensions, output
from valvetrain.answers.over_valves import summed
from valvetrain.answers.quantity import Quantity, computed
from valvetrain.answers.simulation import simulation
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.event_placement import Role, lobe_separation, overlap, placed_events
from valvetrain.mechanics.cam.events import area_under_lift, crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.mechanics.rocker.linkage import (
    ClosedPosition,
    pad_drop,
    pad_drop_and_ratio,
    tappet_lift_at_pad_drop,
)
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.questions.events.cam_position import centerlines
from valvetrain.questions.events.lobe_doubt import ANGLES, FLANKS, area_doubts, flank_doubts
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = [
    "EventsInputs",
    "EventsResult",
    "checked_case",
    "event_quantities",
    "events_inputs",
    "events_study",
]

_ROLES: tuple[Role, Role] = ("intake", "exhaust")


@dataclass(frozen=True)
class EventsResult:
    """Events of every valve at one checking lift, in crank angle; minus where one is on the other side.

    Overlap and separation have an entry a cylinder, in the order of `cylinders`.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    checking_lift: float = output(
        "length", "lift at which the events are read; 0 at the valve: lift-off and seating", key=""
    )
    checked_at: str = output(None, "where that lift is read: tappet or valve", key="")
    lash: Quantity = output("length", "lash as used, along the stem")
    opens: Quantity = output("angle", "opening: intake before top, exhaust before bottom dead center")
    closes: Quantity = output("angle", "closing: intake after bottom, exhaust after top dead center")
    duration: Quantity = output("angle", "from opening to closing")
    centerline: Quantity = output(
        "angle", "middle of the two events: intake after, exhaust before top dead center"
    )
    max_lift: Quantity = output(
        "length", "net lift at the valve, or lobe lift at the tappet", heading="greatest lift"
    )
    area: Quantity = output("lift_area", "under that lift between the two events, over crank angle")
    tappet_lift_at_event: Quantity = output("length", "tappet lift at which the events are")
    overlap: Quantity = output("angle", "first intake opening to last exhaust closing of a cylinder")
    separation: Quantity = output(
        "angle",
        "between the two centerlines of a cylinder at this checking lift, on the cam",
        heading="lobe separation",
        key="lobe_separation",
    )
    cylinders: tuple[int, ...] = output(None, "number of each cylinder", key="")
    lobe_source: tuple[str, ...] = output(
        None, 'where the lobe is known from: "table", "law", "card", or "" where none is described'
    )
    absent: tuple[bool, ...] = output(
        None, "True where the valve, as far as it is known, never reaches the checking lift"
    )


@dataclass(frozen=True)
class EventsInputs:
    """What does not depend on the checking lift.

    Attributes:
        curves: lift curve of every valve's lobe; None where none is described.
        columns: sheet key -> column, the lobes' doubt left out.
        at_pushrod: True where the lash is measured at the pushrod, shape [n].
        cylinders: (number, indices of its intake valves, of its exhaust valves).
    """

    setup: Setup
    curves: list[LiftCurve | None]
    columns: dict[str, Column]
    at_pushrod: np.ndarray
    cylinders: list[tuple[int, list[int], list[int]]]


def checked_case(checking_lift: float, checked_at: str) -> None:
    """Raise ValueError for a checking lift that has no events: negative, or zero at the tappet."""
    if checked_at not in ("tappet", "valve"):
        raise ValueError(f"checked_at is {checked_at!r}; it must be 'tappet' or 'valve'")
    if not checking_lift >= 0 or (checked_at == "tappet" and checking_lift == 0):
        raise ValueError(f"a checking lift of {checking_lift:g} m at the {checked_at} has no events")


def events_inputs(setup: Setup, lash: float | FloatArray | None = None) -> EventsInputs:
    """Gather the inputs; `lash` [m] at every valve in place of that in the sheet, where it is measured."""
    curves = [lobe_curve(train.lobe) for train in setup.trains]
    columns = linkage_columns(setup) | {"cam.centerline": centerlines(setup, curves)}
    if lash is not None:
        found = columns["lash.lash"]
        known = found.uncertainty[~np.isnan(found.value)]
        # It will be set with the same feeler as the lash that was found.
        doubt = np.full(found.value.shape, float(np.median(known)) if known.size else 0.0)
        wanted = np.broadcast_to(np.asarray(lash, float), found.value.shape)
        columns["lash.lash"] = replace(found, value=wanted, uncertainty=doubt)
    cylinders: dict[int, tuple[list[int], list[int]]] = {}
    for index, train in enumerate(setup.trains):
        into, out = cylinders.setdefault(train.cylinder, ([], []))
        (into if train.role == "intake" else out).append(index)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    numbered = [(number, into, out) for number, (into, out) in cylinders.items()]
    return EventsInputs(setup, curves, columns, at_pushrod, numbered)


def events_study(
    setup: Setup,
    checking_lift: float = 0.0,
    checked_at: str = "valve",
    lash: float | FloatArray | None = None,
) -> EventsResult:
    """Study the events at a checking lift [m] at the "tappet" or at the "valve"; lift-off if left out.

    Args:
        setup: the engine.
        checking_lift, checked_at: where the events are read.
        lash: [m], one or one a valve, in place of the sheet's, where the sheet measures it; left out: the
            sheet's.

    Raises:
        ValueError: a checking lift that is negative, or zero at the tappet, where no event is defined.
    """
    checked_case(checking_lift, checked_at)
    inputs = events_inputs(setup, lash)
    rows = {key: column.value[np.newaxis] for key, column in inputs.columns.items()}
    level, top, wanted = (each[0] for each in _levels(rows, inputs, checking_lift, checked_at)[:3])
    doubt = flank_doubts(setup, inputs.curves, level)
    columns = dict(inputs.columns) | {"lobe area": area_doubts(setup, inputs.curves)}
    for flank in FLANKS:
        columns[f"lobe lift, {flank}"] = doubt.lift[flank]
    for name in ANGLES:
        columns[f"lobe flanks, {name}"] = doubt.angle[name]
    quantities = computed(
        lambda moved: event_quantities(moved, inputs, checking_lift, checked_at),
        columns,
        dimensions(EventsResult),
        apart=("overlap", "separation"),
    )
    if simulation() is None:
        quantities |= _of_cylinders(quantities, inputs, columns)
    return EventsResult(
        valves=setup.valves,
        roles=setup.roles,
        checking_lift=checking_lift,
        checked_at=checked_at,
        cylinders=tuple(number for number, _, _ in inputs.cylinders),
        lobe_source=tuple("" if curve is None else curve.source for curve in inputs.curves),
        absent=tuple(bool(each) for each in wanted >= top),
        **quantities,
    )


def _of_cylinders(
    found: Mapping[str, Quantity], inputs: EventsInputs, columns: Mapping[str, Column]
) -> dict[str, Quantity]:
    """Overlap and separation of each cylinder with the doubt of its valves' events."""
    shape = (len(inputs.cylinders), len(inputs.curves))
    first, last, middle = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for row, (_, into, out) in enumerate(inputs.cylinders):
        if not into or not out:
            continue
        first[row, into[int(np.argmax(found["opens"].value[into]))]] = 1.0
        last[row, out[int(np.argmax(found["closes"].value[out]))]] = 1.0
        middle[row, into], middle[row, out] = 0.5 / len(into), 0.5 / len(out)
    return {
        "overlap": summed(found["overlap"], ((found["opens"], first), (found["closes"], last)), columns),
        "separation": summed(found["separation"], ((found["centerline"], middle),), columns),
    }


def _levels(
    rows: Mapping[str, FloatArray], inputs: EventsInputs, checking_lift: float, checked_at: str
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, ClosedPosition]:
    """Tappet lift at the events (NaN where it is never reached), greatest and wanted lift there, lash, gross.

    All [k, n], with the linkage on the base circle.
    """
    lash, lobe_lift = lash_at_valve(rows, inputs.at_pushrod), rows["lobe.lift"]
    closed = closed_linkage(rows, lash)
    gross = pad_drop_and_ratio(closed, lobe_lift[..., np.newaxis])[0][..., 0]
    gross = np.where(np.isnan(gross), rows["rocker.nominal_ratio"] * lobe_lift, gross)
    if checked_at == "tappet":
        wanted = np.full(lobe_lift.shape, checking_lift)
        level, highest = wanted, lobe_lift
    else:
        drop = checking_lift + lash
        level = tappet_lift_at_pad_drop(closed, drop[..., np.newaxis])[..., 0]
        level = np.where(np.isnan(level), drop / rows["rocker.nominal_ratio"], level)
        highest = np.maximum(gross - lash, 0.0)
        wanted = np.full(lobe_lift.shape, checking_lift)
    # A lobe lower than it should be is worn at its nose: its flanks stay, its lift is cut off.
    level = np.where(level < lobe_lift, level, np.nan)
    return level, highest, wanted, lash, gross, closed


def event_quantities(
    rows: Mapping[str, FloatArray], inputs: EventsInputs, checking_lift: float, checked_at: str
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]; see `EventsResult`.

    Rows without the lobes' doubt ("lobe lift, opening" and so on) take the curves as they are.
    """
    level, highest, _, lash, _, closed = _levels(rows, inputs, checking_lift, checked_at)
    shape = level.shape
    zero = np.zeros(shape)
    events = {flank: np.full(shape, np.nan) for flank in FLANKS}
    area = np.full(shape, np.nan)
    for curve in {id(each): each for each in inputs.curves if each is not None}.values():
        own = np.array([each is curve for each in inputs.curves])
        shifts = [rows.get(f"lobe lift, {flank}", zero)[..., own] for flank in FLANKS]
        if np.any(shifts[0]) or np.any(shifts[1]):
            found = crossings(curve, np.stack([level[..., own] - shift for shift in shifts]))
            events["opening"][..., own], events["closing"][..., own] = found.opening[0], found.closing[1]
        else:
            found = crossings(curve, level[..., own])
            events["opening"][..., own], events["closing"][..., own] = found.opening, found.closing
        rise = _lift_between(curve, own, rows, closed, lash, checked_at)
        area[..., own] = area_under_lift(
            rise, events["opening"][..., own], events["closing"][..., own], nodes=12
        )
    wider, later = (rows.get(f"lobe flanks, {name}", zero) for name in ANGLES)
    events["opening"] = events["opening"] + later - wider
    events["closing"] = events["closing"] + later + wider
    placed: dict[str, FloatArray] = {
        name: np.full(shape, np.nan) for name in ("opens", "closes", "centerline")
    }
    for role in _ROLES:
        own = np.array([each == role for each in inputs.setup.roles])
        opening, closing = events["opening"][..., own], events["closing"][..., own]
        at = placed_events(opening, closing, rows["cam.centerline"][..., own], role)
        for name, column in placed.items():
            column[..., own] = getattr(at, name)
    opens, closes, centerline = placed["opens"], placed["closes"], placed["centerline"]
    both = [
        (
            # Of several valves of a role the first to open and the last to close count.
            overlap(opens[..., into].max(axis=-1), closes[..., out].max(axis=-1)),
            lobe_separation(centerline[..., into].mean(axis=-1), centerline[..., out].mean(axis=-1)),
        )
        for _, into, out in inputs.cylinders
    ]
    return {
        "lash": lash,
        "opens": opens,
        "closes": closes,
        # A duration needs no centerline.
        "duration": 2 * (events["closing"] - events["opening"]),
        "centerline": centerline,
        "max_lift": highest,
        "area": 2 * area * (1 + rows.get("lobe area", zero)),
        "tappet_lift_at_event": level,
        "overlap": np.stack([each for each, _ in both], axis=-1),
        "separation": np.stack([each for _, each in both], axis=-1),
    }


def _lift_between(
    curve: LiftCurve,
    own: np.ndarray,
    rows: Mapping[str, FloatArray],
    closed: ClosedPosition,
    lash: FloatArray,
    checked_at: str,
) -> Callable[[FloatArray], FloatArray]:
    """Lift [m] over cam angle, shape [k, own, angles]: at the tappet, or net at the valve."""
    lobe_lift = rows["lobe.lift"][..., own, np.newaxis]
    ratio = rows["rocker.nominal_ratio"][..., own, np.newaxis]
    gap = lash[..., own, np.newaxis]
    # The columns of these valves only, of every array of the linkage.
    part = ClosedPosition(**{name: value[..., own] for name, value in vars(closed).items()})

    def lift(angle: FloatArray) -> FloatArray:
        rise = np.minimum(curve.lift(angle), lobe_lift)
        if checked_at == "tappet":
            return rise
        drop = pad_drop(part, rise)
        return np.maximum(np.where(np.isnan(drop), ratio * rise, drop) - gap, 0.0)

    return lift
