"""The columns that valve control needs, with what is taken where the sheet is silent."""

from collections.abc import Mapping
from typing import Protocol

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.train_loads import TrainMasses
from valvetrain.setup.setup import Column, Setup
from valvetrain.studies.control_curves import LobeShapes
from valvetrain.studies.linkage_inputs import linkage_columns
from valvetrain.studies.quantity import Quantity
from valvetrain.studies.train_masses import train_mass_columns

__all__ = ["ASSUMED", "SpringLoads", "column_of", "control_columns", "moving_masses", "with_default"]

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


class SpringLoads(Protocol):
    """What is taken from the study of the springs."""

    @property
    def seat_load(self) -> Quantity:
        """Load with the valve closed."""

    @property
    def rate(self) -> Quantity:
        """Spring rate."""


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


def control_columns(setup: Setup, shapes: LobeShapes, seat_load: Column, rate: Column) -> dict[str, Column]:
    """Return the inputs of the rigid control limit: linkage, lobe, spring, masses."""
    count = len(setup.trains)
    return linkage_columns(setup) | {
        "station.gross_lift": setup.column("station", "gross_lift"),
        "lobe.acceleration": Column(np.ones(count), shapes.doubt, shapes.source),
        "seat load": seat_load,
        "spring rate": rate,
        "control.spring_share": with_default(setup, "control.spring_share"),
        **train_mass_columns(setup).columns,
    }


def moving_masses(rows: Mapping[str, FloatArray]) -> TrainMasses:
    """Masses of the rigid train, a share of the spring's with the valve."""
    return TrainMasses(
        valve_side=rows["valve.mass"]
        + rows["masses.retainer_mass"]
        + rows["masses.keeper_mass"]
        + rows["control.spring_share"] * rows["masses.spring_mass"],
        rocker_inertia=rows["masses.rocker_inertia"],
        pushrod=rows["masses.pushrod_mass"],
        tappet=rows["masses.tappet_mass"],
    )
