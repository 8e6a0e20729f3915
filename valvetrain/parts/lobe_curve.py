"""The lift curve of a lobe, from whatever the sheet gives: a table, a motion law, or cam-card figures."""

import functools

from valvetrain.mechanics.cam.card import lift_curve_from_card, lift_curve_from_event_angles
from valvetrain.mechanics.cam.law_lobe import LawLobe
from valvetrain.mechanics.cam.lift_curve import LiftCurve, lift_curve_from_law
from valvetrain.mechanics.cam.lift_table_fit import lift_curve_from_table
from valvetrain.parts.card_flanks import CardFlanks, card_flanks
from valvetrain.parts.lobe import Lobe
from valvetrain.parts.measured import Measured

__all__ = ["lobe_curve"]


def lobe_curve(lobe: Lobe) -> LiftCurve | None:
    """Return the lobe's lift curve as it should be, or None where the sheet does not describe one.

    A table comes before a law, a law before a cam card. What is measured at one valve (`measured_lift`) plays
    no part: the curve is that of the lobe as made.

    Raises:
        ValueError: the figures make no lobe, or are not complete.
    """
    if lobe.table is not None:
        if not lobe.table.at_tappet:
            raise ValueError("the lift table is read at the valve and was not turned into tappet lift")
        return _from_table(lobe.table.cam_angles, lobe.table.lifts, lobe.table.lift_uncertainty)
    if lobe.law is not None:
        if lobe.lift is None or lobe.rise_angle is None:
            raise ValueError("a motion law needs lift and rise_angle")
        opening = (_or_zero(lobe.ramp_height), _or_zero(lobe.ramp_angle))
        closing = (
            _or_zero(lobe.closing_ramp_height or lobe.ramp_height),
            _or_zero(lobe.closing_ramp_angle or lobe.ramp_angle),
        )
        returning = lobe.return_angle or lobe.rise_angle
        flanks = (lobe.rise_angle.value, returning.value, _or_zero(lobe.nose_dwell))
        return _from_law(lobe.law, lobe.lift.value, *flanks, *opening, *closing)
    card = card_flanks(lobe)
    if card is not None:
        return _from_card(card)
    return None


# A twelve-valve engine has two lobes: each is worked out once.


@functools.lru_cache(maxsize=64)
def _from_table(angles: tuple[float, ...], lifts: tuple[float, ...], reading: float) -> LiftCurve:
    return lift_curve_from_table(angles, lifts, reading)


@functools.lru_cache(maxsize=64)
def _from_law(
    law: str,
    lift: float,
    rise: float,
    returning: float,
    nose: float,
    opening_height: float,
    opening_length: float,
    closing_height: float,
    closing_length: float,
) -> LiftCurve:
    return lift_curve_from_law(
        LawLobe(
            law=law,
            lift=lift,
            rise_angle=rise,
            return_angle=returning,
            nose_dwell=nose,
            opening_ramp_height=opening_height,
            opening_ramp_length=opening_length,
            closing_ramp_height=closing_height,
            closing_ramp_length=closing_length,
        )
    )


@functools.lru_cache(maxsize=64)
def _from_card(card: CardFlanks) -> LiftCurve:
    figures, likely = card.figures, (card.opening, card.closing)
    if card.alike:
        return lift_curve_from_card(figures.lifts, figures.durations, card.lobe_lift, card.opening)
    return lift_curve_from_event_angles(
        figures.lifts, figures.opening, figures.closing, card.lobe_lift, likely
    )


def _or_zero(measured: Measured | None) -> float:
    return 0.0 if measured is None else measured.value
