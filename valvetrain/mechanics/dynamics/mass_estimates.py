"""Masses of valvetrain parts estimated from their dimensions, for what has not been weighed.

Every result carries a relative standard uncertainty and a basis that says "estimated"; a scale beats all of
them. Densities: Callister, Materials Science and Engineering, Table B.1 (memory), except the valve steel
(common practice, no source). Shapes are plain solids; the uncertainty is the judgment of how far real
parts stray from them (fillets, oil holes, reliefs), common practice, no source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import FloatArray

__all__ = [
    "DENSITIES",
    "Estimate",
    "pushrod_mass",
    "retainer_mass",
    "rocker_inertia",
    "rocker_inertia_from_mass",
    "spring_mass",
    "tappet_mass",
    "valve_mass",
]

DENSITIES = {
    "carbon steel": 7850.0,
    "4140/4340 steel": 7850.0,
    "stainless steel": 8000.0,
    "valve steel": 7700.0,  # austenitic valve steels: common practice, no source
    "grey iron": 7300.0,
    "ductile iron": 7100.0,
    "356.0 aluminum": 2690.0,
    "6061 aluminum": 2700.0,
    "Ti-6Al-4V": 4430.0,
}  # [kg/m3]


@dataclass(frozen=True)
class Estimate:
    """An estimated quantity.

    Attributes:
        value: [kg], or [kg m2] for an inertia.
        relative_uncertainty: relative standard uncertainty [-].
        basis: in words, beginning with "estimated".
    """

    value: FloatArray
    relative_uncertainty: float
    basis: str

    @property
    def uncertainty(self) -> FloatArray:
        """Standard uncertainty in the unit of the value."""
        return np.abs(self.value) * self.relative_uncertainty


def valve_mass(
    stem_diameter: ArrayLike,
    length: ArrayLike,
    head_diameter: ArrayLike,
    density: ArrayLike = DENSITIES["valve steel"],
    margin: ArrayLike = 0.0015,
    cone_angle: ArrayLike = 0.35,
) -> Estimate:
    """Poppet valve: stem, a disc of the margin's thickness, and a cone from the head to the stem.

    Args:
        stem_diameter, length, head_diameter: [m], > 0; length is over all.
        density: [kg/m3].
        margin: thickness of the head's edge and seat [m], > 0.
        cone_angle: of the underhead against the head's plane [rad], 0 to pi/2.
    """
    stem, length, head, density, margin, angle = _positive(
        stem_diameter=stem_diameter,
        length=length,
        head_diameter=head_diameter,
        density=density,
        margin=margin,
        cone_angle=cone_angle,
    )
    if np.any(head <= stem):
        raise ValueError(f"head_diameter is {head.min():g} m; it must be greater than the stem's.")
    r, head_r = stem / 2, head / 2
    cone = (head_r - r) * np.tan(angle)
    volume = np.pi * r**2 * (length - margin - cone)
    volume = volume + np.pi * head_r**2 * margin + _frustum(head_r, r, cone)
    return _estimate(density * volume, 0.10, "valve: stem, edge and cone")


def retainer_mass(
    outside_diameter: ArrayLike,
    height: ArrayLike,
    keeper_diameter: ArrayLike,
    stem_diameter: ArrayLike,
    density: ArrayLike = DENSITIES["carbon steel"],
    flange: ArrayLike = 0.0025,
) -> Estimate:
    """Retainer with its pair of keepers: a flange on a hub, around the stem.

    Args:
        outside_diameter: of the flange that carries the spring [m].
        height: of the whole [m].
        keeper_diameter: outside diameter of the hub around the keepers [m].
        stem_diameter: [m].
        density: [kg/m3]; keepers are counted in the same material.
        flange: thickness [m].
    """
    outside, height, hub, stem, density, flange = _positive(
        outside_diameter=outside_diameter,
        height=height,
        keeper_diameter=keeper_diameter,
        stem_diameter=stem_diameter,
        density=density,
        flange=flange,
    )
    volume = np.pi / 4 * ((outside**2 - hub**2) * flange + (hub**2 - stem**2) * height)
    return _estimate(density * volume, 0.20, "retainer and keepers: flange and hub")


def pushrod_mass(
    outside_diameter: ArrayLike,
    wall: ArrayLike,
    length: ArrayLike,
    density: ArrayLike = DENSITIES["carbon steel"],
) -> Estimate:
    """Tube with two solid ends, each one outside diameter long beyond the tube's share.

    Args:
        outside_diameter, wall, length: [m], > 0; a wall of half the diameter is a solid rod.
        density: [kg/m3].
    """
    outside, wall, length, density = _positive(
        outside_diameter=outside_diameter, wall=wall, length=length, density=density
    )
    if np.any(2 * wall > outside):
        raise ValueError(f"wall is {wall.max():g} m; it must be at most half the outside diameter.")
    bore = outside - 2 * wall
    hollow = np.maximum(length - 2 * outside, 0.0)
    volume = np.pi / 4 * (outside**2 * length - bore**2 * hollow)
    return _estimate(density * volume, 0.07, "pushrod: tube with solid ends")


def tappet_mass(
    body_diameter: ArrayLike,
    length: ArrayLike,
    wall: ArrayLike,
    face_thickness: ArrayLike,
    density: ArrayLike = DENSITIES["grey iron"],
) -> Estimate:
    """Flat tappet as a cup: a wall around a bore, closed by the face; the pushrod's seat adds the same again.

    Args:
        body_diameter, length, wall, face_thickness: [m], > 0.
        density: [kg/m3].
    """
    body, length, wall, face, density = _positive(
        body_diameter=body_diameter, length=length, wall=wall, face_thickness=face_thickness, density=density
    )
    if np.any(2 * wall > body) or np.any(2 * face > length):
        raise ValueError("The tappet's walls fill more than its body; give a thinner wall or face.")
    bore = body - 2 * wall
    volume = np.pi / 4 * (body**2 * length - bore**2 * (length - 2 * face))
    return _estimate(density * volume, 0.15, "tappet: cup with face and pushrod seat")


def rocker_inertia(
    pad_arm: ArrayLike,
    socket_arm: ArrayLike,
    section_height: ArrayLike,
    section_width: ArrayLike,
    shaft_diameter: ArrayLike,
    hub_wall: ArrayLike,
    hub_width: ArrayLike,
    end_mass: ArrayLike = 0.0,
    density: ArrayLike = DENSITIES["carbon steel"],
) -> Estimate:
    """Inertia of a rocker about its shaft: a hub, and two arms that taper to half their section at the end.

    An arm of length a from the axis with section A (1 - x/(2a)) has the inertia rho A a^3 5/24 (integral of
    x^2); the hub's own metal within its radius is counted once, as the hub.

    Args:
        pad_arm, socket_arm: shaft axis to pad and to socket [m].
        section_height, section_width: of an arm at the shaft, as if it were solid [m].
        shaft_diameter, hub_wall, hub_width: [m].
        end_mass: adjuster and nut at the socket's end [kg], >= 0.
        density: [kg/m3].
    """
    pad, socket, height, width, shaft, wall, hub, density = _positive(
        pad_arm=pad_arm,
        socket_arm=socket_arm,
        section_height=section_height,
        section_width=section_width,
        shaft_diameter=shaft_diameter,
        hub_wall=hub_wall,
        hub_width=hub_width,
        density=density,
    )
    outer = shaft / 2 + wall
    inertia = density * np.pi / 2 * hub * (outer**4 - (shaft / 2) ** 4)
    for arm in (pad, socket):
        if np.any(arm <= outer):
            raise ValueError(f"An arm is {arm.min():g} m, within the hub's radius of {outer.max():g} m.")
        inner = outer**3 / 3 - outer**4 / (8 * arm)
        inertia = inertia + density * height * width * (arm**3 * 5 / 24 - inner)
    inertia = inertia + np.asarray(end_mass, float) * socket**2
    return _estimate(inertia, 0.25, "rocker: hub and two tapered arms")


def rocker_inertia_from_mass(mass: ArrayLike, pad_arm: ArrayLike, socket_arm: ArrayLike) -> Estimate:
    """Inertia about its shaft of a rocker that has been weighed: two arms that taper to half their section.

    m (5/18) (a^3 + b^3)/(a + b), a and b the arms: an arm of length a with the section A (1 - x/(2a)) has the
    mass rho A a 3/4 and the inertia rho A a^3 5/24. A heavy hub makes it less, a heavy adjuster more.

    Args:
        mass: of the rocker with its adjuster [kg], > 0.
        pad_arm, socket_arm: shaft axis to pad and to socket [m], > 0.
    """
    m, a, b = _positive(mass=mass, pad_arm=pad_arm, socket_arm=socket_arm)
    return _estimate(m * (5 / 18) * (a**3 + b**3) / (a + b), 0.25, "rocker: its mass on two tapered arms")


def spring_mass(
    wire_diameter: ArrayLike,
    mean_diameter: ArrayLike,
    coils: ArrayLike,
    density: ArrayLike = DENSITIES["carbon steel"],
) -> Estimate:
    """Helical spring, rho (pi d^2/4) (pi D n); with the active coils it is the mass that surges.

    Args:
        wire_diameter, mean_diameter: [m]; the pitch's small lengthening of the wire is left out.
        coils: [-].
        density: [kg/m3].
    """
    d, mean, n, density = _positive(
        wire_diameter=wire_diameter, mean_diameter=mean_diameter, coils=coils, density=density
    )
    return _estimate(density * np.pi**2 / 4 * d**2 * mean * n, 0.03, "spring: wire length times section")


def _frustum(first: FloatArray, second: FloatArray, height: FloatArray) -> FloatArray:
    """Volume of a cone's frustum."""
    volume: FloatArray = np.pi * height / 3 * (first**2 + first * second + second**2)
    return volume


def _estimate(value: FloatArray, relative: float, what: str) -> Estimate:
    """Mark a value as estimated."""
    return Estimate(value, relative, f"estimated from dimensions ({what})")


def _positive(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """The values as arrays; zero or negative is refused, NaN passes."""
    arrays = []
    for name, value in values.items():
        array = np.asarray(value, float)
        if np.any(array <= 0):
            raise ValueError(f"{name} is {array.min():g}; it must be greater than zero.")
        arrays.append(array)
    return tuple(arrays)
