"""The valve spring, as measured or as sold."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["LoadTest", "Spring"]


@dataclass(frozen=True)
class LoadTest:
    """Load of one spring at several heights, from a spring tester.

    Attributes:
        spring: the spring's name in the table; empty where the table has only one.
        heights: heights, highest first or in any order.
        loads: the load at each height.
        source: the table.
    """

    spring: str
    heights: tuple[Measured, ...]
    loads: tuple[Measured, ...]
    source: str


@dataclass(frozen=True, kw_only=True)
class Spring:
    """The valve spring and its place under the retainer."""

    rate: Measured | None = quantity("stiffness", "spring rate", low=1e3, high=5e5, instrument="catalog_rate")
    tests: LoadTest | None = described("CSV table of loads at heights: spring, height, load")
    free_length: Measured | None = quantity("length", "free length", low=0.01, high=0.2, instrument="caliper")
    solid_height: Measured | None = quantity(
        "length", "height with the coils touching", low=0.005, high=0.15, instrument="caliper"
    )
    installed_height: Measured | None = quantity(
        "length",
        "spring seat (on top of the shims) to the underside of the retainer, valve closed",
        low=0.01,
        high=0.15,
        instrument="height_micrometer",
    )
    seat_load_target: Measured | None = quantity(
        "force", "seat load wanted", low=10.0, high=2000.0, instrument="exact"
    )
    shims_fitted: tuple[Measured, ...] = quantity(
        "length", "shims now under the spring", low=0.0, high=0.01, instrument="micrometer", many=True
    )
    retainer_to_seal: Measured | None = quantity(
        "length",
        "retainer to the top of the seal or guide, valve closed",
        low=0.0,
        high=0.05,
        instrument="caliper",
    )
