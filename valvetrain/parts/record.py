"""How the record of inspections is kept, and the record itself."""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.parts.measured import Measured
from valvetrain.parts.spec import described, quantity

__all__ = ["AXES", "Record", "WearLog"]

# what a record may be counted in -> the dimension of its column
AXES = {"hours": "duration", "distance": "distance", "date": "duration"}


@dataclass(frozen=True, kw_only=True)
class Record:
    """How the record of this engine is kept."""

    engine: str | None = described("name of this engine in its record; rows of another engine are refused")
    inspection_interval: Measured | None = quantity(
        "duration", "usual running hours between inspections", low=3600.0, high=3.6e7
    )
    inspection_distance: Measured | None = quantity(
        "distance", "usual distance between inspections", low=1000.0, high=1e9
    )
    inspection_days: Measured | None = quantity(
        "days", "usual days between inspections", low=86400.0, high=1e9
    )


@dataclass(frozen=True, eq=False)
class WearLog:
    """A record of inspections; arrays of shape [rows], in the file's order; NaN is not measured.

    Attributes:
        axis: "hours", "distance" or "date": what `time` counts.
        valve: index of each row's valve in the engine's order.
        time: hours [s], distance [m], or days since the first row [s].
        first_date: ordinal of the date that `time` 0 stands for; None where the axis is not "date".
        lash_found, lash_left: [m].
        hot: 1 hot, 0 cold.
        lobe_lift: [m].
        turned: 1 yes, 0 no: whether the pushrod's mark was seen to move.
        remarks: free words of each row, in the file's order.
        lash_step, lift_step: finest step in which lash and lift are written [m]; 0 where there is none.
        source: the file's name.
    """

    axis: str
    valve: np.ndarray[tuple[int], np.dtype[np.intp]]
    time: FloatArray
    first_date: int | None
    lash_found: FloatArray
    lash_left: FloatArray
    hot: FloatArray
    lobe_lift: FloatArray
    turned: FloatArray
    remarks: tuple[str, ...]
    lash_step: float
    lift_step: float
    source: str
