"""The valve, and where its rocker stands on the shaft."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import quantity

__all__ = ["Station", "Valve"]


@dataclass(frozen=True, kw_only=True)
class Valve:
    """The valve."""

    stem_diameter: Measured | None = quantity(
        "length", "diameter of the stem at the tip", low=0.003, high=0.02, instrument="micrometer"
    )
    tip_chamfer: Measured | None = quantity(
        "length", "width of the chamfer round the tip", low=0.0, high=0.005, instrument="caliper"
    )
    head_diameter: Measured | None = quantity(
        "length", "diameter of the head", low=0.01, high=0.15, instrument="caliper"
    )
    mass: Measured | None = quantity(
        "mass", "mass of the valve alone", low=0.005, high=2.0, instrument="scale"
    )
    stem_height: Measured | None = quantity(
        "length", "spring seat surface to valve tip", low=0.01, high=0.2, instrument="height_micrometer"
    )


@dataclass(frozen=True, kw_only=True)
class Station:
    """One rocker's place on the shaft, as measured at that valve."""

    offset: Measured | None = quantity(
        "length",
        "rocker pad center from the stem axis along the shaft; positive toward the flywheel end",
        low=-0.02,
        high=0.02,
        instrument="caliper",
    )
    end_clearance: Measured | None = quantity(
        "length", "free play of the rocker along the shaft", low=0.0, high=0.01, instrument="feeler"
    )
    front_shims: tuple[Measured, ...] = quantity(
        "length",
        "shims now fitted in front of the rocker",
        low=0.0,
        high=0.02,
        instrument="micrometer",
        many=True,
    )
    rear_shims: tuple[Measured, ...] = quantity(
        "length",
        "shims now fitted behind the rocker",
        low=0.0,
        high=0.02,
        instrument="micrometer",
        many=True,
    )
    gross_lift: Measured | None = quantity(
        "length",
        "valve lift read with a dial at zero lash, where it was measured",
        low=0.0,
        high=0.03,
        instrument="indicator",
    )
