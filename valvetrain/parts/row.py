"""A row of rockers on its shaft: as the sheet writes it, and as it stands."""

from dataclasses import dataclass

from valvetrain.mechanics.cam.thermal_growth import EXPANSION
from valvetrain.mechanics.row.shaft import Part
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["RockerShim", "RowText", "ShaftRow"]

_MATERIALS = tuple(EXPANSION)


@dataclass(frozen=True)
class RockerShim:
    """Rocker shims of one thickness; `count` besides those fitted, None where more can be had."""

    thickness: Measured
    count: int | None = None


@dataclass(frozen=True, kw_only=True)
class RowText:
    """One shaft as `[[row]]` writes it."""

    shaft: str | None = described("name of the shaft; needed where the engine has more than one")
    front: tuple[str, ...] = described("what stands in front of the pattern; most often one wall", ())
    each: tuple[str, ...] = described(
        "the pattern, front to rear, repeated until every rocker is placed: I and E (the next intake and "
        "exhaust; 3E: that one), 'stand', 'collar', 'end', 'shim 0.030', 'spacer 0.750', "
        "'cut spacer 0.750', 'spring', 'wave washer'",
        (),
    )
    rear: tuple[str, ...] = described("what stands behind the pattern", ())
    spacing: tuple[Measured, ...] = quantity(
        "length",
        "from the middle of one wall to the middle of the next, front to rear (of an 'end': from its face); "
        "a shorter list repeats. Left out: a bay is as long as its parts and the end clearance found in it",
        low=0.005,
        high=1.0,
        instrument="caliper",
        many=True,
    )
    stand_width: Measured | None = quantity(
        "length", "width of a stand along the shaft", low=0.0, high=0.2, instrument="caliper"
    )
    stand_shift: Measured | None = quantity(
        "length",
        "how far a stand can be moved either way in its bolt holes; left out: it is located",
        low=0.0,
        high=0.01,
        instrument="caliper",
    )
    collar_width: Measured | None = quantity(
        "length", "width of a collar pinned to the shaft", low=0.0, high=0.1, instrument="caliper"
    )
    spacer_least: Measured | None = quantity(
        "length", "shortest spacer that can be cut", low=0.0, high=0.5, instrument="exact"
    )
    spacer_most: Measured | None = quantity(
        "length", "longest spacer that can be cut", low=0.0, high=0.5, instrument="exact"
    )
    spring_free_length: Measured | None = quantity(
        "length", "free length of the shaft's springs or wave washers", low=0.0005, high=0.2,
        instrument="caliper",
    )  # fmt: skip
    spring_solid_length: Measured | None = quantity(
        "length", "their length pressed solid", low=0.0001, high=0.2, instrument="caliper"
    )
    spring_least_length: Measured | None = quantity(
        "length", "shortest length allowed when assembled; solid if left out", low=0.0001, high=0.2,
        instrument="exact",
    )  # fmt: skip
    spring_most_length: Measured | None = quantity(
        "length", "longest length allowed when assembled; free if left out", low=0.0005, high=0.2,
        instrument="exact",
    )  # fmt: skip
    head_material: str | None = described("what the head is made of", choices=_MATERIALS)
    shaft_material: str | None = described("what shaft and rockers are made of", choices=_MATERIALS)
    head_rise: Measured | None = quantity(
        "rise", "how much hotter the head runs than when it was measured", low=0.0, high=300.0,
        instrument="exact",
    )  # fmt: skip
    shaft_rise: Measured | None = quantity(
        "rise", "the same for shaft and rockers", low=0.0, high=300.0, instrument="exact"
    )
    fixed_at: str | None = described(
        "the wall that locates the shaft, as the build plan names it ('stand 4'); the first if left out"
    )


@dataclass(frozen=True)
class ShaftRow:
    """A shaft's parts from front to rear, brought to agree with what was measured.

    Attributes:
        name: of the shaft; empty where there is only one.
        parts: from front to rear; stems stand where the measured offsets put them.
        spread: standard uncertainty [m] of the length of each part (of a stand: of its position).
        kinds: how each part is called in the build plan.
        held: names of the bays of which too little was measured to plan for.
        text: as written, for what the parts do not carry.
    """

    name: str
    parts: tuple[Part, ...]
    spread: tuple[float, ...]
    kinds: tuple[str, ...]
    held: tuple[str, ...]
    text: RowText
