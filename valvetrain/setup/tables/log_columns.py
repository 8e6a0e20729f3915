"""The cells of a wear log by column: numbers, words, dates and valves, and every fault found in them."""

import csv
from collections.abc import Callable, Sequence
from datetime import date
from functools import lru_cache
from pathlib import Path

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.record import AXES
from valvetrain.parts.spec import Spec
from valvetrain.setup.faults import Fault, SheetError, nearest
from valvetrain.setup.tables.csv_file import split_table
from valvetrain.setup.units import display_unit, to_si
from valvetrain.setup.values import measured

__all__ = ["LOG_COLUMNS", "LOG_SPECS", "WORDS", "Known", "LogColumns"]

LOG_SPECS = {
    "hours": Spec("running hours", "duration", low=0.0, high=3.6e9),
    "distance": Spec("distance run", "distance", low=0.0, high=1e10),
    "lash_found": Spec("lash found", "length", low=0.0, high=0.0025, instrument="feeler"),
    "lash_left": Spec("lash left", "length", low=0.0, high=0.0025, instrument="feeler"),
    "lobe_lift": Spec("lobe lift measured", "length", low=0.0, high=0.02, instrument="indicator"),
}
WORDS = {"state": {"cold": 0.0, "hot": 1.0}, "turned": {"yes": 1.0, "no": 0.0}}
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


class LogColumns:
    """The cells of a record by column, and the faults found in them."""

    def __init__(self, path: Path, shown_as: str, system: str, instruments: Known) -> None:
        """Split the file into columns; raise `SheetError` where it has no rows."""
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
        self.each(
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

    def each(self, rows: Sequence[int], column: str, what: Callable[[int], str], mend: str) -> None:
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
        self.each(
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
        known = WORDS[column] | {"": np.nan}
        cells = [cell.lower() for cell in self.cells[column]]
        self.each(
            [index for index, cell in enumerate(cells) if cell not in known],
            column,
            lambda index: f"'{self.cells[column][index]}' is not allowed",
            f"Write {' or '.join(WORDS[column])}.",
        )
        return np.array([known.get(cell, np.nan) for cell in cells])

    def dates(self) -> FloatArray:
        """Read the dates as ordinals; NaN where the cell is blank or the column is not there."""
        if "date" not in self.cells:
            return np.full(self.count, np.nan)
        cells = self.cells["date"]
        values = np.array([_ordinal(cell) for cell in cells])
        self.each(
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
        self.each(
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
        self.each(
            [index for index, cell in enumerate(cells) if cell and cell != own],
            "engine",
            lambda index: f"'{cells[index]}' is another engine than '{own}'",
            "Keep a file for each engine; its name stands in [record] engine of the sheet.",
        )


@lru_cache(maxsize=20000)
def _ordinal(text: str) -> float:
    try:
        return float(date.fromisoformat(text).toordinal())
    except ValueError:
        return float("nan")
