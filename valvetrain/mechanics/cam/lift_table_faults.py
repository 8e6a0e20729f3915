"""What is wrong with a lift table, row by row, before a curve is fitted to it."""

from math import pi

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray

__all__ = ["Fault", "table_faults"]

Fault = tuple[int, str]
"""Index of the row (0 is the first row of values; -1 the table as a whole) and a sentence."""

LEAST_ROWS = 8
COARSEST_GAP = np.radians(20.0)
"""A wider gap between rows on the lobe leaves its flank to guesswork [cam rad] (common practice)."""


def table_faults(angle: ArrayLike, lift: ArrayLike) -> list[Fault]:
    """Faults of a lift table, in row order; an empty list for a sound one.

    Args:
        angle: cam angle [cam rad], shape [n], meant to rise over one turn at most.
        lift: tappet lift [m], shape [n].

    Looked for: unequal or few rows, values that are not finite, falling angles, doubled rows, a span of more
    than a turn (crank degrees entered as cam degrees) or so short that it may be the reverse, gaps on the
    lobe, lift below the base circle, no lift, a base circle that does not close, and single readings that
    stand out of their neighbours by far more than the others do (a spike or a mis-keyed row).

    Never raises on values; ValueError where an argument is not a column.
    """
    x, y = np.asarray(angle, float), np.asarray(lift, float)
    if x.ndim != 1 or y.ndim != 1:
        raise ValueError(f"angle and lift must be columns; their shapes are {x.shape} and {y.shape}")
    if x.size != y.size:
        return [(-1, f"There are {x.size} angles but {y.size} lifts.")]
    if x.size < LEAST_ROWS:
        return [(-1, f"The table has {x.size} rows; at least {LEAST_ROWS} are needed.")]
    faults: list[Fault] = []
    for name, column in (("angle", x), ("lift", y)):
        bad = np.flatnonzero(~np.isfinite(column))
        faults += [(int(row), f"The {name} is {column[row]}, not a finite number.") for row in bad]
    if faults:
        return sorted(faults)
    faults = _angle_faults(x)
    if faults:
        return faults
    if not np.ptp(y) > 0:
        return [(-1, "The table shows no lift at all: every reading is the same.")]
    spans = _span_faults(x, y)
    gaps = np.array([row for row, text in spans if row > 0 and "gap" in text], int)
    # The neighbours of a row beside a gap lie too far off to say where it should be.
    lifts = _lift_faults(x, y)
    # An end that is off is told already, and leads its neighbours astray: they are held against each other.
    cut = int(any("not closed" in text for _, text in lifts))
    spikes = [(row + cut, text) for row, text in _spikes(x[cut : x.size - cut], y[cut : x.size - cut])]
    spikes = [each for each in spikes if not np.any((gaps - 3 < each[0]) & (each[0] < gaps + 3))]
    return sorted(spans + lifts + spikes)


def _angle_faults(x: FloatArray) -> list[Fault]:
    step = np.diff(x)
    if np.median(step) < 0:
        return [(0, "The angles fall down the table; turn it round so that they rise.")]
    tiny = 1e-9
    doubled = [(int(row) + 1, "The angle is the same as in the row before: a doubled row.")
               for row in np.flatnonzero(np.abs(step) <= tiny)]  # fmt: skip
    falling = [(int(row) + 1, f"The angle falls from {np.degrees(x[row]):.6g} to "
                              f"{np.degrees(x[row + 1]):.6g} cam degrees; it must rise down the table.")
               for row in np.flatnonzero(step < -tiny)]  # fmt: skip
    return sorted(doubled + falling)


def _span_faults(x: FloatArray, y: FloatArray) -> list[Fault]:
    faults: list[Fault] = []
    span, height = x[-1] - x[0], np.max(y) - np.min(y)
    if span > 2 * pi * (1 + 1e-6):
        faults.append(
            (-1, f"The table spans {np.degrees(span):.5g} cam degrees, more than one turn: are these crank "
                 "degrees (720 a cycle)?")
        )  # fmt: skip
        return faults
    high = x[y - np.min(y) > 0.5 * height]
    event = high[-1] - high[0] if span < 1.9 * pi else 0.0
    if 0.9 * pi < span < 1.1 * pi and event < np.radians(45):
        faults.append(
            (-1, f"The lobe is only {np.degrees(event):.3g} degrees wide at half lift in a table of "
                 f"{np.degrees(span):.4g}: was a 720-degree crank cycle entered as 360, or halved twice?")
        )  # fmt: skip
    step = np.diff(x)
    typical = float(np.median(step))
    raised = np.maximum(y[1:], y[:-1]) > np.min(y) + 0.02 * height
    for row in np.flatnonzero((step > max(2.5 * typical, np.radians(2.5))) & raised):
        gap, usual = np.degrees(step[row]), np.degrees(typical)
        faults.append(
            (int(row) + 1, f"There is a gap of {gap:.4g} cam degrees before this row; most are {usual:.4g}.")
        )
    if typical > COARSEST_GAP:
        faults.append((-1, f"Rows are {np.degrees(typical):.3g} cam degrees apart; 20 is the most that shows "
                           "a lobe's flank."))  # fmt: skip
    return faults


def _lift_faults(x: FloatArray, y: FloatArray) -> list[Fault]:
    height = float(np.max(y))
    faults: list[Fault] = []
    # A dial's noise and zero may show a little below zero; 1 % of the lift is more than that.
    for row in np.flatnonzero(y < -max(0.01 * height, 5e-5)):
        faults.append(
            (int(row), f"The lift is negative ({y[row] * 1e3:.4g} mm): zero the dial on the base circle.")
        )
    ends = abs(y[0] - y[-1])
    if ends > max(0.01 * height, 5e-5):
        faults.append(
            (x.size - 1, f"The table is not closed: it starts at {y[0] * 1e3:.4g} mm and ends at "
                         f"{y[-1] * 1e3:.4g} mm of lift.")
        )  # fmt: skip
    elif min(y[0], y[-1]) > 0.1 * height and x[-1] - x[0] < 1.9 * pi:
        faults.append((-1, f"The table starts and ends {y[0] * 1e3:.4g} mm up the lobe: its base circle is "
                           "missing."))  # fmt: skip
    return faults


def _spikes(x: FloatArray, y: FloatArray) -> list[Fault]:
    """Readings far from the curves through their neighbours on either side.

    The largest is taken out first, since a spike also spoils its neighbours' curves.
    """
    faults: list[Fault] = []
    kept = np.arange(x.size)
    # Even a sound lobe leaves the cubic where its acceleration steps: the step of the harshest law,
    # 8 lifts per flank squared, moves it by about a sixth of itself times the row spacing squared.
    harshest = 1.2 * float(np.ptp(y)) * float(np.median(np.diff(x))) ** 2
    floor = max(4e-3 * float(np.ptp(y)), harshest, 2.5e-5)
    for _ in range(max(1, x.size // 20)):
        if kept.size < LEAST_ROWS:
            break
        distance, expected, share = _from_neighbours(x[kept], y[kept], 2)
        excess = np.maximum(
            _over_the_others(distance, floor), _over_the_noise(x[kept], y[kept], distance, share)
        )
        excess[np.abs(distance) < floor] = 0.0
        worst = int(np.argmax(excess * np.abs(distance) * (excess >= 1.0)))
        if excess[worst] < 1.0:
            break
        row = int(kept[worst])
        faults.append((row, f"The lift of {y[row] * 1e3:.5g} mm stands out: its neighbours lead to about "
                            f"{expected[worst] * 1e3:.4g} mm (a spike or a mis-keyed row)."))  # fmt: skip
        kept = np.delete(kept, worst)
    return faults


def _over_the_others(distance: FloatArray, floor: float) -> FloatArray:
    """Distance over six times that of the rows farther off: so that coarse tables do not cry wolf."""
    spread = 1.4826 * float(np.median(np.abs(distance)))
    level = np.maximum(_local_level(np.abs(distance)), max(spread, floor / 6))
    return np.asarray(np.abs(distance) / (6.0 * level))


def _over_the_noise(x: FloatArray, y: FloatArray, distance: FloatArray, share: FloatArray) -> FloatArray:
    """Distance over 5 standard deviations of what the readings' noise gives it; 0 where it may be the lobe.

    What a lobe's own shape makes of the distance changes with the number of neighbours, what a wrong reading
    makes does not: both distances must tell the same.
    """
    wide, _, wide_share = _from_neighbours(x, y, 3)
    same = (np.abs(distance - wide) <= 0.3 * np.abs(distance)) & (wide != 0)
    # A wrong reading moves its neighbours' distances by two thirds of its own.
    around = np.lib.stride_tricks.sliding_window_view(np.pad(np.abs(distance), 2, mode="wrap"), 5)
    same &= np.abs(distance) >= around.max(axis=1)
    reduced = np.abs(wide) / wide_share
    smaller = np.where(same, np.minimum(np.abs(distance) / share, reduced), 0.0)
    worst = int(np.argmax(smaller))
    # The noise is that of the rows whose distances the reading in question is no part of.
    others = reduced[(np.abs(np.arange(x.size) - worst) > 3) & (wide != 0)]
    excess = np.zeros(x.size)
    if others.size:
        middle = 1.4826 * float(np.median(others))
        spread = float(np.sqrt(np.mean(others[others <= 5 * middle] ** 2)))
        excess[worst] = smaller[worst] / (5.0 * max(middle, spread, 1e-12))
    return excess


def _from_neighbours(x: FloatArray, y: FloatArray, reach: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Reading less the polynomial through `reach` neighbours on each side, that polynomial, and what a noise
    of 1 in every reading makes of the distance; first and last rows: distance 0.
    """
    expected, squares = y.copy(), np.ones(x.size)
    middle = np.arange(reach, x.size - reach)
    steps = np.concatenate([np.arange(-reach, 0), np.arange(1, reach + 1)])
    around = middle[:, np.newaxis] + steps
    nodes = x[around] - x[middle][:, np.newaxis]
    value = np.zeros(middle.size)
    for k in range(2 * reach):
        others = np.delete(nodes, k, axis=1)
        weight = np.prod(-others / (nodes[:, k : k + 1] - others), axis=1)
        value += y[around[:, k]] * weight
        squares[middle] += weight**2
    expected[middle] = value
    return y - expected, expected, np.sqrt(squares)


def _local_level(distance: FloatArray, reach: int = 8) -> FloatArray:
    """Typical distance of the rows 3 to `reach` away: beyond those whose cubic uses the row itself."""
    padded = np.pad(distance, reach, mode="wrap")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    away = np.abs(np.arange(-reach, reach + 1)) > 2
    level: FloatArray = np.quantile(windows[:, away], 0.8, axis=1)
    return level
