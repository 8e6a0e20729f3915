"""Equations of an elastic valvetrain with contacts that only press, as one linear system per contact state.

Three masses at the valve side of the ratio (tappet side, rocker side, valve side) and the modes of the spring
stand in a row; between lobe, tappet side, rocker side, valve and seat there are four contacts, each a spring
and a damper that can press but not pull. For every set of closed contacts the motion is linear, x' = A x,
with the lobe's cubic of the running step, its derivatives and a constant 1 as further states.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["CONTACTS", "ElasticSystem", "ElasticTrain", "closed_contacts", "elastic_system"]

CONTACTS = ("lobe", "pushrod", "tip", "seat")
STATES = np.array(list(product([False, True], repeat=len(CONTACTS))))


@dataclass(frozen=True)
class ElasticTrain:
    """An elastic train seen from the valve; every field has the shape [valves] or is one for all.

    Displacements count along the stem, positive as the valve opens; masses, stiffnesses and forces left of
    the rocker are reduced through the ratio (mass and stiffness by its square, force by itself).

    Attributes:
        tappet_mass: tappet and half the pushrod [kg].
        rocker_mass: rocker and half the pushrod [kg].
        valve_mass: valve, retainer, keepers, without the spring [kg].
        spring_mass: active coils of the spring, whole [kg]; 0 with no modes leaves the spring massless.
        lobe_stiffness, pushrod_stiffness, tip_stiffness, seat_stiffness: of the contact or link [N/m].
        lobe_damping, pushrod_damping, tip_damping, seat_damping: [N s/m].
        spring_rate: [N/m].
        seat_load: spring force on the closed valve [N].
        spring_damping: damping ratio of the surge modes [-].
        guide_damping: viscous drag on the valve [N s/m].
        tappet_weight, rocker_weight: steady force that holds the tappet side, and the rocker side, back
            toward the lobe (weight, oil pressure, a helper spring) [N].
        lash: gap at the tip, closed valve, base circle [m].
        ratio: pad drop per tappet rise for which the train was reduced [-]; gives the loads at the lobe.
        cup_mass: half the pushrod, as it is, between the pushrod's spring and the cup [kg].
    """

    tappet_mass: ArrayLike
    rocker_mass: ArrayLike
    valve_mass: ArrayLike
    spring_mass: ArrayLike
    lobe_stiffness: ArrayLike
    pushrod_stiffness: ArrayLike
    tip_stiffness: ArrayLike
    seat_stiffness: ArrayLike
    lobe_damping: ArrayLike
    pushrod_damping: ArrayLike
    tip_damping: ArrayLike
    seat_damping: ArrayLike
    spring_rate: ArrayLike
    seat_load: ArrayLike
    spring_damping: ArrayLike
    guide_damping: ArrayLike
    tappet_weight: ArrayLike
    rocker_weight: ArrayLike
    lash: ArrayLike
    ratio: ArrayLike = 1.0
    cup_mass: ArrayLike = 0.0

    def __post_init__(self) -> None:
        """Refuse masses, stiffnesses, rates and seat loads that are not positive; the rest, negative ones."""
        strict = ("mass", "stiffness", "spring_rate", "seat_load", "ratio")
        for name, value in vars(self).items():
            array = np.asarray(value, float)
            if not np.all(np.isfinite(array)):
                raise ValueError(f"{name} is not a finite number; the elastic model needs every value.")
            above = name.endswith(strict) and name not in ("spring_mass", "cup_mass")
            if np.any(array <= 0) if above else np.any(array < 0):
                allowed = "greater than zero" if above else "zero or more"
                raise ValueError(f"{name} is {array.min():g}; it must be {allowed}.")


@dataclass(frozen=True)
class ElasticSystem:
    """The linear systems of V trains, in a time unit of their fastest vibration.

    The state is [3 + m displacements, their velocities, 1, lobe, lobe', lobe'', lobe'''], N in all.

    Attributes:
        time_unit: [s]; the velocities and derivatives in the state are per this unit.
        matrices: A of each set of closed contacts (order of the binary number, lobe first), [V, 16, N, N].
        gap: rows giving the approach of each contact, positive when pressed [m], [V, 4, N].
        force: rows giving the force of each contact if closed [N], [V, 4, N].
        start: state at rest on the base circle, [V, N].
        modes: of the spring.
        mass, stiffness: of the free train (no contact), [V, 3 + m, 3 + m].
    """

    time_unit: float
    matrices: FloatArray
    gap: FloatArray
    force: FloatArray
    start: FloatArray
    modes: int
    mass: FloatArray
    stiffness: FloatArray


def closed_contacts(system: ElasticSystem, states: FloatArray) -> BoolArray:
    """Which contacts press: pressed together, and not pulled by their damper.

    Args:
        system: of V trains.
        states: [V, ..., N].

    Returns:
        [V, ..., 4] in the order of CONTACTS.
    """
    middle = (1,) * (states.ndim - 3)
    gap = np.swapaxes(system.gap, 1, 2).reshape(len(system.gap), *middle, states.shape[-1], 4)
    force = np.swapaxes(system.force, 1, 2).reshape(gap.shape)
    return (states @ gap > 0) & (states @ force > 0)


def elastic_system(train: ElasticTrain, modes: int = 2) -> ElasticSystem:
    """Assemble the systems.

    The spring is a uniform rod held at its seat: u = x/L z + sum q_i sin(i pi x/L), which gives a third of
    its mass to the valve, mass m/2 and stiffness k (i pi)^2/2 to mode i (so the first surge frequency is
    sqrt(k/m)/2), and inertia coupling m (-1)^(i+1)/(i pi) between them.

    Args:
        train: V trains.
        modes: surge modes of the spring, 0 to 8.

    Raises:
        ValueError: modes out of range, or a spring without mass that should surge.
    """
    values = {name: np.atleast_1d(np.asarray(v, float)) for name, v in vars(train).items()}
    count = max(v.size for v in values.values())
    t = {name: np.broadcast_to(v, count) for name, v in values.items()}
    if not 0 <= modes <= 8:
        raise ValueError(f"The number of surge modes is {modes}; it must be 0 to 8.")
    if modes and np.any(t["spring_mass"] <= 0):
        raise ValueError("A spring with surge modes needs a spring mass greater than zero.")
    free = 3 + modes
    mass = np.zeros((count, free, free))
    stiffness = np.zeros_like(mass)
    damping = np.zeros_like(mass)
    mass[:, 0, 0], mass[:, 1, 1] = t["tappet_mass"], t["rocker_mass"]
    mass[:, 2, 2] = t["valve_mass"] + t["spring_mass"] / 3.0
    stiffness[:, 2, 2] = t["spring_rate"]
    damping[:, 2, 2] = t["guide_damping"]
    for i in range(1, modes + 1):
        at = 2 + i
        mass[:, at, at] = t["spring_mass"] / 2.0
        mass[:, at, 2] = mass[:, 2, at] = t["spring_mass"] * (-1.0) ** (i + 1) / (i * np.pi)
        stiffness[:, at, at] = t["spring_rate"] * (i * np.pi) ** 2 / 2.0
        damping[:, at, at] = 2 * t["spring_damping"] * np.sqrt(stiffness[:, at, at] * mass[:, at, at])

    size = 2 * free + 5
    one, lobe = 2 * free, 2 * free + 1
    gap = np.zeros((count, 4, size))
    rate = np.zeros_like(gap)
    gap[:, 0, lobe], gap[:, 0, 0] = 1.0, -1.0
    gap[:, 1, 0], gap[:, 1, 1] = 1.0, -1.0
    gap[:, 2, 1], gap[:, 2, 2], gap[:, 2, one] = 1.0, -1.0, -t["lash"]
    # The closed valve at rest counts as zero lift, so the seat is already pressed by the seat load there.
    gap[:, 3, 2], gap[:, 3, one] = -1.0, t["seat_load"] / t["seat_stiffness"]
    rate[:, :, free : 2 * free] = gap[:, :, :free]
    rate[:, 0, lobe + 1] = 1.0
    k = np.stack([t[f"{name}_stiffness"] for name in CONTACTS], 1)
    c = np.stack([t[f"{name}_damping"] for name in CONTACTS], 1)
    push = -gap[:, :, :free]  # a contact's force pushes apart what its approach brings together

    whole = stiffness + np.einsum("vci,vc,vcj->vij", push, k, push)
    inverse = np.linalg.inv(mass)
    time_unit = 1.0 / float(np.sqrt(np.abs(np.linalg.eigvals(inverse @ whole)).max()))
    force = k[:, :, None] * gap + c[:, :, None] / time_unit * rate

    plain = np.zeros((count, size, size))
    plain[:, range(free), range(free, 2 * free)] = 1.0
    below = slice(free, 2 * free)
    plain[:, below, :free] = -(time_unit**2) * inverse @ stiffness
    plain[:, below, below] = -time_unit * inverse @ damping
    steady = np.zeros((count, free))
    steady[:, 0], steady[:, 1], steady[:, 2] = -t["tappet_weight"], -t["rocker_weight"], -t["seat_load"]
    plain[:, below, one] = time_unit**2 * np.einsum("vij,vj->vi", inverse, steady)
    for order in range(3):
        plain[:, lobe + order, lobe + order + 1] = 1.0
    each = np.zeros((count, 4, size, size))
    each[:, :, below, :] = time_unit**2 * np.einsum("vij,vcj,vcn->vcin", inverse, push, force)
    matrices = plain[:, None] + np.einsum("sc,vcij->vsij", STATES.astype(float), each)

    start = np.zeros((count, size))
    start[:, one] = 1.0
    start[:, 0] = -(t["tappet_weight"] + t["rocker_weight"]) / t["lobe_stiffness"]
    start[:, 1] = start[:, 0] - t["rocker_weight"] / t["pushrod_stiffness"]
    return ElasticSystem(time_unit, matrices, gap, force, start, modes, mass, stiffness)
