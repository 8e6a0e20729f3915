"""The pushrod and the tappet."""

from dataclasses import dataclass

from valvetrain.mechanics.pushrod.length import CONVENTIONS
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
    stated_length: Measured | None = quantity(
        "length",
        "its length as it is sold, or measured by a convention other than ball center to ball center; needs "
        "`convention`",
        low=0.02,
        high=0.6,
        instrument="caliper",
    )
    convention: str | None = described("what a stated length and the stock's mean", choices=CONVENTIONS)
    lower_ball: Measured | None = quantity(
        "length", "diameter of the ball at the tappet's end", low=0.003, high=0.02, instrument="micrometer"
    )
    upper_ball: Measured | None = quantity(
        "length",
        "diameter of the ball at the rocker's end: its own, or the adjuster's that sits in its cup",
        low=0.003,
        high=0.02,
        instrument="micrometer",
    )
    gauge_diameter: Measured | None = quantity(
        "length",
        "diameter of the rings of a length to gauge diameter",
        low=0.001,
        high=0.02,
        instrument="exact",
    )
    oil_hole: Measured | None = quantity(
        "length", "diameter of the oil hole through a ball's tip", low=0.0, high=0.01, instrument="caliper"
    )
    checking_length: Measured | None = quantity(
        "length",
        "checking pushrod with no turn out, between ball centers",
        low=0.02,
        high=0.6,
        instrument="caliper",
    )
    checking_turns: Measured | None = quantity(
        "ratio", "turns of the checking pushrod at which the lash is just taken up", low=0.0, high=60.0
    )
    checking_pitch: Measured | None = quantity(
        "length", "lengthening of the checking pushrod a turn", low=0.0003, high=0.003, instrument="exact"
    )
    yield_strength: Measured | None = quantity(
        "pressure", "yield strength of its tube", low=5e7, high=3e9, instrument="exact"
    )
    elastic_modulus: Measured | None = quantity(
        "pressure", "elastic modulus of its tube", low=4e10, high=4e11, instrument="exact"
    )
    peak_load: Measured | None = quantity(
        "force",
        "greatest load along it at speed, where it is known; left out: the spring's at full lift",
        low=10.0,
        high=50000.0,
        instrument="exact",
    )


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
