"""What moves with one valve: masses as weighed, or the sizes and materials from which they are estimated."""

from dataclasses import dataclass

from valvetrain.mechanics.dynamics.mass_estimates import DENSITIES
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["Masses"]

_MATERIALS = tuple(DENSITIES)


@dataclass(frozen=True, kw_only=True)
class Masses:
    """Moving masses of one valve's train (the valve's own is in `[valve]`); a scale beats every estimate."""

    retainer_mass: Measured | None = quantity(
        "mass", "retainer by itself", low=0.001, high=0.5, instrument="scale"
    )
    keeper_mass: Measured | None = quantity(
        "mass", "both keepers of one valve", low=0.0003, high=0.1, instrument="scale"
    )
    spring_mass: Measured | None = quantity(
        "mass", "all springs of one valve, dampers included", low=0.005, high=1.0, instrument="scale"
    )
    pushrod_mass: Measured | None = quantity("mass", "pushrod", low=0.005, high=1.0, instrument="scale")
    tappet_mass: Measured | None = quantity("mass", "tappet", low=0.01, high=1.0, instrument="scale")
    rocker_mass: Measured | None = quantity(
        "mass", "rocker with its adjuster and nut", low=0.02, high=2.0, instrument="scale"
    )
    rocker_inertia: Measured | None = quantity(
        "inertia", "inertia of the rocker about its shaft", low=1e-6, high=1e-2, instrument="scale"
    )
    valve_length: Measured | None = quantity(
        "length", "length of the valve over all", low=0.03, high=0.4, instrument="caliper"
    )
    valve_material: str | None = described("valve; valve steel if left out", choices=_MATERIALS)
    retainer_hub: Measured | None = quantity(
        "length",
        "outside diameter of the retainer's hub round the keepers",
        low=0.006,
        high=0.05,
        instrument="caliper",
    )
    retainer_material: str | None = described("retainer; carbon steel if left out", choices=_MATERIALS)
    pushrod_material: str | None = described("pushrod; carbon steel if left out", choices=_MATERIALS)
    tappet_diameter: Measured | None = quantity(
        "length", "diameter of the tappet's body in its bore", low=0.008, high=0.06, instrument="caliper"
    )
    tappet_length: Measured | None = quantity(
        "length", "length of the tappet", low=0.01, high=0.15, instrument="caliper"
    )
    tappet_wall: Measured | None = quantity(
        "length", "wall of the tappet's body", low=0.0005, high=0.02, instrument="caliper"
    )
    tappet_face: Measured | None = quantity(
        "length", "thickness of the tappet's foot", low=0.001, high=0.03, instrument="caliper"
    )
    tappet_material: str | None = described("tappet; grey iron if left out", choices=_MATERIALS)
    rocker_height: Measured | None = quantity(
        "length",
        "height of a rocker arm beside its hub, as if solid",
        low=0.003,
        high=0.06,
        instrument="caliper",
    )
    rocker_width: Measured | None = quantity(
        "length",
        "width of a rocker arm beside its hub, as if solid",
        low=0.002,
        high=0.06,
        instrument="caliper",
    )
    rocker_hub_width: Measured | None = quantity(
        "length", "width of the rocker's hub along the shaft", low=0.005, high=0.1, instrument="caliper"
    )
    rocker_material: str | None = described("rocker; carbon steel if left out", choices=_MATERIALS)
