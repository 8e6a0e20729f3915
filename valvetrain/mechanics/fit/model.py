"""What a linkage with given parameters would read: predictions for the fit, and their derivatives.

A reading depends on the parameters of its own valve, casting and shaft only. So one move of a parameter, of
all valves, castings and shafts at once, serves for all, and all derivatives are one vectorised call.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray
from valvetrain.mechanics.fit.layout import Columns, Layout
from valvetrain.mechanics.fit.readings import Readings
from valvetrain.mechanics.rocker.kernel import PushrodSide, arm_swing
from valvetrain.mechanics.rocker.sweep import sweep

__all__ = ["ReadingModel", "linkage_outputs", "output_slopes", "pad_drop_for"]

_STEP = 2e-6  # m, rad: central differences good to about 1e-9 of the derivative


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
    # Straight to the inner loop: a fit asks for many small tables, where `closed_position` would do
    # three times the work.
    arm, lever = (
        np.where(parameters[name] > 0.0, parameters[name], np.nan) for name in ("pad_arm", "socket_arm")
    )
    line, position = parameters["tappet_setback"], parameters["tappet_position"]
    height = parameters["height"] - parameters["tip_height"]
    turn = parameters["tappet_angle"] - parameters["arm_angle"]
    with np.errstate(invalid="ignore"):
        sine = (parameters["pad_radius"] + parameters["lash"] - height) / arm
        closed = np.arcsin(sine) - turn  # of the socket arm, seen from the tappet's line
        needed = np.hypot(line + lever * np.cos(closed), lever * np.sin(closed) - position)
        side = PushrodSide(lever, needed + adjuster_travel, line, -position, turn, arm)
        swing = arm_swing(side, tappet_lift)
        possible = (swing.cosine > 0.0) & (swing.above > 0.0)
        drop = np.where(possible, arm * (sine - swing.sine), np.nan)
    return drop, np.asarray(needed)


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


class _Rows:
    """Columns of some readings, cut when asked for."""

    def __init__(self, columns: Columns, rows: NDArray[np.intp]) -> None:
        self.columns, self.rows = columns, rows

    def __getitem__(self, name: str) -> FloatArray:
        one = self.columns[name]
        return one if one.shape[1] == 1 else one[:, self.rows]


class ReadingModel:
    """Predictions for one set of readings, as a function of the parameter vector."""

    def __init__(self, readings: Readings, layout: Layout) -> None:
        """Sort the readings by kind once."""
        self.layout = layout
        self.moves = _moves(layout)
        kind = np.array(readings.kind)
        self.valve = np.asarray(readings.valve, dtype=np.intp)
        at = np.nan_to_num(readings.tappet_lift())
        at_rest = np.isin(kind, ("turns", "exposure", "dimension", "closed_mark"))
        self.lift = np.where(at_rest, 0.0, at)
        self.travel = np.where(kind == "turns", at, 0.0)
        self.kinds = {name: np.flatnonzero(kind == name) for name in np.unique(kind)}
        self.without_lash = kind == "gross_lift"
        at_valve = np.zeros(kind.size, bool) if readings.at_valve is None else readings.at_valve
        self.of_all = (kind == "dimension") & ~at_valve
        self.dimension = {
            int(index): readings.parameter[index]
            for index in self.kinds.get("dimension", np.zeros(0, np.intp))
        }

    def predicted(self, vectors: FloatArray) -> FloatArray:
        """Readings [k, m] that parameter vectors [k, P] would give; NaN where the linkage cannot be."""
        columns = self.layout.at(vectors, self.valve)
        lash = columns["lash"]
        if self.without_lash.any():
            columns["lash"] = np.where(self.without_lash, 0.0, lash)
        drop, needed = pad_drop_for(columns, self.lift, self.travel)
        needed, out = np.broadcast_to(needed, drop.shape), drop.copy()
        for kind, rows in self.kinds.items():
            own = _Rows(columns, rows)
            if kind == "net_lift":
                out[:, rows] = np.maximum(drop - lash, 0.0)[:, rows] + own["dial_zero"]
            elif kind == "gross_lift":
                out[:, rows] += own["dial_zero"]
            elif kind == "mean_ratio":
                out[:, rows] /= self.lift[rows]
            elif kind == "exposure":
                out[:, rows] = needed[:, rows] - own["pushrod_length"]
            elif kind == "dimension":
                out[:, rows] = self._dimensions(vectors, columns, rows)
            elif kind != "turns":  # a mark on the tip
                pattern = sweep(
                    setback=own["setback"],
                    height=own["height"] - own["tip_height"],
                    pad_arm=np.where(own["pad_arm"] > 0.0, own["pad_arm"], np.nan),
                    pad_radius=np.maximum(own["pad_radius"], 0.0),
                    net_lift=np.maximum(drop - lash, 0.0)[:, rows],
                )
                edge, margin = {
                    "near_edge": (pattern.least, -own["ink_margin"]),
                    "far_edge": (pattern.greatest, own["ink_margin"]),
                    "closed_mark": (pattern.at_opening, np.zeros(1)),
                }[str(kind)]
                out[:, rows] = edge + margin + own["ink_zero"]
        return out

    def _dimensions(self, vectors: FloatArray, columns: Columns, rows: NDArray[np.intp]) -> FloatArray:
        """A dimension read: the shared value, or a valve's with its own part; its height over its tip."""
        found = np.empty((vectors.shape[0], rows.size))
        for place, index in enumerate(rows):
            name = self.dimension[int(index)]
            if self.of_all[index]:
                instance = self.layout.place(name).start + self.layout.of[name][self.valve[index]]
                found[:, place] = vectors[:, instance]
            else:
                one = columns[name] - (columns["tip_height"] if name == "height" else 0.0)
                found[:, place] = one[:, 0 if one.shape[1] == 1 else index]
        return found

    def derivatives(self, vector: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Predictions [m] and their derivatives [m, P] (columns of fixed parameters zero)."""
        table = self.predicted(vector + self.moves)
        return table[0], _slopes(table, self.layout, self.valve, ~self.of_all)


def output_slopes(
    function: Callable[[Columns], Mapping[str, FloatArray]], layout: Layout, vector: FloatArray
) -> dict[str, tuple[FloatArray, FloatArray]]:
    """Outputs [n] of a per-valve function of the parameters, and their derivatives [n, P].

    `function` takes parameter columns ([k, 1] or [k, n]) and returns [k, n]; a valve's output may depend on
    shared parameters and on its own only.
    """
    vectors = vector + _moves(layout)
    every = np.arange(layout.valves)
    found = {}
    for output, table in function(layout.columns(vectors)).items():
        whole = np.broadcast_to(table, (vectors.shape[0], layout.valves))
        found[output] = (whole[0].copy(), _slopes(whole, layout, every))
    return found


def _moves(layout: Layout) -> FloatArray:
    """No move, then a move up and one down in each free parameter (all valves at once): [1 + 2 q, P]."""
    moves = np.zeros((1 + 2 * len(layout.moved), layout.mean.size))
    for row, name in enumerate(layout.moved):
        moves[1 + 2 * row, layout.place(name)] = _STEP
        moves[2 + 2 * row, layout.place(name)] = -_STEP
    return moves


def _slopes(
    table: FloatArray, layout: Layout, valve: NDArray[np.intp], with_parts: BoolArray | bool = True
) -> FloatArray:
    """Central differences [m, P] from the table [1 + 2 q, m]; `valve` [m] owns each column.

    What is a shaft's or a valve's own moves a reading as the shared value does, but for readings of that
    shared value itself, where `with_parts` is False.
    """
    slopes = np.zeros((valve.size, layout.mean.size))
    differences = (table[1::2] - table[2::2]).T / (2.0 * _STEP)
    every = np.arange(valve.size)
    for name, column in zip(layout.moved, differences.T, strict=True):
        slopes[every, layout.place(name).start + layout.of[name][valve]] = column
        for part in layout.parts(name):
            slopes[every, layout.place(part).start + layout.of[part][valve]] = column * with_parts
    slopes[:, ~layout.free] = 0.0
    return slopes
