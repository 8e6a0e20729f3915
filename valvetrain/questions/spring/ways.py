"""What each spring gives at each valve, at any height: loads, doubts, lifts and solid heights for plans."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.spring.shim_limits import ShimDoubts
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.questions.spring.curves import SpringCurves
from valvetrain.questions.spring.inputs import set_solid, spring_inputs
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.questions.spring.match import SpringPool

__all__ = ["SpringWays"]


class SpringWays:
    """Springs at valves; without a pool the springs' axis has length 1, each valve's own.

    Attributes:
        lift: full net lift [m], shape [n].
        solid: solid height of the set with each spring [m], shape [n, springs].
    """

    def __init__(
        self, setup: Setup, rocker: RockerResult, curves: SpringCurves, pool: "SpringPool | None"
    ) -> None:
        """Lay out the curves of every spring as if it stood at every valve."""
        count = len(setup.trains)
        self._curves = [curves]
        if pool is not None:
            self._curves = [
                curves if test is None else pool.curves_of(setup, [test] * count) for test in pool.tests
            ]
        self._inputs = [spring_inputs(setup, rocker, each) for each in self._curves]
        self._rows = [{key: column.value for key, column in each.items()} for each in self._inputs]
        self.lift = np.asarray(rocker.net_lift.value, float)
        self.solid = np.stack(
            [set_solid(rows, each) for rows, each in zip(self._rows, self._curves, strict=True)], axis=1
        )

    def load_at(self, height: FloatArray) -> FloatArray:
        """Load [N] at heights [m] of shape [n, springs, k]."""
        loads = [
            each.total(rows, height[:, place].T)[0].T
            for place, (rows, each) in enumerate(zip(self._rows, self._curves, strict=True))
        ]
        return np.stack(loads, axis=1)

    def spread(self, height: FloatArray) -> FloatArray:
        """Heights of shape [n, k] for every spring alike, shape [n, springs, k]."""
        shape = (height.shape[0], len(self._curves), height.shape[1])
        return np.broadcast_to(height[:, np.newaxis], shape)

    def loads_of(self, spring: NDArray[np.int64], height: FloatArray) -> FloatArray:
        """Load [N] of one spring at each valve, at heights [m] of shape [n, k]."""
        return np.asarray(self.load_at(self.spread(height))[np.arange(spring.size), spring])

    def doubts(self, bare: FloatArray, stack: float) -> Callable[[FloatArray], ShimDoubts]:
        """Expanded uncertainties (k = 2) at any heights from `bare` down to a stack of this thickness [m].

        To first order, worked out without shims and on the thickest stack, and in a straight line between.
        """
        from valvetrain.mechanics.uncertainty.propagation import propagated

        names = ("seat", "open", "bind")
        ends = np.empty((3, 2, bare.size, len(self._curves)))
        for place, (curves, inputs, rows) in enumerate(
            zip(self._curves, self._inputs, self._rows, strict=True)
        ):
            spreads = {key: column.uncertainty for key, column in inputs.items()}
            for end, lower in enumerate((0.0, stack)):
                fixed = bare - rows["spring.installed_height"] - rows["spring.seat_recession"] - lower

                def quantities(
                    rows: Mapping[str, FloatArray], curves: SpringCurves = curves, fixed: FloatArray = fixed
                ) -> dict[str, FloatArray]:
                    height = rows["spring.installed_height"] + rows["spring.seat_recession"] + fixed
                    opened = height - rows["net lift"]
                    return {
                        "seat": curves.total(rows, height)[0],
                        "open": curves.total(rows, opened)[0],
                        "bind": opened - set_solid(rows, curves),
                    }

                with np.errstate(invalid="ignore"):
                    found = propagated(quantities, rows, spreads)
                for index, name in enumerate(names):
                    ends[index, end, :, place] = 2.0 * np.nan_to_num(found.uncertainty[name])

        def doubt_at(height: FloatArray) -> ShimDoubts:
            share = np.clip((bare[:, np.newaxis, np.newaxis] - height) / max(stack, 1e-9), 0.0, 1.0)
            first, last = ends[:, 0, ..., np.newaxis], ends[:, 1, ..., np.newaxis]
            return ShimDoubts(*(first + (last - first) * share))

        return doubt_at
