"""Where each lobe's center is, and how sure its flanks are, as columns of the studies."""

from dataclasses import dataclass
from math import pi

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.cam.card_doubt import flank_doubt
from valvetrain.mechanics.cam.curve_doubt import CARD_SLOPE, card_area_doubt, table_slope_doubt
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import LiftCurve
from valvetrain.parts.card import card_figures
from valvetrain.parts.lobe import Lobe
from valvetrain.setup.setup import Column, Setup

__all__ = ["FLANKS", "FlankDoubt", "area_doubts", "centerlines", "flank_doubts", "lift_doubt", "slope_doubts"]

FLANKS = ("opening", "closing")


@dataclass(frozen=True)
class FlankDoubt:
    """Doubt of the lobes as inputs of zero mean, shape [n].

    Attributes:
        lift: flank -> doubt of the tappet lift at which an event is [m]: a table's noise and runout.
        angle: flank -> doubt of the event's angle [cam rad]: what a card, or a table's lash, leaves open.
    """

    lift: dict[str, Column]
    angle: dict[str, Column]


def centerlines(setup: Setup, curves: list[LiftCurve | None]) -> Column:
    """Return the crank angle of every lobe's center: intake after, exhaust before top dead center.

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


def flank_doubts(setup: Setup, curves: list[LiftCurve | None], level: FloatArray) -> FlankDoubt:
    """Return how sure the flanks are at the tappet lifts `level` [m], one a valve, shape [n]."""
    count = len(setup.trains)
    noise = {flank: np.zeros(count) for flank in FLANKS}
    angles = {flank: np.zeros(count) for flank in FLANKS}
    sources = [""] * count
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        if curve is None:
            continue
        table = train.lobe.table
        sources[index] = table.source if table is not None else ""
        if table is not None:
            swing = float(np.nan_to_num(curve.runout)) / (2 * np.sqrt(2.0))
            for flank in FLANKS:
                noise[flank][index] = np.hypot(curve.lift_uncertainty, swing)
        if np.isnan(level[index]):
            continue
        events = crossings(curve, float(level[index]))
        at = {"opening": float(events.opening), "closing": float(events.closing)}
        for flank, doubt in _angle_doubts(train.lobe, curve, float(level[index]), at).items():
            angles[flank][index] = doubt
            if table is not None and np.isfinite(at[flank]):
                noise[flank][index] = np.hypot(curve.lift_doubt(at[flank]), swing)
        figures = card_figures(train.lobe) if curve.source == "card" else None
        sources[index] = figures.source if figures is not None else sources[index]
    zero, where = np.zeros(count), tuple(sources)
    return FlankDoubt(
        {flank: Column(zero, noise[flank], where) for flank in FLANKS},
        {flank: Column(zero, angles[flank], where) for flank in FLANKS},
    )


def lift_doubt(lobe: Lobe, curve: LiftCurve, angle: FloatArray) -> FloatArray:
    """Return the standard uncertainty of tappet lift at cam angles from the lobe's center [m].

    Of a card: its flank's angle there, times the slope. Of a table: what its readings' noise leaves there.
    """
    figures = card_figures(lobe) if curve.source == "card" else None
    if figures is None:
        return np.nan_to_num(curve.lift_doubt(angle))
    level, lifts = curve.lift(angle), np.array(figures.lifts)
    shift = curve.center if figures.placed else 0.0
    sides = []
    for known, written in (
        (figures.opening, figures.opening_doubt),
        (figures.closing, figures.closing_doubt),
    ):
        shape = flank_doubt(level, angle, lifts, np.array(known) - shift)
        sides.append(np.hypot(shape, np.interp(level, lifts, written)))
    return np.asarray(np.abs(curve.velocity(angle)) * np.where(angle < 0, *sides))


def slope_doubts(setup: Setup, curves: list[LiftCurve | None], level: FloatArray) -> Column:
    """Return the relative doubt of the slopes at the tappet lifts `level` [m] as an input of zero mean."""
    doubt, sources = np.zeros(len(curves)), [""] * len(curves)
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        if curve is None or np.isnan(level[index]):
            continue
        if curve.source == "card":
            figures = card_figures(train.lobe)
            doubt[index], sources[index] = CARD_SLOPE, "" if figures is None else figures.source
        elif curve.source == "table" and level[index] > 0:
            doubt[index] = float(table_slope_doubt(level[index], np.nan_to_num(curve.noise)))
            sources[index] = "" if train.lobe.table is None else train.lobe.table.source
    return Column(np.zeros(len(curves)), doubt, tuple(sources))


def area_doubts(setup: Setup, curves: list[LiftCurve | None]) -> Column:
    """Return the relative doubt that a card leaves of the area under its lobe, as an input of zero mean."""
    doubt, sources = np.zeros(len(curves)), [""] * len(curves)
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        figures = card_figures(train.lobe) if curve is not None and curve.source == "card" else None
        if curve is None or figures is None:
            continue
        sources[index] = figures.source
        doubt[index] = card_area_doubt(
            figures.lifts, figures.durations, figures.duration_doubt, curve.max_lift
        )
    return Column(np.zeros(len(curves)), doubt, tuple(sources))


def _angle_doubts(lobe: Lobe, curve: LiftCurve, level: float, at: dict[str, float]) -> dict[str, float]:
    """Doubt of both flanks' angles at a tappet lift, which are `at` [cam rad]."""
    if curve.source == "card":
        figures = card_figures(lobe)
        assert figures is not None
        lifts = np.array(figures.lifts)
        # Opening and closing stand on the events' scale, or about the center already.
        shift = curve.center if figures.placed else 0.0
        known = {"opening": np.array(figures.opening) - shift, "closing": np.array(figures.closing) - shift}
        written = {"opening": figures.opening_doubt, "closing": figures.closing_doubt}
        return {
            flank: float(
                np.nan_to_num(
                    np.hypot(
                        flank_doubt(level, at[flank], lifts, known[flank]),
                        np.interp(level, lifts, written[flank]),
                    )
                )
            )
            for flank in FLANKS
        }
    hidden = 0.0 if lobe.table is None else lobe.table.seen_from
    if level >= hidden:
        return dict.fromkeys(FLANKS, 0.0)
    # Below the lash of a net table the flank is carried on smoothly, unseen.
    seen = crossings(curve, hidden)
    edges = {"opening": float(seen.opening), "closing": float(seen.closing)}
    doubts = {
        flank: flank_doubt(level, at[flank], np.array([hidden]), np.array([edges[flank]])) for flank in FLANKS
    }
    return {flank: float(np.nan_to_num(doubt)) for flank, doubt in doubts.items()}
