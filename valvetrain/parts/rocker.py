"""The rocker on its shaft."""

from dataclasses import dataclass

from valvetrain.parts.adjuster import Outline
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Rocker", "Shaft"]


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """The rocker shaft: where its axis is, seen from the valve tip."""

    name: str | None = described("name of the shaft, where the engine has more than one: one stand shim each")
    setback: Measured | None = quantity(
        "length",
        "shaft axis to stem axis, square to the stem",
        low=0.01,
        high=0.15,
        instrument="caliper",
    )
    height: Measured | None = quantity(
        "length",
        "shaft axis above the tip of the closed valve, along the stem; negative when it is below",
        low=-0.08,
        high=0.08,
        instrument="caliper",
    )
    reference_stem_height: Measured | None = quantity(
        "length",
        "stem height of the valve at which `height` was measured; the height over every other valve then "
        "follows from its own stem height",
        low=0.01,
        high=0.2,
        instrument="height_micrometer",
    )
    diameter: Measured | None = quantity(
        "length", "outside diameter of the shaft", low=0.005, high=0.06, instrument="micrometer"
    )
    stand_shim: Measured | None = quantity(
        "length",
        "thickness of the shim now under the stands; 0 if there is none",
        low=0.0,
        high=0.01,
        instrument="micrometer",
    )
    stand_angle: Measured | None = quantity(
        "angle",
        "lean of the stands' axis from the stem; positive when the top leans toward the valve",
        low=-1.0,
        high=1.0,
        instrument="protractor",
    )


@dataclass(frozen=True, kw_only=True)
class Rocker:
    """The rocker: its two arms and its pad."""

    pad_arm: Measured | None = quantity(
        "length",
        "shaft axis to the center of the pad's radius (a roller: its axle)",
        low=0.01,
        high=0.12,
        instrument="caliper",
    )
    pad_radius: Measured | None = quantity(
        "length", "radius of the pad or of the roller", low=0.001, high=0.1, instrument="radius_gauge"
    )
    pad_width: Measured | None = quantity(
        "length", "width of the pad along the shaft", low=0.002, high=0.05, instrument="caliper"
    )
    hub_width: Measured | None = quantity(
        "length",
        "width of the rocker's hub on the shaft, face to face",
        low=0.003,
        high=0.1,
        instrument="caliper",
    )
    pad_position: Measured | None = quantity(
        "length",
        "front face of the hub to the middle of the pad, along the shaft; half of the hub if left out",
        low=0.0,
        high=0.1,
        instrument="caliper",
    )
    skew: Measured | None = quantity(
        "angle",
        "twist of the pad's contact line from the shaft, seen from above; positive when its rear end is "
        "farther from the shaft; square if left out",
        low=-0.5,
        high=0.5,
        instrument="protractor",
    )
    socket_arm: Measured | None = quantity(
        "length",
        "shaft axis to the center of the pushrod's upper ball",
        low=0.005,
        high=0.12,
        instrument="caliper",
    )
    arm_angle: Measured | None = quantity(
        "angle",
        "from the pad arm to the socket arm, measured over the top of the shaft",
        low=1.2,
        high=4.5,
        instrument="protractor",
    )
    nominal_ratio: Measured | None = quantity(
        "ratio", "ratio the rocker is sold as", low=0.8, high=2.5, instrument="nominal_ratio"
    )
    bore_clearance: Measured | None = quantity(
        "length",
        "clearance of the rocker's bore on the shaft, on diameter",
        low=0.0,
        high=0.001,
        instrument="indicator",
    )
    locknut_gain: Measured | None = quantity(
        "length",
        "lash that tightening the locknut adds at the valve; about 0.001 in is usual",
        low=-0.0002,
        high=0.0005,
        instrument="feeler",
    )
    take_up: Measured | None = quantity(
        "length",
        "play and give of the train that the tappet takes up besides the lash, at the tappet",
        low=0.0,
        high=0.0005,
        instrument="indicator",
    )
    feeler_width: Measured | None = quantity(
        "length",
        "width of the feeler blade across the pad's hollow, where `pad_outline` is a worn pad",
        low=0.002,
        high=0.05,
        instrument="caliper",
    )
    thread_pitch: Measured | None = quantity(
        "length", "pitch of the adjuster's thread", low=0.0003, high=0.003, instrument="exact"
    )
    pad_outline: Outline | None = described(
        "CSV table of a measured pad, for one worn hollow or not circular: x, y from the shaft axis, x along "
        "the pad arm, y away from the valve, from the shaft's end outward"
    )
    tip: str | None = described("what touches the valve tip", choices=("pad", "roller"))
