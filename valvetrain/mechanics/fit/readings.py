"""What a shop has read off a shaft-rocker engine, and what was believed before: the input of the fit.

Everything is in the valve frame's lengths [m] and angles [rad]. A shop's readings never determine all of
the linkage; the priors carry what is known of castings of this kind, each with its standard deviation.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["KINDS", "PER_VALVE", "SHARED", "Layout", "Priors", "Readings", "reading_faults"]

SHARED = (
    "setback",
    "height",
    "pad_arm",
    "pad_radius",
    "socket_arm",
    "arm_angle",
    "tappet_setback",
    "tappet_angle",
    "tappet_position",
    "pushrod_length",
    "ink_margin",
)
"""One value for all valves fitted together (one rocker casting, one shaft). `height`: shaft axis above the
mean tip; `tappet_position`: lower ball on its line on the base circle, from the point nearest the shaft,
upward positive; `pushrod_length`: planar, between ball centers at zero exposure; `ink_margin`: how far the
ink mark reaches beyond the contact line at each edge."""

PER_VALVE = ("tip_height", "lash", "ink_zero", "dial_zero")
"""One value a valve. `tip_height`: this tip above the mean tip (stem height); `lash`: at the valve;
`ink_zero`, `dial_zero`: zero error of its ink edges and of its lift readings."""

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
_OPTIONAL = ("ink_margin", "pushrod_length", *PER_VALVE)


@dataclass(frozen=True)
class Readings:
    """Readings of all kinds, one element each; m readings.

    Attributes:
        kind: a key of KINDS for each reading.
        valve: index of the valve, shape [m] (for a shared dimension: any).
        at: shape [m]; lifts and `mean_ratio`: tappet lift [m]; ink edges: full lobe lift [m]; `turns`: how
            far the adjuster was screwed toward the pushrod [m] (turns x thread pitch); else NaN.
        value: what was read [m, or rad, or 1]; ink edges and marks as x from the stem axis, positive away
            from the shaft; exposure positive where it lengthens the pushrod's side.
        uncertainty: standard uncertainty of the reading, > 0, shape [m].
        parameter: for `dimension` the name of the parameter measured, else "".
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

    def tappet_lift(self) -> FloatArray:
        """`at`, with readings against crank angle looked up in the lift curve."""
        if self.crank_angle is None or self.curve_angle is None or self.curve_lift is None:
            return self.at
        lifts = np.atleast_2d(self.curve_lift)
        lobe = np.zeros(len(self.kind), dtype=np.intp) if self.lobe is None else self.lobe
        tables = np.stack([np.interp(self.crank_angle, self.curve_angle, row) for row in lifts])
        looked_up = tables[lobe, np.arange(len(self.kind))]
        return np.where(np.isnan(self.crank_angle), self.at, looked_up)


@dataclass(frozen=True)
class Priors:
    """Mean and standard deviation of every parameter before the readings; deviation 0 keeps it fixed.

    A range may be laid about another parameter: (one - its mean) = sum of share x (other - its mean) + what
    is its own. So ranges that hang together are not counted twice where the readings tell only a difference.

    Attributes:
        valves: number of valves, n.
        mean, deviation: name -> array; shared ones shape [], per-valve ones [] or [n]. `ink_margin`,
            `pushrod_length` and the per-valve ones are fixed at 0 where left out. The deviation of one that
            is laid about others is that of its own part.
        shares: name -> other name -> share [m/m, rad/rad ...], shared parameters only, in an order in which
            a parameter comes after those that it is laid about.
    """

    valves: int
    mean: Mapping[str, FloatArray]
    deviation: Mapping[str, FloatArray]
    shares: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


class Layout:
    """Where each parameter stands in the vector of the fit: shared ones first, then [kind x valve]."""

    def __init__(self, priors: Priors) -> None:
        """Lay out the priors as one vector.

        Raises:
            ValueError: a parameter without a prior, an unknown one, a prior that is not finite or whose
                deviation is below 0.
        """
        known = (*SHARED, *PER_VALVE)
        for name in (*priors.mean, *priors.deviation):
            if name not in known:
                raise ValueError(f"prior for {name!r}: no such parameter; known: {', '.join(known)}")
        means: list[FloatArray] = []
        deviations: list[FloatArray] = []
        for name in known:
            size = priors.valves if name in PER_VALVE else 1
            if name not in priors.mean and name not in _OPTIONAL:
                raise ValueError(f"no prior for {name}; give its mean and standard deviation")
            for source, target in ((priors.mean, means), (priors.deviation, deviations)):
                target.append(np.broadcast_to(np.asarray(source.get(name, 0.0), float), (size,)))
        self.valves = priors.valves
        self.mean, self.deviation = np.concatenate(means), np.concatenate(deviations)
        if not np.all(np.isfinite(self.mean)) or not np.all(np.isfinite(self.deviation)):
            raise ValueError(
                "a prior is not a finite number; a wide one needs a large deviation, not infinity"
            )
        if np.any(self.deviation < 0.0):
            raise ValueError(
                f"standard deviation of a prior is {self.deviation.min():g}; it cannot be below 0"
            )
        self.free = self.deviation > 0.0
        self.factor = np.diag(self.deviation)
        for name, others in priors.shares.items():
            if name not in SHARED or not set(others) <= set(SHARED):
                raise ValueError(f"the prior for {name!r} is laid about others: only shared ones can be")
            for other, share in others.items():
                self.factor[SHARED.index(name)] += share * self.factor[SHARED.index(other)]
        # Of the whole range, the parts of those that it is laid about included.
        self.deviation = np.where(self.free, np.sqrt(np.sum(self.factor**2, axis=1)), 0.0)
        # Parameter per unit of state: the state is what each prior has of its own, in deviations.
        self.factor = self.factor[np.ix_(self.free, self.free)]
        self.names = (*SHARED, *(name for name in PER_VALVE for _ in range(priors.valves)))
        self.valve = np.concatenate(
            [np.full(len(SHARED), -1), np.tile(np.arange(priors.valves), len(PER_VALVE))]
        )

        self._places = {name: slice(index, index + 1) for index, name in enumerate(SHARED)}
        for index, name in enumerate(PER_VALVE):
            start = len(SHARED) + index * priors.valves
            self._places[name] = slice(start, start + priors.valves)
        self.moved = tuple(name for name in known if self.free[self._places[name]].any())

    def place(self, name: str) -> slice:
        """Where a parameter stands in the vector."""
        return self._places[name]

    def columns(self, vectors: FloatArray) -> dict[str, FloatArray]:
        """Vectors [k, P] as named columns: shared ones [k, 1], per-valve ones [k, n]."""
        return {name: vectors[:, place] for name, place in self._places.items()}


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
