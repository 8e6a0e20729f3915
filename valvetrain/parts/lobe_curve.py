"""The lift curve of a lobe, from whatever the sheet gives: a table, a motion law, or cam-card figures."""

import functools

from valvetrain.mechanics.cam_card import lift_curve_from_card
from valvetrain.mechanics.law_lobe import LawLobe
from valvetrain.mechanics.lift_curve import LiftCurve, lift_curve_from_law
from valvetrain.mechanics.lift_table_fit import lift_curve_from_table
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
        return _from_table(lobe.table.cam_angles, lobe.table.lifts)
    if lobe.law is not None:
        if lobe.lift is None or lobe.rise_angle is None:
            raise ValueError("a motion law needs lift and rise_angle")
        ramp = (_or_zero(lobe.ramp_height), _or_zero(lobe.ramp_angle))
        returning = lobe.return_angle or lobe.rise_angle
        return _from_law(lobe.law, lobe.lift.value, lobe.rise_angle.value, returning.value, *ramp)
    if lobe.durations:
        if lobe.lift is None:
            raise ValueError("a cam card needs the lobe lift beside its durations")
        lifts, angles = [], []
        for each in lobe.durations:
            if each.checking_lift is None or each.duration is None or each.checked_at is None:
                raise ValueError("every duration needs checking_lift, checked_at and duration")
            if each.checked_at != "tappet":
                raise ValueError("durations are needed at the tappet; one is given at the valve")
            lifts.append(each.checking_lift.value)
            angles.append(0.5 * each.duration.value)  # the card counts crank degrees
        return _from_card(tuple(lifts), tuple(angles), lobe.lift.value)
    return None


# A twelve-valve engine has two lobes: each is worked out once.


@functools.lru_cache(maxsize=64)
def _from_table(angles: tuple[float, ...], lifts: tuple[float, ...]) -> LiftCurve:
    return lift_curve_from_table(angles, lifts)


@functools.lru_cache(maxsize=64)
def _from_law(
    law: str, lift: float, rise: float, returning: float, ramp_height: float, ramp_angle: float
) -> LiftCurve:
    return lift_curve_from_law(
        LawLobe(
            law=law,
            lift=lift,
            rise_angle=rise,
            return_angle=returning,
            opening_ramp_height=ramp_height,
            opening_ramp_length=ramp_angle,
            closing_ramp_height=ramp_height,
            closing_ramp_length=ramp_angle,
        )
    )


@functools.lru_cache(maxsize=64)
def _from_card(lifts: tuple[float, ...], angles: tuple[float, ...], lobe_lift: float) -> LiftCurve:
    return lift_curve_from_card(lifts, angles, lobe_lift)


def _or_zero(measured: Measured | None) -> float:
    return 0.0 if measured is None else measured.value
