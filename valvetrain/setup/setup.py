"""A sheet that has been read: the engine and the train of every valve, in SI units."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.engine import Engine, Stock
from valvetrain.parts.limits import Limit
from valvetrain.parts.lobe import Cam
from valvetrain.parts.measured import Measured
from valvetrain.parts.oil import Oil
from valvetrain.parts.record import Record
from valvetrain.parts.spring import LoadTest, SpringTester
from valvetrain.parts.train import Train

__all__ = ["Column", "Setup"]


@dataclass(frozen=True)
class Column:
    """One measured value at every valve.

    Attributes:
        value: the values [SI], shape [n]; NaN where it was not measured.
        uncertainty: their standard uncertainties [SI], shape [n]; 0 where the value is NaN.
        source: where each stands in the sheet; empty where it was not measured.
    """

    value: FloatArray
    uncertainty: FloatArray
    source: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Setup:
    """An engine as its sheet describes it.

    Attributes:
        sheet: the sheet's name, as given.
        title: its title.
        units: "inch" or "metric": the units it is written in.
        trains: the train of every valve, front to rear, intake before exhaust in each cylinder.
        limits: limits by id, the sheet's own where it gives them.
        heights: the height ledger, in the table's order; empty where there is none.
        spring_tester: known errors of the spring tester.
        tested_springs: at each valve every spring of the table that its own comes from, fitted or spare.
        oil: the oil and its way to the rockers.
        record: how the record of inspections is kept.
    """

    sheet: str
    title: str
    units: str
    engine: Engine
    cam: Cam
    stock: Stock
    trains: tuple[Train, ...]
    limits: Mapping[str, Limit]
    heights: tuple[HeightChange, ...] = ()
    spring_tester: SpringTester = SpringTester()
    tested_springs: tuple[tuple[LoadTest, ...], ...] = ()
    oil: Oil = field(default_factory=Oil)
    record: Record = field(default_factory=Record)

    @property
    def valves(self) -> tuple[str, ...]:
        """Return the names of the valves."""
        return tuple(train.name for train in self.trains)

    @property
    def roles(self) -> tuple[str, ...]:
        """Return the role of each valve."""
        return tuple(train.role for train in self.trains)

    def column(self, section: str, key: str) -> Column:
        """Return the value of a part's key at every valve, for example `column("rocker", "pad_arm")`."""
        found: list[Measured | None] = [getattr(getattr(train, section), key) for train in self.trains]
        return Column(
            np.array([np.nan if each is None else each.value for each in found]),
            np.array([0.0 if each is None else each.uncertainty for each in found]),
            tuple("" if each is None else each.source for each in found),
        )
