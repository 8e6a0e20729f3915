"""Sets of readings that can be fitted but cannot be what was meant, or say too little."""

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.fit.readings import Readings

__all__ = ["reading_warnings"]

_REACH = 4.0  # standard uncertainties
_FAR_OUT = 0.6  # of the tip's radius: the middle of a mark read from the rim lies near 1 (our judgment)


def reading_warnings(readings: Readings, tip_width: FloatArray | float = np.nan) -> list[tuple[int, str]]:
    """Warnings as (valve, sentence), valve -1 for all.

    Args:
        readings: without faults (see `reading_faults`).
        tip_width: flat of the valve tip across which the pad sweeps [m], shape [] or [n]; NaN not known.
    """
    kind = np.array(readings.kind)
    at = readings.tappet_lift()
    found: list[tuple[int, str]] = []
    lifts = np.isin(kind, ("net_lift", "gross_lift"))
    if not lifts.any() and not (kind == "mean_ratio").any():
        found.append((-1, "no lift was read: the ratio is known only as it was assumed"))
    edges = np.isin(kind, ("near_edge", "far_edge"))
    if readings.rim is not None and edges.any():
        share = readings.value[edges] / readings.rim[edges]
        if _middle(share) > _FAR_OUT:
            found.append(
                (
                    -1,
                    "the marks lie far out on the tips: were they read from the rim and not from the axis of "
                    "the stem? Then write rim in the column from",
                )
            )
    widths = np.broadcast_to(np.asarray(tip_width, float), (int(readings.valve.max(initial=-1)) + 1,))
    for valve in np.unique(readings.valve):
        own = readings.valve == valve
        mine = np.flatnonzero(own & lifts)
        if mine.size > 1 and np.ptp(at[mine]) < 0.02 * np.max(at[mine], initial=0.0):
            found.append(
                (int(valve), "all lifts were read at one tappet lift: they cannot show how the ratio changes")
            )
        elif mine.size and np.median(at[mine] - readings.value[mine]) > 0.0:
            found.append((int(valve), "the valve lifts less than the tappet: are the two columns exchanged?"))
        near, far = (np.flatnonzero(own & (kind == name)) for name in ("near_edge", "far_edge"))
        for first in near:
            for last in far:
                found += _band(int(valve), readings, int(first), int(last), float(widths[valve]))
    return found


def _middle(share: FloatArray) -> float:
    known = share[np.isfinite(share)]
    return float(np.median(known)) if known.size else 0.0


def _band(valve: int, readings: Readings, near: int, far: int, tip_width: float) -> list[tuple[int, str]]:
    width = float(readings.value[far] - readings.value[near])
    slack = _REACH * float(np.hypot(readings.uncertainty[far], readings.uncertainty[near]))
    if width < -slack:
        return [(valve, "the near edge of the mark lies beyond the far one: are they exchanged?")]
    if width > tip_width + slack:
        return [(valve, f"the mark is {width * 1e3:.2f} mm wide on a tip of {tip_width * 1e3:.2f} mm")]
    return []
