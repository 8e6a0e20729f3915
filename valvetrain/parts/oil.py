"""The oil, the passages that bring it to the rockers, and the layouts to compare."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["LayoutChange", "Oil", "OilLayouts", "OilNetwork", "Passage"]


@dataclass(frozen=True)
class Passage:
    """One passage of the oil's way, or one place of known pressure.

    Attributes:
        name: its own.
        kind: "pipe", "hole" (restrictor, metering hole), "jet" (a hole into the open air), "leak" (a bore's
            clearance) or "pressure" (a place held at a pressure).
        start, end: names of places; the open air is "open air". A place of known pressure has no end.
        values: column -> value: diameter, length, roughness, loss, coefficient, clearance and worn_clearance
            (both on diameter), eccentricity, pressure. What is not given is not there.
        valve: the valve whose rocker it feeds, or empty.
        fitted: whether the engine has it as built.
        where: file and line.
    """

    name: str
    kind: str
    start: str
    end: str
    values: dict[str, Measured]
    valve: str
    fitted: bool
    where: str


@dataclass(frozen=True)
class OilNetwork:
    """All passages of an engine, fitted or not."""

    passages: tuple[Passage, ...]
    source: str


@dataclass(frozen=True)
class LayoutChange:
    """One change that a layout makes to the passages as built.

    Attributes:
        passage: name of the passage.
        change: "fit", "remove", or the column whose value changes.
        value: the new value of that column.
        where: file and line.
    """

    passage: str
    change: str
    value: Measured | None
    where: str


@dataclass(frozen=True)
class OilLayouts:
    """Layouts to compare with the engine as built: name -> its changes."""

    layouts: dict[str, tuple[LayoutChange, ...]]
    source: str


@dataclass(frozen=True, kw_only=True)
class Oil:
    """The oil and its way to the rockers."""

    grade: str | None = described("viscosity grade such as 30 or 15W-40 (SAE J300)")
    viscosity_40: Measured | None = quantity(
        "viscosity", "kinematic viscosity at 40 degC, from the data sheet", low=2e-6, high=2e-3
    )
    viscosity_100: Measured | None = quantity(
        "viscosity", "kinematic viscosity at 100 degC, from the data sheet", low=2e-6, high=1e-4
    )
    viscosity_index: Measured | None = quantity(
        "ratio", "viscosity index, where the viscosity at 40 degC is not known", low=0.0, high=400.0
    )
    density: Measured | None = quantity("density", "density at 15 degC", low=700.0, high=1100.0)
    temperature: Measured | None = quantity(
        "temperature",
        "temperature of the oil at the lobes and rockers",
        low=250.0,
        high=450.0,
        instrument="oil_thermometer",
    )
    pressure_viscosity: Measured | None = quantity(
        "per_pressure", "pressure-viscosity coefficient; estimated where left out", low=5e-9, high=5e-8
    )
    gallery_pressure: Measured | None = quantity(
        "oil_pressure", "gauge pressure held at the place named 'gallery'", low=1000.0, high=2e6
    )
    network: OilNetwork | None = described(
        "CSV table of the oil's passages: passage, kind, from, to, and their sizes"
    )
    layouts: OilLayouts | None = described("CSV table of layouts to compare: layout, passage, change, value")
