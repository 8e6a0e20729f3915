"""What expands between cold and hot lash: the stretches of the path, their materials and temperatures."""

from dataclasses import dataclass

from valvetrain.mechanics.cam.thermal_growth import EXPANSION
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["CONSTRUCTIONS", "Hot", "Thermal"]

INCH = 0.0254
CONSTRUCTIONS: dict[str, tuple[float, float]] = {
    "iron": (-0.002 * INCH, 0.005 * INCH),
    "iron block, aluminum head": (0.005 * INCH, 0.007 * INCH),
    "aluminum": (0.007 * INCH, 0.015 * INCH),
}
"""Lash growth in use by construction [m] (common practice, no source; even its sign is disputed)."""

_MATERIALS = tuple(EXPANSION)


@dataclass(frozen=True, kw_only=True)
class Thermal:
    """The path of the lash from cold to hot. Exhaust and intake may differ."""

    construction: str | None = described(
        "how the engine is built, for the usual range of lash growth where the path is not measured",
        choices=tuple(CONSTRUCTIONS),
    )
    cold_temperature: Measured | None = quantity(
        "temperature", "temperature at which the lash is set cold", low=230.0, high=330.0, instrument="exact"
    )
    cam_to_deck: Measured | None = quantity(
        "length",
        "camshaft axis to the block's deck, along the tappets",
        low=0.002,
        high=0.8,
        instrument="caliper",
    )
    deck_to_stand: Measured | None = quantity(
        "length", "head: deck face to the foot of the stands", low=0.002, high=0.8, instrument="caliper"
    )
    seat_to_stand: Measured | None = quantity(
        "length",
        "head: valve seat to the foot of the stands, along the stem",
        low=0.002,
        high=0.8,
        instrument="caliper",
    )
    stand_height: Measured | None = quantity(
        "length", "foot of the stand to the shaft axis", low=0.002, high=0.8, instrument="caliper"
    )
    seat_to_tip: Measured | None = quantity(
        "length", "valve: seat to tip", low=0.002, high=0.8, instrument="caliper"
    )
    tappet_height: Measured | None = quantity(
        "length",
        "tappet: face to the center of the pushrod's lower ball",
        low=0.002,
        high=0.8,
        instrument="caliper",
    )
    block_material: str | None = described("material of the block", choices=_MATERIALS)
    head_material: str | None = described("material of the head", choices=_MATERIALS)
    stand_material: str | None = described("material of the stands", choices=_MATERIALS)
    cam_material: str | None = described("material of the camshaft", choices=_MATERIALS)
    tappet_material: str | None = described("material of the tappet", choices=_MATERIALS)
    pushrod_material: str | None = described("material of the pushrod", choices=_MATERIALS)
    valve_material: str | None = described("material of the valve", choices=_MATERIALS)
    block_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the block, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    head_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the head, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    stand_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the stands, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    cam_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the camshaft, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    tappet_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the tappet, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    pushrod_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the pushrod, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    valve_expansion: Measured | None = quantity(
        "expansion",
        "expansion coefficient of the valve, where its material is not in the list",
        low=1e-6,
        high=3.5e-5,
        instrument="expansion",
    )
    block_temperature: Measured | None = quantity(
        "temperature",
        "running temperature of the block, its camshaft and its tappets",
        low=230.0,
        high=1100.0,
        instrument="running_heat",
    )
    head_temperature: Measured | None = quantity(
        "temperature", "running temperature of the head", low=230.0, high=1100.0, instrument="running_heat"
    )
    stand_temperature: Measured | None = quantity(
        "temperature",
        "running temperature of the stands and pushrods",
        low=230.0,
        high=1100.0,
        instrument="running_heat",
    )
    valve_temperature: Measured | None = quantity(
        "temperature",
        "running temperature of the valve, the mean from seat to tip",
        low=230.0,
        high=1100.0,
        instrument="running_heat",
    )


@dataclass(frozen=True, kw_only=True)
class Hot:
    """A measured pair: a lash set cold and measured hot, engine stopped; it overrides what is computed."""

    cold_lash: Measured | None = quantity(
        "length", "lash as it was set cold", low=0.0, high=0.003, instrument="feeler"
    )
    hot_lash: Measured | None = quantity(
        "length",
        "lash of the same valve measured hot, engine stopped",
        low=0.0,
        high=0.003,
        instrument="feeler",
    )
    wanted_hot_lash: Measured | None = quantity(
        "length", "hot lash that is wanted", low=0.0, high=0.003, instrument="exact"
    )
