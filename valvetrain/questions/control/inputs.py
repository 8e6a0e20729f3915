"""The columns that valve control needs, with what is taken where the sheet is silent."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.dynamics.train_loads import TrainMasses
from valvetrain.questions.control.curves import LobeShapes
from valvetrain.questions.control.train_masses import train_mass_columns
from valvetrain.setup.linkage_columns import linkage_columns
from valvetrain.setup.setup import Column, Setup

__all__ = [
    "ASSUMED",
    "SpringColumns",
    "SpringLoads",
    "column_of",
    "control_columns",
    "moving_masses",
    "spring_columns",
    "with_default",
]

THIRD = 1.0 / 3.0

ASSUMED = {
    "control.spring_share": (THIRD, 0.02),
    "control.damping_ratio": (0.10, 0.025),
    "control.lobe_stiffness": (60e6, 20e6),
    "control.seat_stiffness": (60e6, 20e6),
    "control.least_gap": (38e-6, 0.0),
    "control.least_bounce": (100e-6, 0.0),
    "control.ramp_share": (0.10, 0.0),
    "control.tip_friction": (0.10, 0.03),
    "control.shaft_friction": (0.10, 0.03),
    "contact.friction": (0.10, 0.03),
    "control.guide_drag": (0.0, 0.0),
}
"""Key -> value and standard uncertainty where the sheet is silent: one third of the spring is published
(Rothbart (ed.), Cam Design Handbook, 2004, chapter 11), the thinnest feeler and the rest are common practice,
no source."""


@dataclass(frozen=True)
class SpringColumns:
    """A spring as control takes it: a straight line from the load on the seat, each at every valve."""

    seat_load: Column
    rate: Column


class SpringLoads(Protocol):
    """What is taken from the study of the springs."""

    @property
    def seat_load(self) -> Quantity:
        """Load with the valve closed."""

    @property
    def open_load(self) -> Quantity:
        """Load at full lift."""

    @property
    def rate(self) -> Quantity:
        """Spring rate at the seat."""

    @property
    def rate_open(self) -> Quantity:
        """Spring rate at full lift."""


def spring_columns(spring: SpringLoads, net_lift: Quantity) -> SpringColumns:
    """Return the springs as straight lines from seat to full lift; so is a progressive one taken."""
    seat, rate = column_of(spring.seat_load, "springs"), column_of(spring.rate, "springs")
    # A spring that does not reach the valve has no seat load that is known.
    seat = Column(np.where(seat.value > 0, seat.value, np.nan), seat.uncertainty, seat.source)
    with np.errstate(invalid="ignore", divide="ignore"):
        chord = (spring.open_load.value - spring.seat_load.value) / net_lift.value
        chord = np.where(np.isfinite(chord) & (chord > 0), chord, rate.value)
        spread = np.nan_to_num(rate.uncertainty / rate.value * chord)
    return SpringColumns(seat, Column(chord, spread, rate.source))


def with_default(setup: Setup, key: str) -> Column:
    """Return a column, with what is assumed where the sheet is silent."""
    own = setup.column(*key.split("."))
    value, spread = ASSUMED[key]
    silent = np.isnan(own.value)
    return Column(
        np.where(silent, value, own.value),
        np.where(silent, spread, own.uncertainty),
        tuple("assumed" if gone else source for source, gone in zip(own.source, silent, strict=True)),
    )


def column_of(quantity: Quantity, where: str) -> Column:
    """Turn a study's quantity into an input of another."""
    return Column(
        quantity.value, np.nan_to_num(quantity.uncertainty, posinf=0.0), (where,) * len(quantity.value)
    )


def control_columns(setup: Setup, shapes: LobeShapes, springs: SpringColumns) -> dict[str, Column]:
    """Return the inputs of the rigid control limit: linkage, lobe, spring, masses."""
    count = len(setup.trains)
    return linkage_columns(setup) | {
        "station.gross_lift": setup.column("station", "gross_lift"),
        "lobe.acceleration": Column(np.ones(count), shapes.doubt, shapes.source),
        "seat load": springs.seat_load,
        "spring rate": springs.rate,
        "control.spring_share": with_default(setup, "control.spring_share"),
        **train_mass_columns(setup).columns,
    }


def moving_masses(rows: Mapping[str, FloatArray]) -> TrainMasses:
    """Masses of the rigid train, a share of the spring's with the valve."""
    valve_side = (
        rows["valve.mass"]
        + rows["masses.retainer_mass"]
        + rows["masses.keeper_mass"]
        + rows["control.spring_share"] * rows["masses.spring_mass"]
    )
    return TrainMasses(
        valve_side=_possible(valve_side),
        rocker_inertia=_possible(rows["masses.rocker_inertia"]),
        pushrod=_possible(rows["masses.pushrod_mass"]),
        tappet=_possible(rows["masses.tappet_mass"]),
    )


def _possible(mass: FloatArray) -> FloatArray:
    """Masses greater than zero; one drawn below it from a wide uncertainty cannot be, and is unknown."""
    return np.where(mass > 0, mass, np.nan)
