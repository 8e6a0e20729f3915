"""The piston under the valves: deck, gasket, reliefs, and clearances read with a dial."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["ClearanceReadings", "Piston"]


@dataclass(frozen=True)
class ClearanceReadings:
    """Piston-to-valve clearance read along the stem at crank angles of one valve.

    Attributes:
        crank_angles: after the top dead center of the overlap, negative before it [rad], rising.
        clearances: as read by pushing the valve down to the piston [m].
        reading_uncertainty: standard uncertainty of one reading [m].
        source: the table's file name.
    """

    crank_angles: tuple[float, ...]
    clearances: tuple[float, ...]
    reading_uncertainty: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Piston:
    """The piston's crown under one valve, and what closes the cylinder."""

    compression_ratio: Measured | None = quantity(
        "ratio", "static compression ratio, where the volumes are not given", low=1.5, high=30.0
    )
    chamber_volume: Measured | None = quantity(
        "volume", "volume of the chamber in the head", low=1e-6, high=2e-3, instrument="burette"
    )
    crown_volume: Measured | None = quantity(
        "volume",
        "volume of dish and reliefs in the crown; negative for a dome",
        low=-5e-4,
        high=5e-4,
        instrument="burette",
    )
    gasket_bore: Measured | None = quantity(
        "length", "bore of the head gasket", low=0.02, high=0.65, instrument="caliper"
    )
    gasket_thickness: Measured | None = quantity(
        "length", "thickness of the head gasket, compressed", low=0.0, high=0.01, instrument="indicator"
    )
    deck_clearance: Measured | None = quantity(
        "length",
        "crown below the block's deck at top dead center; negative above it",
        low=-0.008,
        high=0.008,
        instrument="indicator",
    )
    valve_recess: Measured | None = quantity(
        "length",
        "face of the closed valve above the head's deck; negative where it stands proud",
        low=-0.01,
        high=0.05,
        instrument="caliper",
    )
    relief_depth: Measured | None = quantity(
        "length",
        "depth of the relief in the crown under the valve; 0 for none",
        low=0.0,
        high=0.03,
        instrument="caliper",
    )
    relief_floor: str | None = described(
        "floor of the relief: parallel to the valve head, or square to the cylinder (a flat crown)",
        choices=("parallel", "square"),
    )
    valve_angle: Measured | None = quantity(
        "angle", "stem from the cylinder's axis", low=-1.0, high=1.0, instrument="protractor"
    )
    relief_radius: Measured | None = quantity(
        "length",
        "radius of the relief's wall, seen along the stem",
        low=0.005,
        high=0.1,
        instrument="caliper",
    )
    relief_offset_along: Measured | None = quantity(
        "length",
        "stem axis from the middle of the relief, along the shaft",
        low=-0.03,
        high=0.03,
        instrument="caliper",
    )
    relief_offset_across: Measured | None = quantity(
        "length",
        "stem axis from the middle of the relief, square to the shaft",
        low=-0.03,
        high=0.03,
        instrument="caliper",
    )
    head_thickness: Measured | None = quantity(
        "length", "thickness of the valve head at its rim", low=0.0002, high=0.01, instrument="caliper"
    )
    valve_spacing: Measured | None = quantity(
        "length",
        "between the middles of the closed intake and exhaust valve heads",
        low=0.01,
        high=0.15,
        instrument="caliper",
    )
    valves_between: Measured | None = quantity(
        "angle",
        "angle between intake and exhaust stems, positive where the heads lean together as they open",
        low=-1.6,
        high=1.6,
        instrument="protractor",
    )
    readings: ClearanceReadings | None = described(
        "CSV table of clearances read with a dial: crank_angle (after top dead center), clearance"
    )
    readings_lash: Measured | None = quantity(
        "length",
        "lash at the valve with which they were read; 0 for none",
        low=0.0,
        high=0.003,
        instrument="feeler",
    )
