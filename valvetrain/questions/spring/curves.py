"""The springs of every valve as curves of load over height: from tests, catalog figures, or their wire."""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.spring.tester import LoadTesterUncertainty, SpringLine, fitted_spring_line
from valvetrain.parts.spring import CoilSpring, LoadTest, SpringTester
from valvetrain.questions.spring.wire import conical_curve, wire_rate
from valvetrain.setup.setup import Column, Setup

__all__ = [
    "SPRINGS",
    "SpringCurves",
    "corrected",
    "fitted_line",
    "given",
    "kind_of",
    "spring_curves",
    "springs_are_unplaced",
]

SPRINGS = ("spring", "middle_spring", "inner_spring")
_WAYS = ("", " (slope)", " (bend)")


@dataclass(frozen=True)
class SpringCurves:
    """Load of each spring = a - b x + c x^2 with x = height - reference height, never below zero.

    Attributes:
        sections: the sheet's sections of the springs that are there, the outer one first.
        columns: sheet key -> column, the inputs of the curves.
        spread: section -> how the fit's three coefficients move together, shape [n, 3, 3], where a spring is
            progressive; each way of moving is a column of its own, in units of its standard uncertainty.
        tables: section -> valve's index -> heights [m] and loads [N] of a conical spring.
    """

    sections: tuple[str, ...]
    columns: Mapping[str, Column]
    spread: Mapping[str, FloatArray]
    tables: Mapping[str, Mapping[int, tuple[FloatArray, FloatArray]]]

    def load_and_rate(
        self, rows: Mapping[str, FloatArray], section: str, height: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Load [N] and tangent rate [N/m] of one spring at its own heights [m], shape [k, n]."""
        a, b, c = (rows[f"{section}.{key}"] for key in ("load", "rate", "bend"))
        if section in self.spread:
            moved = np.stack([rows[f"{section}.tests{way}"] for way in _WAYS], axis=-1)
            shift = np.einsum("nij,...nj->...ni", self.spread[section], moved)
            a, b, c = a + shift[..., 0], b + shift[..., 1], c + shift[..., 2]
        x = height - rows[f"{section}.load_height"]
        curved = c > 0.0
        # Beyond the height at which the curve is level it is no spring any more.
        x = np.where(curved, np.minimum(x, b / np.where(curved, 2.0 * c, 1.0)), x)
        load, rate = a - b * x + c * x * x, b - 2.0 * c * x
        for index, (heights, loads) in self.tables.get(section, {}).items():
            scale = rows[f"{section}.wire"][..., index]
            load[..., index] = scale * np.interp(height[..., index], heights, loads, right=0.0)
            slope = -np.gradient(loads, heights)
            rate[..., index] = scale * np.interp(height[..., index], heights, slope)
        return np.maximum(load, 0.0), np.where(load < 0.0, 0.0, rate)

    @property
    def straight(self) -> bool:
        """Whether every valve's load is one straight line of the height."""
        bent = any(np.any(self.columns[f"{section}.bend"].value != 0) for section in self.sections)
        return len(self.sections) == 1 and not bent and not self.tables

    def of_valve(self, values: Mapping[str, ArrayLike], index: int, heights: FloatArray) -> FloatArray:
        """Load [N] of one valve's springs at heights [m] of shape [k]."""
        count = len(self.columns["spring.rate"].value)
        table = np.full((len(heights), count), np.nan)
        table[:, index] = heights
        rows = {key: np.full(count, value) for key, value in values.items()}
        return np.asarray(self.total(rows, table)[0][:, index])

    def heights(self, rows: Mapping[str, FloatArray], section: str, height: FloatArray) -> FloatArray:
        """Own height [m] of one spring, where the set stands at `height`."""
        if section == "spring":
            return height
        return np.asarray(height - rows[f"{section}.seat_step"] - rows[f"{section}.retainer_step"])

    def total(
        self, rows: Mapping[str, FloatArray], height: FloatArray, without: Sequence[str] = ()
    ) -> tuple[FloatArray, FloatArray]:
        """Load and rate of the set at a height, springs in `without` left out."""
        parts = [
            self.load_and_rate(rows, section, self.heights(rows, section, height))
            for section in self.sections
            if section not in without
        ]
        return sum((load for load, _ in parts), np.zeros(1)), sum((rate for _, rate in parts), np.zeros(1))


def kind_of(spring: CoilSpring, test: LoadTest | None) -> str | None:
    """Kind of a spring: as the table of its load test says, else as its section says."""
    return test.kind if test is not None and test.kind is not None else spring.kind


def given(spring: CoilSpring) -> bool:
    """Whether anything is known of a spring."""
    known = (spring.rate, spring.tests, spring.free_length, spring.catalog_load, spring.wire_diameter)
    return any(each is not None for each in known)


def spring_curves(setup: Setup, tests: Sequence[LoadTest | None] | None = None) -> SpringCurves:
    """Return the curves; `tests` replaces the load test of each valve's outer spring."""
    sections = tuple(
        section
        for section in SPRINGS
        if section == "spring" or any(given(getattr(train, section)) for train in setup.trains)
    )
    columns: dict[str, Column] = {}
    spread: dict[str, FloatArray] = {}
    tables: dict[str, dict[int, tuple[FloatArray, FloatArray]]] = {}
    for section in sections:
        springs = [getattr(train, section) for train in setup.trains]
        own = tests if section == "spring" and tests is not None else [each.tests for each in springs]
        # Where springs were tested a valve without its own is unmeasured: wire and catalog are the set's.
        asked = [section == "spring" and bool(each) for each in setup.tested_springs]
        asked = asked or [False] * len(springs)
        lines = [
            _Line() if among and test is None else _line(each, test, setup.spring_tester)
            for each, test, among in zip(springs, own, asked, strict=True)
        ]
        source = tuple(line.source for line in lines)
        for key in ("load", "rate", "bend", "load_height"):
            pairs = np.array([getattr(line, key) for line in lines])
            columns[f"{section}.{key}"] = Column(pairs[:, 0], np.nan_to_num(pairs[:, 1]), source)
        if any(line.spread is not None for line in lines):
            none = np.zeros((3, 3))
            spread[section] = np.array([none if line.spread is None else line.spread for line in lines])
            for way in _WAYS:
                unit = np.array([float(line.spread is not None) for line in lines])
                columns[f"{section}.tests{way}"] = Column(0.0 * unit, unit, source)
        cones = {index: line.cone for index, line in enumerate(lines) if line.cone is not None}
        if cones:
            tables[section] = {index: cone[:2] for index, cone in cones.items()}
            doubt = np.array([cones[index][2] if index in cones else 0.0 for index in range(len(lines))])
            columns[f"{section}.wire"] = Column(np.ones(len(lines)), doubt, source)
        columns[f"{section}.solid_height"] = setup.column(section, "solid_height")
        if section != "spring":
            for key in ("seat_step", "retainer_step"):
                step = setup.column(section, key)
                columns[f"{section}.{key}"] = Column(np.nan_to_num(step.value), step.uncertainty, step.source)
    return SpringCurves(sections, columns, spread, tables)


def springs_are_unplaced(setup: Setup) -> bool:
    """Whether several springs were tested, and no valve says which is its own."""
    tested = any(len(springs) > 1 for springs in setup.tested_springs)
    return tested and all(train.spring.tests is None for train in setup.trains)


@dataclass(frozen=True)
class _Line:
    """One spring: (value, uncertainty) of each coefficient."""

    load: tuple[float, float] = (np.nan, 0.0)
    rate: tuple[float, float] = (np.nan, 0.0)
    load_height: tuple[float, float] = (np.nan, 0.0)
    bend: tuple[float, float] = (0.0, 0.0)
    source: str = ""
    spread: FloatArray | None = None
    cone: tuple[FloatArray, FloatArray, float] | None = None


def _line(spring: CoilSpring, test: LoadTest | None, tester: SpringTester) -> _Line:
    """Take a spring's tests, else its rate with a catalog load or its free length, or two catalog loads."""
    if test is not None:
        return _tested(test, tester, kind_of(spring, test) == "progressive")
    if spring.kind == "conical":
        cone = conical_curve(spring)
        if cone is not None:
            source = spring.wire_diameter.source if spring.wire_diameter else ""
            return _Line((0.0, 0.0), (1.0, 0.0), (0.0, 0.0), source=source, cone=cone)
    seat, full = spring.catalog_height, spring.catalog_open_height
    load, full_load = spring.catalog_load, spring.catalog_open_load
    if spring.rate is None and seat and full and load and full_load:
        travel = seat.value - full.value
        doubt = float(np.hypot(load.uncertainty, full_load.uncertainty)) / travel
        rate = ((full_load.value - load.value) / travel, doubt)
        return _Line((load.value, load.uncertainty), rate, (seat.value, seat.uncertainty), source=load.source)
    known = spring.rate or wire_rate(spring)
    if known is None:
        return _Line()
    rate = (known.value, known.uncertainty)
    if seat and load:
        return _Line(
            (load.value, load.uncertainty), rate, (seat.value, seat.uncertainty), source=known.source
        )
    free = spring.free_length
    if free is None:
        return _Line(rate=rate, source=known.source)
    return _Line((0.0, 0.0), rate, (free.value, free.uncertainty), source=known.source)


def corrected(test: LoadTest, tester: SpringTester) -> tuple[FloatArray, FloatArray, LoadTesterUncertainty]:
    """Heights [m] and loads [N] less the tester's known errors, and what stays unknown of it."""
    scale, zero = tester.scale, tester.zero
    high = [each for each in (tester.height_zero, tester.retainer_thickness) if each is not None]
    loads = np.array([each.value for each in test.loads]) - (zero.value if zero else 0.0)
    heights = np.array([each.value for each in test.heights]) - sum(each.value for each in high)
    stated = [each.uncertainty for each in test.loads if each.stated]
    # Without a check of its scale the tester's share of the reading is common to all of its readings.
    share = max(
        (each.uncertainty / each.value for each in test.loads if each.value > 0 and not each.stated),
        default=0.0,
    )
    return (
        heights,
        loads / (scale.value if scale else 1.0),
        LoadTesterUncertainty(
            load=max(stated, default=0.0),
            height=max(each.uncertainty for each in test.heights),
            zero=zero.uncertainty if zero else 0.0,
            scale=scale.uncertainty if scale else share,
            height_zero=float(np.hypot.reduce([each.uncertainty for each in high])) if high else 0.0,
        ),
    )


@functools.lru_cache(maxsize=512)
def fitted_line(test: LoadTest, tester: SpringTester) -> SpringLine:
    """Fit one spring's load test as a straight line."""
    heights, loads, doubt = corrected(test, tester)
    return fitted_spring_line(heights, loads, doubt)


@functools.lru_cache(maxsize=512)
def _tested(test: LoadTest, tester: SpringTester, progressive: bool) -> _Line:
    source = f"{test.source} spring {test.spring}" if test.spring else test.source
    if progressive and len({each.value for each in test.heights}) >= 3:
        from valvetrain.mechanics.spring.progressive import fitted_progressive_spring

        fit = fitted_progressive_spring(*corrected(test, tester))
        a, b, c = (float(each) for each in fit.coefficients)
        doubt = fit.tester
        # The tester's own errors move the whole curve: they are put where the coefficients feel them.
        shared = np.diag([doubt.zero**2, 0.0, 0.0])
        for move in (doubt.scale * fit.coefficients, doubt.height_zero * np.array([b, 2.0 * c, 0.0])):
            shared = shared + np.outer(move, move)
        values, vectors = np.linalg.eigh(fit.covariance + shared)
        spread = vectors * np.sqrt(np.maximum(values, 0.0))
        return _Line((a, 0.0), (b, 0.0), (fit.center, 0.0), (c, 0.0), source, spread[:, ::-1])
    line = fitted_line(test, tester)
    mean = float(line.mean_height)
    return _Line(
        (float(line.mean_load), float(line.load_uncertainty_at(mean))),
        (float(line.rate), float(line.rate_uncertainty)),
        (mean, 0.0),
        source=source,
    )
