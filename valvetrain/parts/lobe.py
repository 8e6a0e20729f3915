"""The cam lobe, as a lift table, a motion law or cam-card figures; the camshaft; the lash."""

from dataclasses import dataclass

from valvetrain.mechanics.cam.motion_laws import MOTION_LAWS
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Cam", "CardDuration", "CardEvents", "Lash", "LiftTable", "Lobe"]


@dataclass(frozen=True)
class LiftTable:
    """Lift read at a row of cam angles.

    Attributes:
        cam_angles: cam angle of each row [rad], increasing.
        lifts: lift of each row [m].
        lift_uncertainty: standard uncertainty of one reading [m].
        measured_at: "tappet" or "valve", as the dial stood; the lifts of a table read at the valve are turned
            into tappet lift by `valvetrain.setup.lobe_at_tappet` before a curve is made of them.
        source: the table's file name.
        at_tappet: True where `lifts` are tappet lift.
        seen_from: tappet lift [m] below which the table saw nothing, because the lash hid it; 0 for all seen.
    """

    cam_angles: tuple[float, ...]
    lifts: tuple[float, ...]
    lift_uncertainty: float
    measured_at: str
    source: str
    at_tappet: bool = True
    seen_from: float = 0.0


@dataclass(frozen=True, kw_only=True)
class CardDuration:
    """One duration figure of a cam card, always with the lift at which it is read and where."""

    checking_lift: Measured | None = quantity(
        "length", "lift at which the duration is read", low=0.00002, high=0.02, instrument="exact"
    )
    checked_at: str | None = described("where that lift is read", choices=("tappet", "valve"))
    duration: Measured | None = quantity(
        "angle", "duration in crank degrees", low=1.0, high=8.0, instrument="cam_card"
    )
    lash: Measured | None = quantity(
        "length",
        "lash at the valve that a figure at the valve holds for; 0 for none",
        low=0.0,
        high=0.003,
        instrument="exact",
    )


@dataclass(frozen=True, kw_only=True)
class CardEvents:
    """Opening and closing of a cam card in crank degrees, always with the lift at which they are read."""

    checking_lift: Measured | None = quantity(
        "length", "lift at which the events are read", low=0.00002, high=0.02, instrument="exact"
    )
    checked_at: str | None = described("where that lift is read", choices=("tappet", "valve"))
    opens: Measured | None = quantity(
        "angle",
        "opening: intake before top, exhaust before bottom dead center; negative after it",
        low=-2.6,
        high=2.6,
        instrument="cam_card",
    )
    closes: Measured | None = quantity(
        "angle",
        "closing: intake after bottom, exhaust after top dead center; negative before it",
        low=-2.6,
        high=2.6,
        instrument="cam_card",
    )
    lash: Measured | None = quantity(
        "length",
        "lash at the valve that a figure at the valve holds for; 0 for none",
        low=0.0,
        high=0.003,
        instrument="exact",
    )


@dataclass(frozen=True, kw_only=True)
class Lobe:
    """The cam lobe."""

    lift: Measured | None = quantity(
        "length",
        "lobe lift: tappet rise off the base circle",
        low=0.001,
        high=0.02,
        instrument="indicator",
    )
    table: LiftTable | None = described(
        "CSV lift table: cam_angle or crank_angle, and tappet_lift or valve_lift"
    )
    read_at_valve: str | None = described(
        "valve at which a table of valve_lift was read, such as 1I: its rocker turns it into tappet lift"
    )
    table_lift: str | None = described(
        "what a table of valve_lift holds: gross (read without lash) or net (with `table_lash`)",
        choices=("gross", "net"),
    )
    table_lash: Measured | None = quantity(
        "length",
        "lash at the valve with which a net table was read",
        low=0.0,
        high=0.003,
        instrument="feeler",
    )
    durations: tuple[CardDuration, ...] = described("durations on the cam card", ())
    events: tuple[CardEvents, ...] = described("opening and closing angles on the cam card", ())
    card_ratio: Measured | None = quantity(
        "ratio",
        "rocker ratio that the card's figures at the valve are for",
        low=0.8,
        high=2.5,
        instrument="exact",
    )
    card_valve_lift: Measured | None = quantity(
        "length",
        "valve lift on the card, where it gives no lobe lift; needs card_lift_is and card_ratio",
        low=0.001,
        high=0.03,
        instrument="exact",
    )
    card_lift_is: str | None = described(
        "the card's valve lift: gross (no lash taken off) or net (less `card_lash`)",
        choices=("gross", "net"),
    )
    card_lash: Measured | None = quantity(
        "length",
        "lash at the valve that the card's net lift holds for",
        low=0.0,
        high=0.003,
        instrument="exact",
    )
    law: str | None = described("motion law, where the lobe is one", choices=tuple(MOTION_LAWS))
    rise_angle: Measured | None = quantity(
        "angle", "cam degrees of the law's rise, ramps excluded", low=0.3, high=3.0, instrument="exact"
    )
    return_angle: Measured | None = quantity(
        "angle",
        "cam degrees of the law's return; the rise's if left out",
        low=0.3,
        high=3.0,
        instrument="exact",
    )
    nose_dwell: Measured | None = quantity(
        "angle", "cam degrees of the law's dwell at full lift", low=0.0, high=1.5, instrument="exact"
    )
    ramp_height: Measured | None = quantity(
        "length",
        "height of both ramps at the tappet, of a law or as the cam's maker states it",
        low=0.0,
        high=0.002,
        instrument="exact",
    )
    ramp_angle: Measured | None = quantity(
        "angle", "cam degrees of each ramp", low=0.0, high=1.2, instrument="exact"
    )
    closing_ramp_height: Measured | None = quantity(
        "length",
        "height of the closing ramp, where it differs from ramp_height",
        low=0.0,
        high=0.002,
        instrument="exact",
    )
    closing_ramp_angle: Measured | None = quantity(
        "angle",
        "cam degrees of the closing ramp, where they differ from ramp_angle",
        low=0.0,
        high=1.2,
        instrument="exact",
    )
    base_radius: Measured | None = quantity(
        "length", "radius of the base circle", low=0.005, high=0.05, instrument="micrometer"
    )
    width: Measured | None = quantity(
        "length", "width of the lobe along the camshaft", low=0.004, high=0.05, instrument="caliper"
    )
    taper: Measured | None = quantity(
        "length",
        "difference of radius across the width of the lobe; positive where the side toward the flywheel end "
        "is larger",
        low=-0.0005,
        high=0.0005,
        instrument="indicator",
    )
    measured_lift: Measured | None = quantity(
        "length", "lobe lift found with a dial at this valve", low=0.0, high=0.02, instrument="indicator"
    )


@dataclass(frozen=True, kw_only=True)
class Cam:
    """Where the lobes stand on the camshaft."""

    intake_centerline: Measured | None = quantity(
        "angle",
        "crank degrees after top dead center at which the intake lobe is at its center",
        low=1.2,
        high=2.6,
        instrument="degree_wheel",
    )
    exhaust_centerline: Measured | None = quantity(
        "angle",
        "crank degrees before top dead center at which the exhaust lobe is at its center",
        low=1.2,
        high=2.6,
        instrument="degree_wheel",
    )
    lobe_separation: Measured | None = quantity(
        "angle",
        "cam degrees between the centers of the two lobes of a cylinder",
        low=1.2,
        high=2.6,
        instrument="cam_card",
    )


@dataclass(frozen=True, kw_only=True)
class Lash:
    """The lash that is set."""

    wanted: Measured | None = quantity(
        "length", "lash to be set, for this role", low=0.0, high=0.003, instrument="exact"
    )
    lash: Measured | None = quantity(
        "length",
        "lash as it is at this valve: measured, or else as wanted",
        low=0.0,
        high=0.003,
        instrument="feeler",
    )
    at: str | None = described("where the lash is measured", choices=("valve", "pushrod"))
    state: str | None = described("engine at room or at running temperature", choices=("cold", "hot"))
