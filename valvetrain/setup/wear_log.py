"""A record of inspections, read from CSV: a row an inspection of one valve, in order of time.

Columns: `valve`; one or more of `hours`, `distance` and `date`; and of `lash_found`, `lash_left`, `state`,
`lobe_lift`, `turned`, `engine`, `remarks` those that are kept. Whole columns are read at once, since a
fleet's record has many rows.
"""

import csv
from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from pathlib import Path

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.record import AXES, WearLog
from valvetrain.parts.spec import Spec
from valvetrain.setup.csv_table import split_table
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.units import display_unit, to_si
from valvetrain.setup.values import measured

__all__ = ["LOG_COLUMNS", "LOG_SPECS", "read_wear_log"]

LOG_SPECS = {
    "hours": Spec("running hours", "duration", low=0.0, high=3.6e9),
    "distance": Spec("distance run", "distance", low=0.0, high=1e10),
    "lash_found": Spec("lash found", "length", low=0.0, high=0.0025, instrument="feeler"),
    "lash_left": Spec("lash left", "length", low=0.0, high=0.0025, instrument="feeler"),
    "lobe_lift": Spec("lobe lift measured", "length", low=0.0, high=0.02, instrument="indicator"),
}
_WORDS = {"state": {"cold": 0.0, "hot": 1.0}, "turned": {"yes": 1.0, "no": 0.0}}
LOG_COLUMNS: tuple[str, ...] = (
    "engine",
    "date",
    "hours",
    "distance",
    "valve",
    "lash_found",
    "lash_left",
    "state",
    "lobe_lift",
)
LOG_COLUMNS += ("turned", "remarks")

_MOST = 12
"""Faults of one kind that are named one by one; of more the number is told."""

Known = dict[str, tuple[str, float]]


class _Columns:
    """The cells of a record by column, and the faults found in them."""

    def __init__(self, path: Path, shown_as: str, system: str, instruments: Known) -> None:
        self.file, self.system, self.instruments = shown_as, system, instruments
        lines, delimiter, names, self.units = split_table(path, shown_as, ("valve",))
        self.faults = [
            Fault(f"{shown_as} header", f"column '{name}' is not known", nearest(name, LOG_COLUMNS))
            for name in self.units
            if name not in LOG_COLUMNS
        ]
        if not any(axis in self.units for axis in AXES):
            self.faults.append(
                Fault(shown_as, "has no column of hours, distance or date", "Add one: a trend needs time.")
            )
        rows = list(csv.reader([text for _, text in lines[1:]], delimiter=delimiter))
        self.lines = [number for number, _ in lines[1:]]
        width = len(names)
        self._each(
            [
                index
                for index, row in enumerate(rows)
                if len(row) > width and any(map(str.strip, row[width:]))
            ],
            "",
            lambda index: f"has {len(rows[index])} cells where the header has {width}",
            "A decimal comma in a comma-separated file, or an unclosed quote?",
        )
        rows = [row if len(row) == width else (row + [""] * width)[:width] for row in rows]
        if not rows:
            self.faults.append(Fault(shown_as, "the record has a header but no rows", "Add an inspection."))
            raise SheetError(self.faults)
        columns = [list(map(str.strip, column)) for column in zip(*rows, strict=True)]
        self.cells = {name: column for name, column in zip(names, columns, strict=True) if name}
        self.count = len(rows)

    def where(self, index: int, column: str) -> str:
        """Name a cell."""
        return f"{self.file} line {self.lines[index]}" + (f", column {column}" if column else "")

    def _each(self, rows: Sequence[int], column: str, what, mend: str) -> None:  # type: ignore[no-untyped-def]
        """Add a fault for every row, and the number of those that are too many to name."""
        for index in rows[:_MOST]:
            self.faults.append(Fault(self.where(index, column), what(index), mend))
        if len(rows) > _MOST:
            more = f"{len(rows) - _MOST} more rows have the same fault"
            self.faults.append(Fault(self.where(rows[_MOST], column) + " and on", more, mend))

    def numbers(self, column: str) -> FloatArray:
        """Read a column of quantities [SI]; NaN where the cell is blank or the column is not there."""
        if column not in self.cells:
            return np.full(self.count, np.nan)
        cells, spec = self.cells[column], LOG_SPECS[column]
        assert spec.dimension is not None
        unit = self.units[column] or display_unit(spec.dimension, self.system)
        try:
            scale = to_si(1.0, unit, spec.dimension)
            blank = np.array([not cell for cell in cells])
            try:
                plain = [float(cell) if cell else np.nan for cell in cells]
            except ValueError:
                plain = [float(cell.replace(",", ".")) if cell else np.nan for cell in cells]
            values = np.array(plain) * scale
            doubtful = np.flatnonzero(~blank & ~((values >= spec.low) & (values <= spec.high)))
        except ValueError:
            values = np.full(self.count, np.nan)
            doubtful = np.flatnonzero([bool(cell) for cell in cells])
        wrong: dict[int, str] = {}
        for index in doubtful.tolist():
            try:
                values[index] = measured(
                    cells[index],
                    spec,
                    "",
                    system=self.system,
                    instruments=self.instruments,
                    header_unit=self.units[column],
                ).value
            except ValueError as error:
                wrong[index] = str(error)
        self._each(
            list(wrong),
            column,
            wrong.__getitem__,
            "Correct the cell, or leave it blank if it was not measured.",
        )
        return values

    def words(self, column: str) -> FloatArray:
        """Read a column of two words as 1 and 0, NaN where it is blank."""
        if column not in self.cells:
            return np.full(self.count, np.nan)
        known = _WORDS[column] | {"": np.nan}
        cells = [cell.lower() for cell in self.cells[column]]
        self._each(
            [index for index, cell in enumerate(cells) if cell not in known],
            column,
            lambda index: f"'{self.cells[column][index]}' is not allowed",
            f"Write {' or '.join(_WORDS[column])}.",
        )
        return np.array([known.get(cell, np.nan) for cell in cells])

    def dates(self) -> FloatArray:
        """Read the dates as ordinals; NaN where the cell is blank or the column is not there."""
        if "date" not in self.cells:
            return np.full(self.count, np.nan)
        cells = self.cells["date"]
        values = np.array([_ordinal(cell) for cell in cells])
        self._each(
            [index for index in np.flatnonzero(np.isnan(values)).tolist() if cells[index]],
            "date",
            lambda index: f"'{cells[index]}' is not a date",
            "Write it as year-month-day, such as 2026-04-30.",
        )
        return values

    def valves(self, names: Sequence[str]) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
        """Read the valves as indices into the engine's."""
        place = {name: index for index, name in enumerate(names)}
        found = np.array([place.get(cell.upper(), -1) for cell in self.cells["valve"]], np.intp)
        self._each(
            np.flatnonzero(found < 0).tolist(),
            "valve",
            lambda index: f"'{self.cells['valve'][index]}' is not a valve of this engine",
            f"Its valves are {', '.join(names)}. Is it another engine's record?",
        )
        return found

    def same_engine(self, engine: str | None) -> None:
        """Refuse rows of another engine than the sheet's, or than the first row's."""
        cells = self.cells.get("engine")
        if cells is None:
            return
        own = engine if engine is not None else next((cell for cell in cells if cell), "")
        self._each(
            [index for index, cell in enumerate(cells) if cell and cell != own],
            "engine",
            lambda index: f"'{cells[index]}' is another engine than '{own}'",
            "Keep a file for each engine; its name stands in [record] engine of the sheet.",
        )


def read_wear_log(
    path: Path,
    shown_as: str,
    valves: Sequence[str],
    *,
    system: str,
    instruments: Known,
    engine: str | None = None,
    state: str | None = None,
    lobe_lifts: FloatArray | None = None,
    by: str | None = None,
) -> WearLog:
    """Read a record; every fault of it is reported at once.

    Args:
        path, shown_as: the file, and its name in messages.
        valves: names of the engine's valves.
        system, instruments: of the sheet.
        engine: the engine's name in its record, where the sheet gives it.
        state: "cold" or "hot", where a row says neither.
        lobe_lifts: lift of each valve's lobe as made [m]; NaN unknown. A lift well above it cannot be.
        by: "hours", "distance" or "date" to count in; left out, the first of them that every row gives.

    Raises:
        SheetError: unreadable cells, rows out of order or doubled, another engine's rows, a lash or a lift
            that cannot be, no column of time that every row gives.
    """
    table = _Columns(path, shown_as, system, instruments)
    valve = table.valves(valves)
    table.same_engine(engine)
    axes = {"hours": table.numbers("hours"), "distance": table.numbers("distance"), "date": table.dates()}
    lash_found, lash_left = table.numbers("lash_found"), table.numbers("lash_left")
    lobe_lift, turned, hot = table.numbers("lobe_lift"), table.words("turned"), table.words("state")
    lash_read = ~np.isnan(lash_found) | ~np.isnan(lash_left)
    if state is not None:
        hot = np.where(np.isnan(hot), _WORDS["state"][state], hot)
    table._each(
        [
            index
            for index in np.flatnonzero(lash_read & np.isnan(hot)).tolist()
            if not table.cells.get("state", [""] * table.count)[index]
        ],
        "state",
        lambda index: "the lash is given without the state that it was read in",
        "Write cold or hot.",
    )
    if lobe_lifts is not None:
        most = 1.05 * lobe_lifts[np.maximum(valve, 0)]
        table._each(
            np.flatnonzero(lobe_lift > most).tolist(),
            "lobe_lift",
            lambda index: f"{table.cells['lobe_lift'][index]} is more than the lobe has as made",
            "Was it read at the valve? The dial belongs on the tappet or the pushrod.",
        )
    _in_order(table, axes)
    _not_doubled(table, valve, axes, hot)
    axis = _axis(table, axes, by)
    if table.faults:
        raise SheetError(table.faults)
    time = axes[axis]
    first = None
    if axis == "date":
        first = int(time.min())
        time = (time - first) * 86400.0
    return WearLog(
        axis=axis,
        valve=valve,
        time=time,
        first_date=first,
        lash_found=lash_found,
        lash_left=lash_left,
        hot=hot,
        lobe_lift=lobe_lift,
        turned=turned,
        remarks=tuple(table.cells.get("remarks", [""] * table.count)),
        lash_step=_step(np.concatenate([lash_found, lash_left])),
        lift_step=_step(lobe_lift),
        source=shown_as,
    )


def _in_order(table: _Columns, axes: dict[str, FloatArray]) -> None:
    """Refuse time that runs backward down the file, on every axis that the record keeps."""
    for name, values in axes.items():
        latest = np.fmax.accumulate(values)
        late = np.flatnonzero(values[1:] < latest[:-1]) + 1
        table._each(
            late.tolist(),
            name,
            lambda index, name=name: (
                f"'{table.cells[name][index]}' is earlier than a row above it: out of order"
            ),
            "Put the rows in order of time, or correct the cell; was the meter changed?",
        )


def _not_doubled(
    table: _Columns,
    valve: np.ndarray[tuple[int], np.dtype[np.intp]],
    axes: dict[str, FloatArray],
    hot: FloatArray,
) -> None:
    """Refuse a valve that stands twice at one time in one state."""
    keys = [valve, *(np.nan_to_num(each, nan=-1.0) for each in (*axes.values(), hot))]
    order = np.lexsort(keys)  # stable: of rows that are alike the first comes first
    changes = np.zeros(table.count, bool)
    for key in keys:
        changes[1:] |= key[order][1:] != key[order][:-1]
    start = np.maximum.accumulate(np.where(changes, np.arange(table.count), 0))
    first_of = np.empty(table.count, int)
    first_of[order] = order[start]
    table._each(
        np.flatnonzero(first_of != np.arange(table.count)).tolist(),
        "",
        lambda index: (
            f"valve {table.cells['valve'][index]} stands twice at one time "
            f"(first on line {table.lines[int(first_of[index])]})"
        ),
        "Keep one of the two rows.",
    )


def _axis(table: _Columns, axes: dict[str, FloatArray], by: str | None) -> str:
    """Choose what to count in: the axis asked for, or the first that every row gives."""
    gaps = {name: np.flatnonzero(np.isnan(values)) for name, values in axes.items() if name in table.units}
    if by is not None and by not in gaps:
        table.faults.append(Fault(table.file, f"has no column '{by}' to count in", "Choose another axis."))
        return by
    wanted = [by] if by is not None else [name for name in axes if name in gaps]
    whole = [name for name in wanted if not gaps[name].size]
    if whole:
        return whole[0]
    if wanted:
        name = min(wanted, key=lambda each: gaps[each].size)
        table._each(
            gaps[name].tolist(),
            name,
            lambda index: "the cell is empty, and no other column of time is full",
            "Give hours, distance or date in every row.",
        )
        return name
    return "hours"


@lru_cache(maxsize=20000)
def _ordinal(text: str) -> float:
    try:
        return float(date.fromisoformat(text).toordinal())
    except ValueError:
        return float("nan")


def _step(values: FloatArray) -> float:
    """Return the finest step in which values are written: the least distance between two of them."""
    different = np.unique(np.round(values[~np.isnan(values)], 9))
    gaps = np.diff(different)
    return float(gaps.min()) if gaps.size else 0.0
