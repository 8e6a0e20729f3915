"""When does each valve really open and close at the lash that is set?"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.lift_curve import LiftCurve
from valvetrain.mechanics.rocker_linkage import pad_drop_and_ratio, tappet_lift_at_pad_drop
from valvetrain.mechanics.valve_events import crossings
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.linkage_inputs import closed_linkage, lash_at_valve, linkage_columns
from valvetrain.studies.quantity import Quantity, computed

__all__ = ["EventsResult", "events_study"]

_DIMENSIONS = {
    "lash": "length",
    "opens": "angle",
    "closes": "angle",
    "duration": "angle",
    "centerline": "angle",
    "max_lift": "length",
    "tappet_lift_at_event": "length",
}


@dataclass(frozen=True)
class EventsResult:
    """Events of every valve at one checking lift, in crank angle.

    Attributes:
        checking_lift: the lift at which they are read [m]; checked_at: "tappet" or "valve". A checking lift
            of 0 at the valve is lift-off and seating.
        lash: as used, along the stem.
        opens: intake before top dead center, exhaust before bottom dead center; closes: intake after bottom
            dead center, exhaust after top dead center; negative on the other side.
        duration: from opening to closing; centerline: their middle, intake after and exhaust before top dead
            center; max_lift: net lift at the valve, or lobe lift at the tappet.
        tappet_lift_at_event: tappet lift at which the events are.
        overlap: per cylinder, intake opening to exhaust closing; NaN where one of the two is not known.
        cylinders: number of each cylinder of `overlap`.
        lobe_source: per valve "table", "law", "card" or "" where no lobe is described.
    """

    valves: tuple[str, ...]
    roles: tuple[str, ...]
    checking_lift: float
    checked_at: str
    lash: Quantity
    opens: Quantity
    closes: Quantity
    duration: Quantity
    centerline: Quantity
    max_lift: Quantity
    tappet_lift_at_event: Quantity
    overlap: Quantity
    cylinders: tuple[int, ...]
    lobe_source: tuple[str, ...]


def events_study(setup: Setup, checking_lift: float = 0.0, checked_at: str = "valve") -> EventsResult:
    """Study the events at a checking lift [m] at the "tappet" or at the "valve"; lift-off if left out.

    Raises:
        ValueError: a checking lift that is negative, or zero at the tappet, where no event is defined.
    """
    if checked_at not in ("tappet", "valve"):
        raise ValueError(f"checked_at is {checked_at!r}; it must be 'tappet' or 'valve'")
    if not checking_lift >= 0 or (checked_at == "tappet" and checking_lift == 0):
        raise ValueError(f"a checking lift of {checking_lift:g} m at the {checked_at} has no events")
    curves = [lobe_curve(train.lobe) for train in setup.trains]
    inputs = linkage_columns(setup) | _cam_columns(setup, curves)
    at_pushrod = np.array([train.lash.at == "pushrod" for train in setup.trains])
    intake = np.array([role == "intake" for role in setup.roles])
    pairs = _pairs(setup)
    quantities = computed(
        lambda rows: _quantities(rows, curves, intake, pairs, at_pushrod, checking_lift, checked_at),
        inputs,
        _DIMENSIONS | {"overlap": "angle"},
    )
    return EventsResult(
        valves=setup.valves,
        roles=setup.roles,
        checking_lift=checking_lift,
        checked_at=checked_at,
        cylinders=tuple(setup.trains[first].cylinder for first, _ in pairs),
        lobe_source=tuple("" if curve is None else curve.source for curve in curves),
        **quantities,
    )


def _cam_columns(setup: Setup, curves: list[LiftCurve | None]) -> dict[str, Column]:
    """Return the lobe center of every valve, and the doubt of the lift curves as shifts of zero mean."""
    cam, count = setup.cam, len(setup.trains)
    center, doubt, source = np.full(count, np.nan), np.zeros(count), [""] * count
    for index, role in enumerate(setup.roles):
        own = cam.intake_centerline if role == "intake" else cam.exhaust_centerline
        other = cam.exhaust_centerline if role == "intake" else cam.intake_centerline
        if own is not None:
            center[index], doubt[index], source[index] = own.value, own.uncertainty, own.source
        elif other is not None and cam.lobe_separation is not None:
            # Separation is counted in cam degrees, centerlines in crank degrees.
            center[index] = 2 * cam.lobe_separation.value - other.value
            doubt[index] = np.hypot(2 * cam.lobe_separation.uncertainty, other.uncertainty)
            source[index] = f"{cam.lobe_separation.source}, {other.source}"
    noise = np.array([0.0 if curve is None else curve.lift_uncertainty for curve in curves])
    where = tuple("" if train.lobe.table is None else train.lobe.table.source for train in setup.trains)
    return {
        "cam.centerline": Column(center, doubt, tuple(source)),
        "lobe table, opening": Column(np.zeros(count), noise, where),
        "lobe table, closing": Column(np.zeros(count), noise, where),
    }


def _pairs(setup: Setup) -> list[tuple[int, int]]:
    """Return (intake, exhaust) indices of each cylinder; the first of each role in a four-valve head."""
    found: dict[int, dict[str, int]] = {}
    for index, train in enumerate(setup.trains):
        found.setdefault(train.cylinder, {}).setdefault(train.role, index)
    return [(each["intake"], each["exhaust"]) for each in found.values()]


def _quantities(
    rows: Mapping[str, FloatArray],
    curves: list[LiftCurve | None],
    intake: np.ndarray,
    pairs: list[tuple[int, int]],
    at_pushrod: np.ndarray,
    checking_lift: float,
    checked_at: str,
) -> dict[str, FloatArray]:
    """Compute the study's quantities from sheet keys, each [k, n]."""
    lash, lobe_lift = lash_at_valve(rows, at_pushrod), rows["lobe.lift"]
    closed = closed_linkage(rows, lash)
    gross = pad_drop_and_ratio(closed, lobe_lift[..., np.newaxis])[0][..., 0]
    gross = np.where(np.isnan(gross), rows["rocker.nominal_ratio"] * lobe_lift, gross)
    if checked_at == "tappet":
        level, highest = np.full(lobe_lift.shape, checking_lift), lobe_lift
    else:
        drop = checking_lift + lash
        level = tappet_lift_at_pad_drop(closed, drop[..., np.newaxis])[..., 0]
        level = np.where(np.isnan(level), drop / rows["rocker.nominal_ratio"], level)
        highest = np.maximum(gross - lash, 0.0)
    # A lobe lower than it should be is worn at its nose: its flanks stay, its lift is cut off.
    level = np.where(level < lobe_lift, level, np.nan)
    opening, closing = np.full(level.shape, np.nan), np.full(level.shape, np.nan)
    for curve in {id(each): each for each in curves if each is not None}.values():
        own = np.array([each is curve for each in curves])
        opening[..., own] = crossings(curve, level[..., own] - rows["lobe table, opening"][..., own]).opening
        closing[..., own] = crossings(curve, level[..., own] - rows["lobe table, closing"][..., own]).closing
    # Crank angle after the top dead center of the overlap: intake centers follow it, exhaust centers precede.
    center = np.where(intake, 1.0, -1.0) * rows["cam.centerline"]
    opens_at, closes_at = center + 2 * opening, center + 2 * closing
    overlap = np.stack([closes_at[..., out] - opens_at[..., into] for into, out in pairs], axis=-1)
    middle = 0.5 * (opens_at + closes_at)
    return {
        "lash": lash,
        "opens": np.where(intake, -opens_at, -pi - opens_at),
        "closes": np.where(intake, closes_at - pi, closes_at),
        # A duration needs no centerline.
        "duration": 2 * (closing - opening),
        "centerline": np.where(intake, middle, -middle),
        "max_lift": highest,
        "tappet_lift_at_event": level,
        "overlap": overlap,
    }
