"""Where each lobe's center stands on the crank: as the degree wheel found it, or else as its card says."""

from dataclasses import replace
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.event_placement import Role, centerline_from_placed
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.mechanics.rocker.linkage import tappet_lift_at_pad_drop
from valvetrain.parts.lobe_curve import lobe_curve
from valvetrain.parts.wheel import WheelReading
from valvetrain.questions.events.lobe_doubt import flank_doubts
from valvetrain.questions.rocker.linkage_inputs import closed_linkage, lash_at_valve
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = ["as_on_card", "card_centers", "centerlines"]

_LEAST = 1e-6


def as_on_card(setup: Setup) -> Setup:
    """Return the setup as if nobody had read the degree wheel: its cam stands where the card says."""
    return replace(setup, wheel=())


def centerlines(setup: Setup, curves: list[LiftCurve | None]) -> Column:
    """Return the crank angle of every lobe's center: intake after, exhaust before top dead center.

    Where the degree wheel was read it tells: the lobe's center is the middle of the events read, less what
    the lobe's own middle at that lift is off its center. A role that was not read has moved with the other,
    by the whole cam. Else the card's, see `card_centers`.
    """
    card = card_centers(setup, curves)
    if not setup.wheel:
        return card
    value, doubt, source = card.value.copy(), card.uncertainty.copy(), list(card.source)
    found = {role: _found(setup, role) for role in dict.fromkeys(setup.roles)}
    for index, role in enumerate(setup.roles):
        own = found[role]
        if own is None:
            other = next((each for name, each in found.items() if name != role and each is not None), None)
            own = _moved_along(card, setup.roles, index, other)
        if own is not None:
            value[index], doubt[index], source[index] = own
    return Column(value, doubt, tuple(source))


def card_centers(setup: Setup, curves: list[LiftCurve | None]) -> Column:
    """Return the centers as the sheet's card has them.

    As written in [cam]; else through the lobe separation from the other role's; else from the opening and
    closing angles of the card itself, whose own doubt then is that of the events.
    """
    cam, count = setup.cam, len(setup.trains)
    center, doubt, source = np.full(count, np.nan), np.zeros(count), [""] * count
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        role = train.role
        own = cam.intake_centerline if role == "intake" else cam.exhaust_centerline
        other = cam.exhaust_centerline if role == "intake" else cam.intake_centerline
        if own is not None:
            center[index], doubt[index], source[index] = own.value, own.uncertainty, own.source
        elif other is not None and cam.lobe_separation is not None:
            # Separation is counted in cam degrees, centerlines in crank degrees.
            center[index] = 2 * cam.lobe_separation.value - other.value
            doubt[index] = np.hypot(2 * cam.lobe_separation.uncertainty, other.uncertainty)
            source[index] = f"{cam.lobe_separation.source}, {other.source}"
        elif curve is not None and curve.source == "card" and len(train.lobe.events) >= 2:
            center[index] = 2 * curve.center if role == "intake" else pi - 2 * curve.center
            source[index] = train.lobe.events[0].opens.source if train.lobe.events[0].opens else ""
    return Column(center, doubt, tuple(source))


def _moved_along(
    card: Column, roles: tuple[str, ...], index: int, other: tuple[float, float, str] | None
) -> tuple[float, float, str] | None:
    """A lobe that was not read, moved by as much as the other role's was found off its card."""
    if other is None or np.isnan(card.value[index]):
        return None
    there = next((place for place, role in enumerate(roles) if role != roles[index]), None)
    if there is None or np.isnan(card.value[there]):
        return None
    # Late is farther after top dead center for the intake, nearer before it for the exhaust.
    value = float(card.value[index] - (other[0] - card.value[there]))
    doubt = float(np.hypot(other[1], np.hypot(card.uncertainty[index], card.uncertainty[there])))
    return value, doubt, f"{card.source[index]}, {other[2]}"


def _found(setup: Setup, role: str) -> tuple[float, float, str] | None:
    """A role's center by its own readings: value, standard uncertainty [crank rad], where they stand."""
    centers, read_doubts, lobe_doubts, sources = [], [], [], []
    for reading in setup.wheel:
        own = _middle(setup, reading) if reading.role == role else None
        if own is None:
            continue
        way: Role = "intake" if role == "intake" else "exhaust"
        read = float(centerline_from_placed(reading.opens.value, reading.closes.value, way))
        centers.append(read - own[0] if role == "intake" else read + own[0])
        read_doubts.append(0.5 * float(np.hypot(reading.opens.uncertainty, reading.closes.uncertainty)))
        lobe_doubts.append(own[1])
        sources.append(reading.source)
    if not centers:
        return None
    of_reading, of_lobe = np.maximum(read_doubts, _LEAST), np.array(lobe_doubts)
    weight = 1.0 / (of_reading**2 + of_lobe**2)
    weight = weight / weight.sum()
    # The readings are each other's strangers; what the lobe leaves open is the same for all of them.
    doubt = float(np.hypot(np.linalg.norm(weight * of_reading), weight @ of_lobe))
    return float(weight @ np.array(centers)), doubt, ", ".join(dict.fromkeys(sources))


def _middle(setup: Setup, reading: WheelReading) -> tuple[float, float] | None:
    """How far the middle of a lobe's events at a reading's lift is after its center [crank rad]; doubt."""
    index = setup.valves.index(reading.valve)
    one = replace(setup, trains=(setup.trains[index],), wheel=(), tested_springs=(), shaft_rows=())
    curve = lobe_curve(one.trains[0].lobe)
    level = _tappet_lift(one, reading)
    if curve is None or np.isnan(level):
        return None
    events = crossings(curve, level)
    if not np.isfinite(events.duration):
        return None
    doubt = flank_doubts(one, [curve], np.array([level]))
    # A reading's error of lift moves an event by itself over the flank's slope.
    slopes = np.abs(curve.velocity(np.array([events.opening, events.closing])))
    noise = [float(doubt.lift[flank].uncertainty[0]) for flank in ("opening", "closing")]
    shift = float(np.linalg.norm(np.array(noise) / np.maximum(slopes, 1e-9)))
    return float(2 * events.centerline), float(np.hypot(2 * doubt.angle["middle"].uncertainty[0], shift))


def _tappet_lift(one: Setup, reading: WheelReading) -> float:
    """Tappet lift at which a reading was taken, at the only valve of a setup [m]."""
    if reading.checked_at == "tappet":
        return reading.checking_lift.value
    rows: dict[str, FloatArray] = {key: column.value for key, column in linkage_columns(one).items()}
    lash = lash_at_valve(rows, np.array([one.trains[0].lash.at == "pushrod"]))
    drop = reading.checking_lift.value + lash
    level = tappet_lift_at_pad_drop(closed_linkage(rows, lash), drop[..., np.newaxis])[..., 0]
    return float(np.where(np.isnan(level), drop / rows["rocker.nominal_ratio"], level)[0])
