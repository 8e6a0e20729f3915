"""Standard uncertainty of the shop's instruments, for values that are written without one.

The caliper's is published (EA-4/02, example S10: 33 micrometers, rounded down to a plain caliper in good
order); the others are common practice, no source. A sheet's own `[instruments]` override them.
"""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import quantity

__all__ = ["DEFAULT_UNCERTAINTY", "Instruments"]


@dataclass(frozen=True, kw_only=True)
class Instruments:
    """Standard uncertainty of one reading of each instrument."""

    caliper: Measured | None = quantity("length", "caliper", low=0.0, high=0.001)
    micrometer: Measured | None = quantity("length", "micrometer", low=0.0, high=0.001)
    height_micrometer: Measured | None = quantity("length", "spring height micrometer", low=0.0, high=0.001)
    feeler: Measured | None = quantity("length", "feeler gauge", low=0.0, high=0.0005)
    indicator: Measured | None = quantity("length", "dial indicator", low=0.0, high=0.001)
    radius_gauge: Measured | None = quantity("length", "radius gauge on the pad", low=0.0, high=0.01)
    shim: Measured | None = quantity("length", "thickness of a bought shim", low=0.0, high=0.0005)
    protractor: Measured | None = quantity("angle", "protractor", low=0.0, high=0.2)
    degree_wheel: Measured | None = quantity("angle", "degree wheel, crank degrees", low=0.0, high=0.2)
    cam_card: Measured | None = quantity("angle", "angle figures of a cam card", low=0.0, high=0.2)
    scale: Measured | None = quantity("fraction", "weighing scale, share of the reading", low=0.0, high=0.5)
    spring_tester: Measured | None = quantity(
        "fraction", "spring tester, share of the reading", low=0.0, high=0.5
    )
    straightedge: Measured | None = quantity(
        "fraction", "crown radius by straightedge, share of the reading", low=0.0, high=1.0
    )
    catalog_rate: Measured | None = quantity(
        "fraction", "a catalog's spring rate, share of the figure", low=0.0, high=0.5
    )
    nominal_ratio: Measured | None = quantity(
        "fraction", "a rocker's nominal ratio, share of the figure", low=0.0, high=0.5
    )
    taper_dial: Measured | None = quantity("length", "fine dial on a lobe's taper", low=0.0, high=0.0005)
    crown_dial: Measured | None = quantity(
        "length", "fine dial or feelers on a tappet's crown", low=0.0, high=0.0005
    )
    hardness_tester: Measured | None = quantity(
        "rockwell", "hardness tester, points of Rockwell C", low=0.0, high=10.0
    )
    oil_thermometer: Measured | None = quantity(
        "rise", "oil temperature at the part, from a gauge elsewhere", low=0.0, high=100.0
    )
    modulus: Measured | None = quantity(
        "fraction", "elastic modulus from a table, share of the figure", low=0.0, high=0.5
    )
    friction: Measured | None = quantity(
        "fraction", "a coefficient of friction, share of the figure", low=0.0, high=1.0
    )
    running_heat: Measured | None = quantity(
        "rise", "running temperature of a part, as one estimates it", low=0.0, high=200.0
    )
    expansion: Measured | None = quantity(
        "fraction", "an expansion coefficient, share of the figure", low=0.0, high=0.5
    )
    burette: Measured | None = quantity("volume", "volume by burette", low=0.0, high=1e-5)
    ink: Measured | None = quantity(
        "length", "edge or middle of an ink mark on a valve tip", low=0.0, high=0.001
    )
    loupe: Measured | None = quantity(
        "length", "measuring loupe on the width of an ink mark", low=0.0, high=0.001
    )


# name -> (dimension, standard uncertainty [SI], or share of the reading)
DEFAULT_UNCERTAINTY: dict[str, tuple[str, float]] = {
    "caliper": ("length", 30e-6),
    "micrometer": ("length", 5e-6),
    "height_micrometer": ("length", 25e-6),
    "feeler": ("length", 10e-6),
    "indicator": ("length", 10e-6),
    "radius_gauge": ("length", 200e-6),  # blades in steps of 0.5 mm: a triangle of one step either way
    "shim": ("length", 5e-6),
    "protractor": ("angle", 0.0087),
    "degree_wheel": ("angle", 0.0087),
    "cam_card": ("angle", 0.0087),
    "scale": ("fraction", 0.01),
    "spring_tester": ("fraction", 0.015),
    "straightedge": ("fraction", 0.20),
    "catalog_rate": ("fraction", 0.03),
    "nominal_ratio": ("fraction", 0.02),
    "taper_dial": ("length", 2e-6),
    "crown_dial": ("length", 2e-6),
    "hardness_tester": ("rockwell", 1.0),
    "oil_thermometer": ("rise", 5.0),
    "modulus": ("fraction", 0.05),
    "friction": ("fraction", 0.3),
    "running_heat": ("rise", 15.0),
    "expansion": ("fraction", 0.06),
    "burette": ("volume", 3e-7),
    "ink": ("length", 100e-6),
    "loupe": ("length", 50e-6),
}
