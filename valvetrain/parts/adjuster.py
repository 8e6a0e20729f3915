"""The lash adjuster in the rocker, the head's pushrod hole, and the shapes of parts that pass close by."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Adjuster", "Head", "HeightChange", "Outline", "Shapes"]


@dataclass(frozen=True)
class Outline:
    """A shape given as points.

    Attributes:
        points: x and y of each point [m].
        source: the table's file name.
    """

    points: tuple[tuple[float, float], ...]
    source: str


@dataclass(frozen=True)
class HeightChange:
    """One line of the height ledger.

    Attributes:
        item: what changed, see `valvetrain.mechanics.rocker.height_ledger.ITEMS`.
        valve: the valve it belongs to; empty for all.
        change: how much taller (positive) or shorter it became; None where the amount is unknown.
        source: where it stands in the sheet.
    """

    item: str
    valve: str
    change: Measured | None
    source: str


@dataclass(frozen=True, kw_only=True)
class Adjuster:
    """The lash adjuster: a ball-ended screw through the rocker."""

    exposure: Measured | None = quantity(
        "length",
        "thread showing under the rocker, on the pushrod's side, with the lash set",
        low=0.0,
        high=0.05,
        instrument="caliper",
    )
    exposure_wanted: Measured | None = quantity(
        "length", "thread that should show there", low=0.0, high=0.05, instrument="exact"
    )
    exposure_before: Measured | None = quantity(
        "length",
        "thread that showed there before the work in the height ledger, or as the maker built it",
        low=0.0,
        high=0.05,
        instrument="caliper",
    )
    thread_length: Measured | None = quantity(
        "length", "whole threaded length of the screw", low=0.003, high=0.1, instrument="caliper"
    )
    boss_thickness: Measured | None = quantity(
        "length",
        "thickness of the rocker where the screw goes through",
        low=0.002,
        high=0.06,
        instrument="caliper",
    )
    locknut_height: Measured | None = quantity(
        "length", "height of the locknut", low=0.001, high=0.02, instrument="caliper"
    )
    axis_lean: Measured | None = quantity(
        "angle",
        "lean of the screw from square to the socket arm; positive when its ball leans away from the shaft",
        low=-0.6,
        high=0.6,
        instrument="protractor",
    )


@dataclass(frozen=True, kw_only=True)
class Head:
    """The hole in the head through which the pushrod passes."""

    hole_diameter: Measured | None = quantity(
        "length", "diameter of the pushrod's hole", low=0.004, high=0.06, instrument="caliper"
    )
    hole_setback: Measured | None = quantity(
        "length",
        "shaft axis to the middle of the hole at its top, square to the stem; positive away from the valve",
        low=-0.1,
        high=0.15,
        instrument="caliper",
    )
    hole_top: Measured | None = quantity(
        "length", "top of the hole, below the shaft axis", low=-0.05, high=0.4, instrument="caliper"
    )
    hole_bottom: Measured | None = quantity(
        "length", "bottom of the hole, below the shaft axis", low=0.0, high=0.6, instrument="caliper"
    )
    hole_angle: Measured | None = quantity(
        "angle",
        "lean of the hole from the stem; positive when it leans away from the valve going up",
        low=-1.0,
        high=1.0,
        instrument="protractor",
    )
    hole_offset: Measured | None = quantity(
        "length",
        "hole from the pushrod's lower ball along the shaft, on the side of the splay; left out: drilled for "
        "the pushrod",
        low=-0.05,
        high=0.05,
        instrument="caliper",
    )


@dataclass(frozen=True, kw_only=True)
class Shapes:
    """Shapes of parts that pass close by, in the valve frame, valve closed: tables, or a few sizes."""

    rocker_outline: Outline | None = described("CSV table of the rocker's side view: x, y, counterclockwise")
    retainer_outline: Outline | None = described("CSV table of the retainer's side view: x, y")
    seal_outline: Outline | None = described("CSV table of the seal and guide: x, y")
    stand_outline: Outline | None = described("CSV table of the stand: x, y")
    retainer_diameter: Measured | None = quantity(
        "length", "diameter of the retainer's top", low=0.008, high=0.08, instrument="caliper"
    )
    retainer_below_tip: Measured | None = quantity(
        "length", "valve tip down to the top of the retainer", low=-0.01, high=0.05, instrument="caliper"
    )
    retainer_depth: Measured | None = quantity(
        "length",
        "top of the retainer down to its lowest part over the seal",
        low=0.001,
        high=0.05,
        instrument="caliper",
    )
    seal_diameter: Measured | None = quantity(
        "length",
        "diameter of the seal, or of the guide without one",
        low=0.005,
        high=0.05,
        instrument="caliper",
    )
    rocker_depth: Measured | None = quantity(
        "length",
        "underside of the rocker below the line from the shaft axis to the pad's center, halfway",
        low=0.0,
        high=0.04,
        instrument="caliper",
    )
    hub_diameter: Measured | None = quantity(
        "length", "diameter of the rocker's hub round the shaft", low=0.01, high=0.08, instrument="caliper"
    )
    stand_width: Measured | None = quantity(
        "length", "width of the stand in the rocker's plane", low=0.005, high=0.1, instrument="caliper"
    )
    stand_top: Measured | None = quantity(
        "length",
        "shaft axis down to the stand's shoulder beside the rocker",
        low=0.0,
        high=0.1,
        instrument="caliper",
    )
