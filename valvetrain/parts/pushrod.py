"""The pushrod and the tappet."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Pushrod", "Tappet"]


@dataclass(frozen=True, kw_only=True)
class Pushrod:
    """The pushrod."""

    length: Measured | None = quantity(
        "length", "between the centers of its two balls", low=0.02, high=0.6, instrument="caliper"
    )
    splay: Measured | None = quantity(
        "length",
        "offset of one end from the other along the shaft, out of the rocker's plane",
        low=-0.05,
        high=0.05,
        instrument="caliper",
    )
    outside_diameter: Measured | None = quantity(
        "length", "outside diameter", low=0.003, high=0.02, instrument="caliper"
    )
    wall: Measured | None = quantity("length", "wall thickness", low=0.0003, high=0.01, instrument="caliper")


@dataclass(frozen=True, kw_only=True)
class Tappet:
    """The solid tappet in its bore."""

    kind: str | None = described("face on the lobe", choices=("flat", "roller"))
    setback: Measured | None = quantity(
        "length",
        "shaft axis to the line of the pushrod's lower ball, square to it; positive away from the valve",
        low=-0.1,
        high=0.15,
        instrument="caliper",
    )
    angle: Measured | None = quantity(
        "angle",
        "lean of the tappet's travel from the stem; positive when it leans away from the valve going up",
        low=-1.0,
        high=1.0,
        instrument="protractor",
    )
    face_diameter: Measured | None = quantity(
        "length", "diameter of the tappet's face", low=0.01, high=0.06, instrument="caliper"
    )
    crown_radius: Measured | None = quantity(
        "length", "radius of the crowned face", low=0.1, high=10.0, instrument="straightedge"
    )
