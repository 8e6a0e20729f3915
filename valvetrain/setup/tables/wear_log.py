"""A record of inspections, read from CSV: a row an inspection of one valve, in order of time.

Columns: `valve`; one or more of `hours`, `distance` and `date`; and of `lash_found`, `lash_left`, `state`,
`lobe_lift`, `turned`, `engine`, `remarks` those that are kept. Whole columns are read at once, since a
fleet's record has many rows.
"""

from bisect import bisect_right
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.record import WearLog
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.tables.csv_file import unguarded
from valvetrain.setup.tables.log_columns import WORDS, Known, LogColumns
from valvetrain.setup.units import shown

__all__ = ["read_wear_log"]


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
    table = LogColumns(path, shown_as, system, instruments)
    valve = table.valves(valves)
    table.same_engine(engine)
    axes = {"hours": table.numbers("hours"), "distance": table.numbers("distance"), "date": table.dates()}
    lash_found, lash_left = table.numbers("lash_found"), table.numbers("lash_left")
    lobe_lift, turned, hot = table.numbers("lobe_lift"), table.words("turned"), table.words("state")
    lash_read = ~np.isnan(lash_found) | ~np.isnan(lash_left)
    if state is not None:
        hot = np.where(np.isnan(hot), WORDS["state"][state], hot)
    table.each(
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
        table.each(
            np.flatnonzero(lobe_lift > most).tolist(),
            "lobe_lift",
            lambda index: (
                f"{shown(float(lobe_lift[index]), 'length', system)} is more than the lobe has as made, "
                f"{shown(float(most[index]) / 1.05, 'length', system)}"
            ),
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
        remarks=tuple(map(unguarded, table.cells.get("remarks", [""] * table.count))),
        lash_step=_step(np.concatenate([lash_found, lash_left])),
        lift_step=_step(lobe_lift),
        source=shown_as,
    )


def _in_order(table: LogColumns, axes: dict[str, FloatArray]) -> None:
    """Refuse time that runs backward down the file, on every axis that the record keeps; a row once."""
    named: set[int] = set()
    for name, values in axes.items():
        cells = table.cells.get(name, [])
        wrong = {}
        for index, before in _out_of_order(values).items():
            if index not in named:
                side, line = ("earlier", "above") if values[index] < values[before] else ("later", "below")
                wrong[index] = (
                    f"'{cells[index]}' is {side} than '{cells[before]}' {line} it, on line "
                    f"{table.lines[before]}: out of order"
                )
        named |= set(wrong)
        table.each(
            sorted(wrong),
            name,
            wrong.__getitem__,
            "Put the rows in order of time, or correct the cell; was the meter changed?",
        )


def _out_of_order(values: FloatArray) -> dict[int, int]:
    """Return the fewest rows without which time never falls, each with a row that it is at odds with."""
    known = np.flatnonzero(~np.isnan(values))
    if not known.size or not np.any(np.diff(values[known]) < 0):
        return {}
    # The longest run of rows that never falls (patience sorting): what is not in it is out of place. From the
    # end, so that of two rows at odds the upper one stays.
    ends: list[float] = []
    last: list[int] = []
    previous: dict[int, int] = {}
    for index in known[::-1].tolist():
        place = bisect_right(ends, -values[index])
        previous[index] = last[place - 1] if place else -1
        ends[place : place + 1], last[place : place + 1] = [-float(values[index])], [index]
    kept, at = [], last[-1]
    while at >= 0:
        kept.append(at)
        at = previous[at]
    order = np.array(kept)
    found = {}
    for index in sorted(set(known.tolist()) - set(kept)):
        after = int(np.searchsorted(order, index))
        early = after > 0 and values[order[after - 1]] > values[index]
        found[index] = int(order[after - 1]) if early else int(order[after])
    return found


def _not_doubled(
    table: LogColumns,
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
    table.each(
        np.flatnonzero(first_of != np.arange(table.count)).tolist(),
        "",
        lambda index: (
            f"valve {table.cells['valve'][index]} stands twice at one time "
            f"(first on line {table.lines[int(first_of[index])]})"
        ),
        "Keep one of the two rows.",
    )


def _axis(table: LogColumns, axes: dict[str, FloatArray], by: str | None) -> str:
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
        table.each(
            # A cell that cannot be read is named already.
            [index for index in gaps[name].tolist() if not table.cells[name][index]],
            name,
            lambda index: "the cell is empty, and no other column of time is full",
            "Give hours, distance or date in every row.",
        )
        return name
    return "hours"


def _step(values: FloatArray) -> float:
    """Return the finest step in which values are written: the least distance between two of them."""
    different = np.unique(np.round(values[~np.isnan(values)], 9))
    gaps = np.diff(different)
    return float(gaps.min()) if gaps.size else 0.0
