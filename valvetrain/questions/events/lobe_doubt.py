"""How sure the flanks of each lobe are, as columns of the studies."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.cam.card_doubt import flank_width_and_middle
from valvetrain.mechanics.cam.curve_doubt import card_area_doubt, table_slope_doubt
from valvetrain.mechanics.cam.events import crossings
from valvetrain.mechanics.cam.lift_curve import CENTER_DROP, LiftCurve
from valvetrain.mechanics.cam.likely_flank import likely_flank
from valvetrain.parts.card import card_figures
from valvetrain.parts.card_flanks import CardFlanks, card_flanks
from valvetrain.parts.lobe import Lobe
from valvetrain.questions.events.law_doubt import law_angle_doubts, law_lift_doubt
from valvetrain.setup.setup import Column, Setup

__all__ = [
    "ANGLES",
    "FLANKS",
    "FlankDoubt",
    "area_doubts",
    "flank_doubts",
    "lift_doubt",
    "slope_doubts",
]

FLANKS = ("opening", "closing")
ANGLES = ("width", "middle")


@dataclass(frozen=True)
class FlankDoubt:
    """Doubt of the lobes as inputs of zero mean, shape [n].

    Attributes:
        lift: flank -> doubt of the tappet lift at which an event is [m]: a table's noise and runout.
        angle: "width" -> doubt of both flanks' angles outward, "middle" -> of both the same way [cam rad]:
            what a card, a law's figures or a table's lash leave open.
    """

    lift: dict[str, Column]
    angle: dict[str, Column]


def flank_doubts(setup: Setup, curves: list[LiftCurve | None], level: FloatArray) -> FlankDoubt:
    """Return how sure the flanks are at the tappet lifts `level` [m], one a valve, shape [n]."""
    count = len(setup.trains)
    noise = {flank: np.zeros(count) for flank in FLANKS}
    angles = {name: np.zeros(count) for name in ANGLES}
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
        width, middle = _angle_doubts(train.lobe, curve, float(level[index]), at)
        angles["width"][index], angles["middle"][index] = width, middle
        for flank in FLANKS:
            if table is not None and np.isfinite(at[flank]):
                noise[flank][index] = np.hypot(curve.lift_doubt(at[flank]), swing)
        figures = card_figures(train.lobe) if curve.source == "card" else None
        sources[index] = figures.source if figures is not None else sources[index]
    zero, where = np.zeros(count), tuple(sources)
    return FlankDoubt(
        {flank: Column(zero, noise[flank], where) for flank in FLANKS},
        {name: Column(zero, angles[name], where) for name in ANGLES},
    )


def lift_doubt(lobe: Lobe, curve: LiftCurve, angle: FloatArray) -> FloatArray:
    """Return the standard uncertainty of tappet lift at cam angles from the lobe's center [m].

    Of a card: its flank's angle there, times the slope. Of a table: what its readings' noise leaves there.
    Of a law: what its figures leave.
    """
    if curve.source == "law":
        return law_lift_doubt(lobe, angle)
    card = card_flanks(lobe) if curve.source == "card" else None
    if card is None:
        return np.nan_to_num(curve.lift_doubt(angle))
    level = curve.lift(angle)
    # Either flank as sure as the other: the one that the angle is not on plays no part in the sum.
    away = np.abs(angle - (card.nose - curve.center))
    return np.asarray(np.abs(curve.velocity(angle)) * np.hypot(*_card_spread(card, curve, level, away, away)))


def slope_doubts(setup: Setup, curves: list[LiftCurve | None], level: FloatArray) -> Column:
    """Return the relative doubt of the slopes at the tappet lifts `level` [m] as an input of zero mean."""
    doubt, sources = np.zeros(len(curves)), [""] * len(curves)
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        if curve is None or np.isnan(level[index]):
            continue
        if curve.source == "card":
            card = card_flanks(train.lobe)
            assert card is not None
            both = [flank.slope_doubt_at(level[index]) for flank in (card.opening, card.closing)]
            doubt[index], sources[index] = np.hypot(*both) / np.sqrt(2.0), card.figures.source
        elif curve.source == "table" and level[index] > 0:
            doubt[index] = float(table_slope_doubt(level[index], np.nan_to_num(curve.noise)))
            sources[index] = "" if train.lobe.table is None else train.lobe.table.source
    return Column(np.zeros(len(curves)), doubt, tuple(sources))


def area_doubts(setup: Setup, curves: list[LiftCurve | None]) -> Column:
    """Return the relative doubt that a card leaves of the area under its lobe, as an input of zero mean."""
    doubt, sources = np.zeros(len(curves)), [""] * len(curves)
    for index, (train, curve) in enumerate(zip(setup.trains, curves, strict=True)):
        card = card_flanks(train.lobe) if curve is not None and curve.source == "card" else None
        if curve is None or card is None:
            continue
        figures, sources[index] = card.figures, card.figures.source
        written = card_area_doubt(figures.lifts, figures.durations, figures.duration_doubt, curve.max_lift)
        doubt[index] = np.hypot(written, 0.5 * (card.opening.area_doubt + card.closing.area_doubt))
    return Column(np.zeros(len(curves)), doubt, tuple(sources))


def _angle_doubts(lobe: Lobe, curve: LiftCurve, level: float, at: dict[str, float]) -> tuple[float, float]:
    """Doubt of a lobe's half width and middle [cam rad] at a tappet lift; its flanks are `at` [cam rad]."""
    if not all(np.isfinite(each) for each in at.values()):
        return 0.0, 0.0
    if curve.source == "card":
        card = card_flanks(lobe)
        assert card is not None
        nose = card.nose - curve.center
        width, middle = _card_spread(card, curve, level, nose - at["opening"], at["closing"] - nose)
        return float(width), float(middle)
    if curve.source == "law":
        of_law = law_angle_doubts(lobe, level)
        return float(np.nan_to_num(of_law[0])), float(np.nan_to_num(of_law[1]))
    hidden = 0.0 if lobe.table is None else lobe.table.seen_from
    if level >= hidden:
        return 0.0, 0.0
    # Below the lash of a net table the flank is carried on smoothly, unseen: what it has above says how sure.
    lifts = hidden * np.array([1.0, 1.5, 2.5, 4.0])
    lifts = lifts[lifts < 0.7 * curve.max_lift]
    seen = crossings(curve, lifts)
    doubts = []
    for side, angle in (
        (curve.peak_angle - seen.opening, curve.peak_angle - at["opening"]),
        (seen.closing - curve.peak_angle, at["closing"] - curve.peak_angle),
    ):
        flank = likely_flank(tuple(lifts), tuple(side), (0.0,) * lifts.size, curve.max_lift)
        doubts.append(float(side[0]) if flank is None else float(flank.doubt_at(level, angle)))
    width, middle = flank_width_and_middle(doubts[0], doubts[1], 0.0, placed=True)
    return float(width), float(middle)


def _card_spread(
    card: CardFlanks, curve: LiftCurve, level: ArrayLike, before: ArrayLike, after: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Doubt of half width and middle [cam rad] at tappet lifts, the flanks so far from the nose [cam rad]."""
    figures = card.figures
    doubts = card.opening.doubt_at(level, before), card.closing.doubt_at(level, after)
    away = 0.5 * (np.asarray(before, float) + np.asarray(after, float))
    lifts = np.array(figures.lifts)
    half = 0.5 * np.interp(np.asarray(level, float), lifts, figures.duration_doubt)
    if figures.placed:
        # Each flank is known by itself up to the highest checking lift; above it the nose may lean.
        top = 0.5 * (figures.closing[-1] - figures.opening[-1])
        wander = np.maximum(top - away, 0.0)
        written = half
    else:
        # The middle is known where the lobe's center is read.
        center = crossings(curve, max(curve.max_lift - CENTER_DROP, 0.5 * curve.max_lift))
        wander, written = away - 0.5 * float(center.duration), np.zeros_like(half)
    width, middle = flank_width_and_middle(*doubts, wander, placed=figures.placed)
    return np.hypot(width, half), np.hypot(middle, written)
