"""A sheet that has been read: the engine and the train of every valve, in SI units."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.uncertainty.distributions import NORMAL, Distribution
from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.correlation import Correlation
from valvetrain.parts.engine import Engine, Stock
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.limits.limit import Limit
from valvetrain.parts.lobe import Cam
from valvetrain.parts.measured import Measured
from valvetrain.parts.oil import Oil
from valvetrain.parts.record import Record
from valvetrain.parts.row import ShaftRow
from valvetrain.parts.spring import LoadTest, SpringTester
from valvetrain.parts.train import Train
from valvetrain.parts.wheel import WheelReading

__all__ = ["Column", "Setup"]


@dataclass(frozen=True)
class Column:
    """One measured value at every valve.

    Attributes:
        value: the values [SI], shape [n]; NaN where it was not measured.
        uncertainty: their standard uncertainties [SI], shape [n]; 0 where the value is NaN.
        source: where each stands in the sheet; empty where it was not measured.
        correlation: of the sheet's inferred values, this key among them; else None.
        distribution: shape of its errors; a sheet's own are taken as normal.
    """

    value: FloatArray
    uncertainty: FloatArray
    source: tuple[str, ...]
    correlation: Correlation | None = None
    distribution: Distribution = NORMAL


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
        shaft_rows: every shaft as a row of parts; empty where the sheet describes none.
        spring_tester: known errors of the spring tester.
        tested_springs: at each valve every spring of the table that its own comes from, fitted or spare.
        oil: the oil and its way to the rockers.
        record: how the record of inspections is kept.
        wheel: degree-wheel readings, in the table's order.
        correlation: of values that were inferred together; None where nothing was.
        contents: what stood in the files from which it was read.
        instruments: name -> (dimension, standard uncertainty of one reading [SI], or share of it).
        not_borrowed: "section.key" of values that a section gives and blank cells of a column do not take.
        outside: files that were read and lie outside the sheet's folder.
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
    shaft_rows: tuple[ShaftRow, ...] = ()
    spring_tester: SpringTester = field(default_factory=SpringTester)
    tested_springs: tuple[tuple[LoadTest, ...], ...] = ()
    oil: Oil = field(default_factory=Oil)
    record: Record = field(default_factory=Record)
    not_borrowed: tuple[str, ...] = ()
    wheel: tuple[WheelReading, ...] = ()
    correlation: Correlation | None = None
    contents: Mapping[Path, bytes | str] = field(default_factory=dict, repr=False, compare=False)
    instruments: Mapping[str, tuple[str, float]] = field(default_factory=lambda: DEFAULT_UNCERTAINTY)
    outside: tuple[str, ...] = ()

    @property
    def valves(self) -> tuple[str, ...]:
        """Return the names of the valves."""
        return tuple(train.name for train in self.trains)

    @property
    def roles(self) -> tuple[str, ...]:
        """Return the role of each valve."""
        return tuple(train.role for train in self.trains)

    @property
    def shafts(self) -> dict[str, tuple[int, ...]]:
        """Return the places of the valves on each rocker shaft, by its name; empty for one shaft."""
        found: dict[str, tuple[int, ...]] = {}
        for index, train in enumerate(self.trains):
            name = train.shaft.name or ""
            found[name] = (*found.get(name, ()), index)
        return found if len(found) > 1 else {}

    def column(self, section: str, key: str) -> Column:
        """Return the value of a part's key at every valve, for example `column("rocker", "pad_arm")`."""
        found: list[Measured | None] = [getattr(getattr(train, section), key) for train in self.trains]
        return Column(
            np.array([np.nan if each is None else each.value for each in found]),
            np.array([0.0 if each is None else each.uncertainty for each in found]),
            tuple("" if each is None else each.source for each in found),
            self.correlation if self.correlation and f"{section}.{key}" in self.correlation.keys else None,
        )
