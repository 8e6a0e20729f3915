"""Every way to stand a spring at a valve, and how well each keeps its limits."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["NONE", "OK", "OUT", "UNSURE", "PlacingOptions"]

Whole = NDArray[np.int64]

OK, UNSURE, OUT, NONE = range(4)
"""Inside every limit by more than its doubt; inside by less; outside one; no spring at all."""


@dataclass(frozen=True)
class PlacingOptions:
    """Every way to stand a spring at a valve, one entry each.

    Attributes:
        valve: index of the valve, shape [options].
        spring: index of the spring, -1 for none or for one that is nobody else's, shape [options].
        shims: of each kind that it takes, shape [options, kinds].
        height: installed height [m]; NaN where it is not known, shape [options].
        seat_load: less the load wanted [N]; NaN where it is not to be compared, shape [options].
        open_load: [N]; NaN where it is not to be compared, shape [options].
        distance: of the seat load from the load wanted [N], 0 where none is wanted, shape [options].
        off_target: farther from it than the load is known to, shape [options].
        verdict: on loads and clearance, from `OK` to `NONE`, shape [options].
        lowers: the spring stands lower than now, shape [options].
    """

    valve: Whole
    spring: Whole
    shims: Whole
    height: FloatArray
    seat_load: FloatArray
    open_load: FloatArray
    distance: FloatArray
    off_target: BoolArray
    verdict: Whole
    lowers: BoolArray
