"""What a shop has read off a shaft-rocker engine, in [m] and [rad] of the valve frame: the fit's input."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.layout import PER_VALVE, SHARED

__all__ = ["KINDS", "Readings", "reading_faults"]

KINDS = {
    "net_lift": "valve lift with the lash in",
    "gross_lift": "valve lift with the lash taken out",
    "near_edge": "ink edge toward the shaft",
    "far_edge": "ink edge away from the shaft",
    "closed_mark": "mark made with the valve closed",
    "exposure": "adjuster exposure",
    "turns": "pad movement for a turn of the adjuster",
    "mean_ratio": "mean ratio",
    "dimension": "dimension",
}
"""kind -> what it is called in messages."""

_LIFTS = ("net_lift", "gross_lift")
_WITHOUT_PLACE = ("dimension", "exposure", "closed_mark")


@dataclass(frozen=True)
class Readings:
    """Readings of all kinds, one element each; m readings.

    Attributes:
        kind: a key of KINDS for each reading.
        valve: index of the valve, shape [m]; for a shared dimension any of those that share it.
        at: shape [m]; lifts and `mean_ratio`: tappet lift [m]; ink edges: full lobe lift [m]; `turns`: how
            far the adjuster was screwed toward the pushrod [m] (turns x thread pitch); else NaN.
        value: what was read [m, or rad, or 1]; ink edges and marks as x from the stem axis, positive away
            from the shaft; exposure positive where it lengthens the pushrod's side.
        uncertainty: standard uncertainty of the reading, > 0, shape [m].
        parameter: for `dimension` the name of the parameter measured, else "".
        at_valve: True for a dimension read at that very valve, its own part in it, shape [m]; None: nowhere.
        alike: name of the instrument whose scatter was taken and not stated, else ""; readings of one such
            name are judged together for whether they scatter more than taken.
        crank_angle: where the lift was read against a degree wheel [rad], else NaN; `at` is then taken from
            the lift curve.
        resolution: last digit of the number as it was written down [m], NaN where not known.
        curve_angle, curve_lift: lift curve of the lobe: crank angle [rad], rising, and tappet lift [m]; where
            lobes differ the lifts are [lobes, angles].
        lobe: which of several lobes a reading belongs to, shape [m].
        rim: for marks: from the axis of the stem to the rim of the tip [m], NaN where not known, shape [m].
    """

    kind: tuple[str, ...]
    valve: NDArray[np.intp]
    at: FloatArray
    value: FloatArray
    uncertainty: FloatArray
    parameter: tuple[str, ...] = ()
    crank_angle: FloatArray | None = None
    resolution: FloatArray | None = None
    curve_angle: FloatArray | None = None
    curve_lift: FloatArray | None = None
    lobe: NDArray[np.intp] | None = None
    rim: FloatArray | None = None
    at_valve: BoolArray | None = None
    alike: tuple[str, ...] = ()

    def tappet_lift(self) -> FloatArray:
        """`at`, with readings against crank angle looked up in the lift curve."""
        if self.crank_angle is None or self.curve_angle is None or self.curve_lift is None:
            return self.at
        lifts = np.atleast_2d(self.curve_lift)
        lobe = np.zeros(len(self.kind), dtype=np.intp) if self.lobe is None else self.lobe
        tables = np.stack([np.interp(self.crank_angle, self.curve_angle, row) for row in lifts])
        looked_up = tables[lobe, np.arange(len(self.kind))]
        return np.where(np.isnan(self.crank_angle), self.at, looked_up)


def reading_faults(readings: Readings, valves: int) -> list[tuple[int, str]]:
    """Readings that cannot be meant so: (index, sentence) for each; empty where all can be used."""
    faults: list[tuple[int, str]] = []
    at = readings.tappet_lift()
    for index, kind in enumerate(readings.kind):
        value, spread = float(readings.value[index]), float(readings.uncertainty[index])
        if kind not in KINDS:
            faults.append((index, f"kind of reading {kind!r} is unknown; known: {', '.join(KINDS)}"))
            continue
        if not np.isfinite(value):
            faults.append((index, f"{KINDS[kind]}: no value"))
        if not spread > 0.0:
            faults.append((index, f"{KINDS[kind]}: standard uncertainty is {spread:g}; it must be above 0"))
        if not 0 <= readings.valve[index] < valves:
            faults.append((index, f"{KINDS[kind]}: valve {readings.valve[index]} is not among the {valves}"))
        if kind == "dimension":
            name = readings.parameter[index] if readings.parameter else ""
            if name not in (*SHARED, *PER_VALVE):
                faults.append((index, f"dimension {name!r} is not a parameter of the linkage"))
        elif kind not in _WITHOUT_PLACE and not np.isfinite(at[index]):
            faults.append((index, f"{KINDS[kind]}: the lift (or adjuster travel) it was read at is missing"))
        if kind in _LIFTS and value < -4.0 * spread:
            faults.append(
                (index, f"{KINDS[kind]} is negative ({value:g} m); zero the dial on the base circle")
            )
        if kind in _LIFTS and at[index] < 0.0:
            faults.append((index, f"{KINDS[kind]}: tappet lift {at[index]:g} m is negative"))
    return faults
