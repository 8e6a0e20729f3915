"""The valve spring, as measured or as sold; a set is an outer spring and those inside it."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["CoilSpring", "InsideSpring", "LoadTest", "Spring", "SpringTester"]

MATERIALS = ("music", "oil-tempered", "hard-drawn", "chrome-vanadium", "chrome-silicon")


@dataclass(frozen=True)
class LoadTest:
    """Load of one spring at several heights, from a spring tester, as read.

    Attributes:
        spring: the spring's name in the table; empty where the table has only one.
        heights: heights, highest first or in any order.
        loads: the load at each height.
        source: the table.
        solid_height: the spring's own solid height, where the table gives it.
        kind: "linear" or "progressive", where the table says it of this spring.
    """

    spring: str
    heights: tuple[Measured, ...]
    loads: tuple[Measured, ...]
    source: str
    solid_height: Measured | None = None
    kind: str | None = None


@dataclass(frozen=True, kw_only=True)
class SpringTester:
    """What is known of the spring tester's own errors; each reading is corrected by them."""

    zero: Measured | None = quantity(
        "force", "reading of the tester with nothing on it", low=-200.0, high=200.0, instrument="exact"
    )
    scale: Measured | None = quantity(
        "ratio", "reading over true load, by a known weight; 1.02 reads 2 % high", low=0.7, high=1.4
    )
    height_zero: Measured | None = quantity(
        "length", "reading on a height standard, less the standard", low=-0.01, high=0.01, instrument="exact"
    )
    retainer_thickness: Measured | None = quantity(
        "length",
        "thickness of a retainer that stood between spring and tester and is in the heights read",
        low=0.0,
        high=0.03,
        instrument="caliper",
    )


@dataclass(frozen=True, kw_only=True)
class CoilSpring:
    """One spring by itself: from its load tests, from catalog figures, or from its wire."""

    rate: Measured | None = quantity("stiffness", "spring rate", low=1e3, high=5e5, instrument="catalog_rate")
    tests: LoadTest | None = described(
        "CSV table of loads at heights: spring, height, load, solid_height, kind"
    )
    kind: str | None = described(
        "linear if left out; progressive: its rate grows; conical: from its wire, rate grows as coils close",
        choices=("linear", "progressive", "conical"),
    )
    free_length: Measured | None = quantity("length", "free length", low=0.01, high=0.2, instrument="caliper")
    solid_height: Measured | None = quantity(
        "length", "height with the coils touching", low=0.005, high=0.15, instrument="caliper"
    )
    catalog_height: Measured | None = quantity(
        "length", "height at which the catalog gives a load", low=0.01, high=0.2, instrument="exact"
    )
    catalog_load: Measured | None = quantity(
        "force", "catalog load at catalog_height", low=1.0, high=10000.0, instrument="catalog_rate"
    )
    catalog_open_height: Measured | None = quantity(
        "length", "lower height at which the catalog gives a load", low=0.01, high=0.2, instrument="exact"
    )
    catalog_open_load: Measured | None = quantity(
        "force", "catalog load at catalog_open_height", low=1.0, high=10000.0, instrument="catalog_rate"
    )
    wire_diameter: Measured | None = quantity(
        "length", "diameter of the wire", low=0.0005, high=0.02, instrument="micrometer"
    )
    coil_diameter: Measured | None = quantity(
        "length",
        "mean coil diameter: outside diameter less one wire (conical: of its widest coil)",
        low=0.003,
        high=0.15,
        instrument="caliper",
    )
    small_coil_diameter: Measured | None = quantity(
        "length",
        "mean diameter of a conical spring's narrowest coil",
        low=0.003,
        high=0.15,
        instrument="caliper",
    )
    active_coils: Measured | None = quantity(
        "ratio", "coils that work: all coils less two for closed ends", low=0.5, high=50.0
    )
    material: str | None = described("wire of the spring", choices=MATERIALS)
    surface: str | None = described("surface of the wire", choices=("unpeened", "peened"))
    shear_modulus: Measured | None = quantity(
        "pressure", "shear modulus of the wire; the material's if left out", low=3e10, high=1.2e11
    )
    damper_thickness: Measured | None = quantity(
        "length",
        "flat damper between this spring and the next one inside it",
        low=0.0,
        high=0.01,
        instrument="caliper",
    )


@dataclass(frozen=True, kw_only=True)
class InsideSpring(CoilSpring):
    """A spring of a set inside another one; it stands between the same seat and retainer."""

    seat_step: Measured | None = quantity(
        "length",
        "how far its seat stands above the outer spring's seat; minus where it is sunk",
        low=-0.02,
        high=0.02,
        instrument="caliper",
    )
    retainer_step: Measured | None = quantity(
        "length",
        "how far the retainer reaches down to it beyond the outer spring's face",
        low=-0.02,
        high=0.02,
        instrument="caliper",
    )


@dataclass(frozen=True, kw_only=True)
class Spring(CoilSpring):
    """The valve spring (of a set the outer one) and its place under the retainer."""

    installed_height: Measured | None = quantity(
        "length",
        "spring seat (on top of the shims) to the underside of the retainer, valve closed",
        low=0.01,
        high=0.15,
        instrument="height_micrometer",
    )
    seat_recession: Measured | None = quantity(
        "length",
        "how far seat work sank the valve after installed_height, seal and tip were measured",
        low=-0.005,
        high=0.01,
        instrument="height_micrometer",
    )
    tip_ground: Measured | None = quantity(
        "length",
        "ground off the tip after stem_height was measured",
        low=0.0,
        high=0.01,
        instrument="micrometer",
    )
    seat_load_target: Measured | None = quantity(
        "force", "seat load wanted", low=10.0, high=2000.0, instrument="exact"
    )
    shims_fitted: tuple[Measured, ...] = quantity(
        "length", "shims now under the spring", low=0.0, high=0.01, instrument="micrometer", many=True
    )
    locator_to_fit: Measured | None = quantity(
        "length",
        "locator or cup still to go under the spring; leave out where it was in place when measured",
        low=0.0,
        high=0.01,
        instrument="micrometer",
    )
    retainer_to_seal: Measured | None = quantity(
        "length",
        "retainer to the top of the seal, valve closed",
        low=0.0,
        high=0.05,
        instrument="caliper",
    )
    retainer_to_guide: Measured | None = quantity(
        "length",
        "retainer to the top of the guide, valve closed",
        low=0.0,
        high=0.05,
        instrument="caliper",
    )
    damper_friction: Measured | None = quantity(
        "force",
        "friction of a damper or of springs that rub: half of press less release",
        low=0.0,
        high=500.0,
    )
