"""What a linkage with given parameters would read: predictions for the fit, and their derivatives.

A reading depends on the shared parameters and on those of its own valve only. So one move of a per-valve
parameter serves all valves at once, and all derivatives are one vectorised call.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.linkage_fit_readings import PER_VALVE, SHARED, Layout, Readings
from valvetrain.mechanics.rocker_linkage import (
    closed_position,
    pad_drop_and_ratio,
    pushrod_planar_length_for,
)
from valvetrain.mechanics.sweep import sweep

__all__ = ["ReadingModel", "linkage_outputs", "output_slopes", "pad_drop_for"]

_STEP = 2e-6  # m, rad: central differences good to about 1e-9 of the derivative

Columns = Mapping[str, FloatArray]


def pad_drop_for(
    parameters: Columns, tappet_lift: FloatArray, adjuster_travel: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Pad drop [m] and pushrod planar length needed for the lash [m], both of the broadcast shape.

    Args:
        parameters: SHARED and PER_VALVE names -> broadcastable arrays. `height` is above the mean tip.
        tappet_lift: lift off the base circle [m].
        adjuster_travel: screwed out toward the pushrod since the lash was set [m]; pushes the pad down.

    Returns:
        NaN where the linkage cannot be so, or an arm is not above zero.
    """
    arm, lever, radius = (
        np.where(parameters[name] > 0.0, parameters[name], np.nan)
        for name in ("pad_arm", "socket_arm", "pad_radius")
    )
    geometry = {
        "height": parameters["height"] - parameters["tip_height"],
        "pad_arm": arm,
        "pad_radius": radius,
        "socket_arm": lever,
        "arm_angle": parameters["arm_angle"],
        "lash": parameters["lash"],
        "tappet_setback": parameters["tappet_setback"],
        "tappet_angle": parameters["tappet_angle"],
    }
    position = parameters["tappet_position"]
    needed = pushrod_planar_length_for(**geometry, tappet_position=position)
    closed = closed_position(
        **geometry, setback=parameters["setback"], pushrod_planar_length=needed + adjuster_travel
    )
    # A longer pushrod side with the same lash would sit lower; lifting it back to its place is the turn.
    lift = tappet_lift + position - closed.tappet_position
    drop, _ = pad_drop_and_ratio(closed, np.asarray(lift)[..., np.newaxis])
    return drop[..., 0], needed


def linkage_outputs(parameters: Columns, lobe_lift: FloatArray) -> dict[str, FloatArray]:
    """What the fit is for, per valve: [k, n] arrays from parameter columns and lobe lift [n] [m].

    gross_lift, net_lift [m]; mean_ratio; sweep_width, sweep_middle [m]; height (shaft above this tip) [m];
    pushrod_planar_length needed [m]. Contact is that of the mechanism: no ink margin, no zero error.
    """
    drop, needed = pad_drop_for(parameters, lobe_lift, np.zeros(1))
    net = np.maximum(drop - parameters["lash"], 0.0)
    height = parameters["height"] - parameters["tip_height"]
    pattern = sweep(
        setback=parameters["setback"],
        height=height,
        pad_arm=parameters["pad_arm"],
        pad_radius=parameters["pad_radius"],
        net_lift=net,
    )
    return {
        "gross_lift": drop,
        "net_lift": net,
        "mean_ratio": drop / lobe_lift,
        "sweep_width": pattern.width,
        "sweep_middle": pattern.middle,
        "height": height,
        "pushrod_planar_length": needed,
    }


class ReadingModel:
    """Predictions for one set of readings, as a function of the parameter vector."""

    def __init__(self, readings: Readings, layout: Layout) -> None:
        """Sort the readings by kind once."""
        self.layout = layout
        kind = np.array(readings.kind)
        self.valve = np.asarray(readings.valve, dtype=np.intp)
        at = np.nan_to_num(readings.tappet_lift())
        at_rest = np.isin(kind, ("turns", "exposure", "dimension", "closed_mark"))
        self.lift = np.where(at_rest, 0.0, at)
        self.travel = np.where(kind == "turns", at, 0.0)
        self.kinds = {name: np.flatnonzero(kind == name) for name in np.unique(kind)}
        self.without_lash = kind == "gross_lift"
        self.dimension = {
            int(index): layout.place(readings.parameter[index]).start
            + (self.valve[index] if readings.parameter[index] in PER_VALVE else 0)
            for index in self.kinds.get("dimension", np.array([], dtype=np.intp))
        }

    def predicted(self, vectors: FloatArray) -> FloatArray:
        """Readings [k, m] that parameter vectors [k, P] would give; NaN where the linkage cannot be."""
        columns = {
            name: one if name in SHARED else one[:, self.valve]
            for name, one in self.layout.columns(vectors).items()
        }
        lash = columns["lash"]
        if self.without_lash.any():
            columns["lash"] = np.where(self.without_lash, 0.0, lash)
        drop, needed = pad_drop_for(columns, self.lift, self.travel)
        out = drop.copy()
        for kind, rows in self.kinds.items():
            if kind == "net_lift":
                out[:, rows] = np.maximum(drop - lash, 0.0)[:, rows] + columns["dial_zero"][:, rows]
            elif kind == "gross_lift":
                out[:, rows] += columns["dial_zero"][:, rows]
            elif kind == "mean_ratio":
                out[:, rows] /= self.lift[rows]
            elif kind == "exposure":
                out[:, rows] = needed[:, rows] - columns["pushrod_length"]
            elif kind == "dimension":
                for index in rows:
                    out[:, index] = vectors[:, self.dimension[int(index)]]
            elif kind != "turns":  # a mark on the tip
                pattern = sweep(
                    setback=columns["setback"],
                    height=columns["height"] - columns["tip_height"][:, rows],
                    pad_arm=np.where(columns["pad_arm"] > 0.0, columns["pad_arm"], np.nan),
                    pad_radius=np.maximum(columns["pad_radius"], 0.0),
                    net_lift=np.maximum(drop - lash, 0.0)[:, rows],
                )
                edge, margin = {
                    "near_edge": (pattern.least, -columns["ink_margin"]),
                    "far_edge": (pattern.greatest, columns["ink_margin"]),
                    "closed_mark": (pattern.at_opening, np.zeros(1)),
                }[str(kind)]
                out[:, rows] = edge + margin + columns["ink_zero"][:, rows]
        return out

    def derivatives(self, vector: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Predictions [m] and their derivatives [m, P] (columns of fixed parameters zero)."""
        moved, vectors = _moves(self.layout, vector)
        table = self.predicted(vectors)
        return table[0], _slopes(table, moved, self.layout, self.valve)


def output_slopes(
    function: Callable[[Columns], Mapping[str, FloatArray]], layout: Layout, vector: FloatArray
) -> dict[str, tuple[FloatArray, FloatArray]]:
    """Outputs [n] of a per-valve function of the parameters, and their derivatives [n, P].

    `function` takes parameter columns ([k, 1] or [k, n]) and returns [k, n]; a valve's output may depend on
    shared parameters and on its own only.
    """
    moved, vectors = _moves(layout, vector)
    every = np.arange(layout.valves)
    found = {}
    for output, table in function(layout.columns(vectors)).items():
        whole = np.broadcast_to(table, (vectors.shape[0], layout.valves))
        found[output] = (whole[0].copy(), _slopes(whole, moved, layout, every))
    return found


def _moves(layout: Layout, vector: FloatArray) -> tuple[list[str], FloatArray]:
    """Names of the free parameters, and the vector followed by pairs moved up and down in each."""
    moved = [name for name in (*SHARED, *PER_VALVE) if layout.free[layout.place(name)].any()]
    vectors = np.tile(vector, (1 + 2 * len(moved), 1))
    for row, name in enumerate(moved):
        vectors[1 + 2 * row, layout.place(name)] += _STEP
        vectors[2 + 2 * row, layout.place(name)] -= _STEP
    return moved, vectors


def _slopes(table: FloatArray, moved: list[str], layout: Layout, valve: NDArray[np.intp]) -> FloatArray:
    """Central differences [m, P] from the table [1 + 2 moves, m]; `valve` [m] owns each column."""
    slopes = np.zeros((valve.size, layout.mean.size))
    every = np.arange(valve.size)
    for row, name in enumerate(moved):
        start = layout.place(name).start
        slopes[every, start + (valve if name in PER_VALVE else 0)] = (
            table[1 + 2 * row] - table[2 + 2 * row]
        ) / (2.0 * _STEP)
    slopes[:, ~layout.free] = 0.0
    return slopes
