"""The engine, and the parts in the drawer."""

from collections.abc import Mapping
from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.row import RockerShim
from valvetrain.parts.spec import described, quantity

__all__ = ["Engine", "SpringShim", "Stock"]


@dataclass(frozen=True, kw_only=True)
class Engine:
    """The engine."""

    cylinders: int | None = described("number of cylinders")
    valves_per_cylinder: int = described("valves per cylinder: 2 or 4", 2)
    shafts: Mapping[str, tuple[int | str, ...]] | None = described(
        "which cylinders, or valves, stand on which rocker shaft, where there are several: "
        "{ left = [1, 3, 5, 7], right = [2, 4, 6, 8] }; the names are yours, and [shaft.left] or "
        "[rocker.left] then says what holds for that shaft alone"
    )
    bore: Measured | None = quantity("length", "cylinder bore", low=0.02, high=0.6, instrument="exact")
    stroke: Measured | None = quantity("length", "stroke", low=0.02, high=0.8, instrument="exact")
    rod_length: Measured | None = quantity(
        "length", "connecting rod, between centers", low=0.04, high=1.5, instrument="exact"
    )
    redline: Measured | None = quantity(
        "rotation", "highest engine speed used", low=10.0, high=2000.0, instrument="exact"
    )
    break_in_speed: Measured | None = quantity(
        "rotation", "engine speed held while breaking in", low=10.0, high=2000.0, instrument="exact"
    )


@dataclass(frozen=True)
class SpringShim:
    """Spring shims of one thickness in the drawer.

    Attributes:
        thickness: of one.
        count: how many there are, besides those fitted now; None where more can be had.
        hardened: None where not said.
    """

    thickness: Measured
    count: int | None = None
    hardened: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Thicknesses at hand."""

    stand_shims: tuple[Measured, ...] = quantity(
        "length", "stand shims at hand", low=0.00001, high=0.01, instrument="shim", many=True
    )
    rocker_shims: tuple[RockerShim, ...] | None = described(
        "rocker shims at hand: thicknesses, or { thickness = 0.030, count = 4 }; [] is an empty drawer"
    )
    spring_shims: tuple[SpringShim, ...] = described(
        "spring shims at hand: thicknesses, or { thickness = 0.030, count = 12, hardened = true }", ()
    )
    keepers: tuple[Measured, ...] = quantity(
        "length",
        "keepers that can be had: how far each moves the retainer up (minus: down)",
        low=-0.01,
        high=0.01,
        instrument="exact",
        many=True,
    )
    retainers: tuple[Measured, ...] = quantity(
        "length",
        "retainers that can be had: how much higher each makes the spring stand (minus: lower)",
        low=-0.01,
        high=0.01,
        instrument="exact",
        many=True,
    )
    spring_shim_stack: Measured | None = quantity(
        "length", "most spring shims in one stack", low=0.0, high=0.02, instrument="exact"
    )
    stand_shim_stack: Measured | None = quantity(
        "length", "most stand shims under one stand", low=0.0, high=0.02, instrument="exact"
    )
    pushrod_lengths: tuple[Measured, ...] = quantity(
        "length",
        "pushrod lengths that can be had, by the convention of [pushrod]",
        low=0.02,
        high=0.6,
        instrument="exact",
        many=True,
    )
    pushrod_step: Measured | None = quantity(
        "length", "step of the pushrod lengths that can be had", low=0.0001, high=0.02, instrument="exact"
    )
