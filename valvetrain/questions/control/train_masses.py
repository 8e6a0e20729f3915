"""Moving masses of every valve's train: as weighed, or else estimated from sizes and marked so."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.dynamics.mass_estimates import (
    DENSITIES,
    Estimate,
    pushrod_mass,
    retainer_mass,
    rocker_inertia,
    rocker_inertia_from_mass,
    spring_mass,
    tappet_mass,
    valve_mass,
)
from valvetrain.setup.setup import Column, Setup

__all__ = ["MASS_KEYS", "MASS_SIZES", "TrainMassColumns", "train_mass_columns"]

MASS_KEYS = (
    "valve.mass",
    "masses.retainer_mass",
    "masses.keeper_mass",
    "masses.spring_mass",
    "masses.pushrod_mass",
    "masses.tappet_mass",
    "masses.rocker_inertia",
)

MASS_SIZES = {
    "valve.mass": ("valve.stem_diameter", "masses.valve_length", "valve.head_diameter"),
    "masses.retainer_mass": (
        "shapes.retainer_diameter",
        "shapes.retainer_depth",
        "masses.retainer_hub",
        "valve.stem_diameter",
    ),
    "masses.keeper_mass": (),
    "masses.spring_mass": ("spring.wire_diameter", "spring.coil_diameter", "spring.active_coils"),
    "masses.pushrod_mass": ("pushrod.outside_diameter", "pushrod.wall", "pushrod.length"),
    "masses.tappet_mass": (
        "masses.tappet_diameter",
        "masses.tappet_length",
        "masses.tappet_wall",
        "masses.tappet_face",
    ),
    "masses.rocker_inertia": ("masses.rocker_mass", "rocker.pad_arm", "rocker.socket_arm"),
}
"""Sizes from which each mass is estimated where it was not weighed."""

_ROCKER_SECTION = (
    "masses.rocker_height",
    "masses.rocker_width",
    "shaft.diameter",
    "shapes.hub_diameter",
    "masses.rocker_hub_width",
)

# Closed ends: a coil at each end is wire, though it does not work.
_DEAD_COILS = 2.0


@dataclass(frozen=True)
class TrainMassColumns:
    """Masses at every valve.

    Attributes:
        columns: key of `MASS_KEYS` -> the mass [kg] (the rocker's: inertia [kg m2]); NaN where neither
            weighed nor to be estimated.
        estimated: at every valve, the keys that were estimated.
        missing: at every valve, the keys of what is not known.
    """

    columns: dict[str, Column]
    estimated: tuple[tuple[str, ...], ...]
    missing: tuple[tuple[str, ...], ...]


def train_mass_columns(setup: Setup) -> TrainMassColumns:
    """Return the moving masses of every valve."""
    count = len(setup.trains)
    columns: dict[str, Column] = {}
    estimated: list[list[str]] = [[] for _ in range(count)]
    missing: list[list[str]] = [[] for _ in range(count)]
    for key in MASS_KEYS:
        own = setup.column(*key.split("."))
        if not np.any(np.isnan(own.value)):
            columns[key] = own
            continue
        value, spread, source = own.value.copy(), own.uncertainty.copy(), list(own.source)
        guess = _ESTIMATES[key](setup)
        known = np.broadcast_to(guess.value, (count,))
        for index in np.flatnonzero(np.isnan(own.value)):
            if np.isnan(known[index]):
                missing[index].append(key)
                continue
            value[index], spread[index] = known[index], known[index] * guess.relative_uncertainty
            source[index] = guess.basis
            estimated[index].append(key)
        columns[key] = Column(value, spread, tuple(source))
    _keepers_with_retainer(columns, estimated, missing)
    return TrainMassColumns(columns, tuple(map(tuple, estimated)), tuple(map(tuple, missing)))


def _keepers_with_retainer(
    columns: dict[str, Column], estimated: list[list[str]], missing: list[list[str]]
) -> None:
    """Keepers are in the estimate of the retainer: beside one they are not missing."""
    keepers = columns["masses.keeper_mass"]
    value = keepers.value.copy()
    for index, keys in enumerate(estimated):
        if "masses.retainer_mass" in keys and "masses.keeper_mass" in missing[index]:
            value[index] = 0.0
            missing[index].remove("masses.keeper_mass")
    columns["masses.keeper_mass"] = Column(value, keepers.uncertainty, keepers.source)


def _sizes(setup: Setup, keys: tuple[str, ...]) -> list[np.ndarray]:
    return [setup.column(*key.split(".")).value for key in keys]


def _density(setup: Setup, part: str, usual: str) -> np.ndarray:
    """Density of a part's material at every valve [kg/m3]."""
    named = [getattr(train.masses, f"{part}_material") or usual for train in setup.trains]
    return np.array([DENSITIES[name] for name in named])


def _valve(setup: Setup) -> Estimate:
    stem, length, head = _sizes(setup, MASS_SIZES["valve.mass"])
    return valve_mass(stem, length, head, _density(setup, "valve", "valve steel"))


def _retainer(setup: Setup) -> Estimate:
    outside, height, hub, stem = _sizes(setup, MASS_SIZES["masses.retainer_mass"])
    return retainer_mass(outside, height, hub, stem, _density(setup, "retainer", "carbon steel"))


def _unknown(setup: Setup) -> Estimate:
    return Estimate(np.full(len(setup.trains), np.nan), 0.0, "")


def _spring(setup: Setup) -> Estimate:
    """Estimate the springs of one valve together; a spring inside another counts where its wire is given."""
    wire, coil, active = _sizes(setup, MASS_SIZES["masses.spring_mass"])
    total = spring_mass(wire, coil, active + _DEAD_COILS)
    value = total.value
    for section in ("middle_spring", "inner_spring"):
        inside = _sizes(
            setup, tuple(f"{section}.{key}" for key in ("wire_diameter", "coil_diameter", "active_coils"))
        )
        given = setup.column(section, "rate").value, setup.column(section, "free_length").value
        there = ~np.all(np.isnan([*inside, *given]), axis=0)
        value = value + np.where(there, spring_mass(inside[0], inside[1], inside[2] + _DEAD_COILS).value, 0.0)
    return Estimate(value, total.relative_uncertainty, total.basis)


def _pushrod(setup: Setup) -> Estimate:
    outside, wall, length = _sizes(setup, MASS_SIZES["masses.pushrod_mass"])
    return pushrod_mass(outside, wall, length, _density(setup, "pushrod", "carbon steel"))


def _tappet(setup: Setup) -> Estimate:
    body, length, wall, face = _sizes(setup, MASS_SIZES["masses.tappet_mass"])
    return tappet_mass(body, length, wall, face, _density(setup, "tappet", "grey iron"))


def _rocker(setup: Setup) -> Estimate:
    """Estimate the rocker's inertia from its mass, or else from its section and hub."""
    mass, pad, socket = _sizes(setup, MASS_SIZES["masses.rocker_inertia"])
    weighed = rocker_inertia_from_mass(mass, pad, socket)
    if not np.any(np.isnan(weighed.value)):
        return weighed
    height, width, shaft, hub, hub_width = _sizes(setup, _ROCKER_SECTION)
    wall = np.where(hub > shaft, (hub - shaft) / 2, np.nan)
    formed = rocker_inertia(
        pad, socket, height, width, shaft, wall, hub_width, 0.0, _density(setup, "rocker", "carbon steel")
    )
    value = np.where(np.isnan(weighed.value), formed.value, weighed.value)
    return Estimate(value, formed.relative_uncertainty, "estimated from the rocker's mass or its sizes")


_ESTIMATES: dict[str, Callable[[Setup], Estimate]] = {
    "valve.mass": _valve,
    "masses.retainer_mass": _retainer,
    "masses.keeper_mass": _unknown,
    "masses.spring_mass": _spring,
    "masses.pushrod_mass": _pushrod,
    "masses.tappet_mass": _tappet,
    "masses.rocker_inertia": _rocker,
}
