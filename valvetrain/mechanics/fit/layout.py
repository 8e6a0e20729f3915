"""Parameters of the fit of a set of rockers, what was believed of them before, and where each stands.

Valves stand on shafts and their rockers come from castings: each parameter has one value a casting, a shaft
or a valve, and each valve knows which of them is its own. What differs from one to the next of a kind has a
part of its own, with the scatter of such parts as its range: a set of rockers is alike, not the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["OWN", "PER_VALVE", "SHARED", "Columns", "Layout", "Priors"]

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
"""One value for all valves that share it (one casting, one shaft, one bank). `height`: shaft axis above the
reference tip; `tappet_position`: lower ball on its line on the base circle, from the point nearest the
shaft, upward positive; `pushrod_length`: planar, between ball centers at zero exposure; `ink_margin`: how far
the ink mark reaches beyond the contact line at each edge."""

PER_VALVE = ("tip_height", "lash", "ink_zero", "dial_zero")
"""One value a valve. `tip_height`: this tip above the reference tip (stem height); `lash`: at the valve;
`ink_zero`, `dial_zero`: zero error of its ink edges and of its lift readings."""

OWN = {
    "setback_of_shaft": "setback",
    "tappet_setback_of_shaft": "tappet_setback",
    "setback_of_valve": "setback",
    "pad_arm_of_valve": "pad_arm",
    "socket_arm_of_valve": "socket_arm",
    "arm_angle_of_valve": "arm_angle",
}
"""What one shaft or one valve has of its own beyond the shared value -> that value. Left out: alike."""

_OPTIONAL = ("ink_margin", "pushrod_length", *PER_VALVE)

Columns = Mapping[str, FloatArray]


@dataclass(frozen=True)
class Priors:
    """Mean and standard deviation of every parameter before the readings; deviation 0 keeps it fixed.

    A range may be laid about another parameter: (one - its mean) = sum of share x (other - its mean) + what
    is its own. So ranges that hang together are not counted twice where the readings tell only a difference.

    Attributes:
        valves: number of valves, n.
        mean, deviation: name -> array, shape [] or one a casting, shaft or valve [m, rad]. `ink_margin`,
            `pushrod_length` and the per-valve ones are fixed at 0 where left out, and so are those of `OWN`.
            The deviation of one that is laid about others is that of its own part.
        shares: name -> other name -> share [m/m, rad/rad ...], of `SHARED` only, in an order in which
            a parameter comes after those that it is laid about. Where they have different values (a setback a
            shaft, an arm a casting) each is laid about those of its own valves.
        of: name -> which of a parameter's values each valve has, 0, 1, ..., shape [n]; left out: one for all,
            or one a valve for `PER_VALVE` and those "of_valve".
    """

    valves: int
    mean: Mapping[str, FloatArray]
    deviation: Mapping[str, FloatArray]
    shares: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    of: Mapping[str, NDArray[np.intp]] = field(default_factory=dict)


class Layout:
    """Where each parameter stands in the vector of the fit, and which valves have which value.

    Attributes:
        valves: number of valves, n.
        names: parameter of each element, shape [P]; `mean`, `deviation` [P]: of its range.
        free: False for fixed ones, shape [P].
        factor: parameter per unit of state, free ones only, shape [free, free].
        of: name -> which of its values each valve has, shape [n].
    """

    def __init__(self, priors: Priors) -> None:
        """Lay out the priors as one vector.

        Raises:
            ValueError: a parameter without a prior, an unknown one, a prior that is not finite or whose
                deviation is below 0.
        """
        known = (*SHARED, *PER_VALVE, *OWN)
        for name in (*priors.mean, *priors.deviation):
            if name not in known:
                raise ValueError(f"prior for {name!r}: no such parameter; known: {', '.join(known)}")
        self.valves = priors.valves
        self._known = tuple(name for name in known if name not in OWN or name in priors.mean)
        self._places: dict[str, slice] = {}
        self.of: dict[str, NDArray[np.intp]] = {}
        means: list[FloatArray] = []
        deviations: list[FloatArray] = []
        start = 0
        for name in self._known:
            if name not in priors.mean and name not in _OPTIONAL:
                raise ValueError(f"no prior for {name}; give its mean and standard deviation")
            one_each = name in PER_VALVE or name.endswith("_of_valve")
            alike = np.arange(priors.valves) if one_each else np.zeros(priors.valves, dtype=np.intp)
            self.of[name] = np.asarray(priors.of.get(name, alike), dtype=np.intp)
            size = int(self.of[name].max()) + 1
            for source, target in ((priors.mean, means), (priors.deviation, deviations)):
                target.append(np.broadcast_to(np.asarray(source.get(name, 0.0), float), (size,)))
            self._places[name] = slice(start, start + size)
            start += size
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
        whole = self._factor(priors)
        # Of the whole range, the parts of those that it is laid about included.
        self.deviation = np.where(self.free, np.sqrt(np.sum(whole**2, axis=1)), 0.0)
        # Parameter per unit of state: the state is what each prior has of its own, in deviations.
        self.factor = whole[np.ix_(self.free, self.free)]
        self.names = tuple(name for name in self._known for _ in range(*self._places[name].indices(start)))
        self.moved = tuple(
            name
            for name in (*SHARED, *PER_VALVE)
            if any(self.free[self._places[one]].any() for one in (name, *self.parts(name)))
        )

    def _factor(self, priors: Priors) -> FloatArray:
        factor = np.diag(self.deviation)
        for name, others in priors.shares.items():
            if name not in SHARED or not set(others) <= set(SHARED):
                raise ValueError(f"the prior for {name!r} is laid about others: only shared ones can be")
            for other, share in others.items():
                mine, its = (np.eye(self._size(one))[self.of[one]] for one in (name, other))
                common = mine.T @ its / np.sum(mine, axis=0)[:, np.newaxis]
                factor[self._places[name]] += share * common @ factor[self._places[other]]
        return factor

    def _size(self, name: str) -> int:
        return int(self._places[name].stop - self._places[name].start)

    def parts(self, name: str) -> tuple[str, ...]:
        """What single shafts and valves may have of their own of a shared parameter."""
        return tuple(own for own, base in OWN.items() if base == name and own in self._places)

    def place(self, name: str) -> slice:
        """Where a parameter stands in the vector."""
        return self._places[name]

    def columns(self, vectors: FloatArray) -> dict[str, FloatArray]:
        """Vectors [k, P] as named columns, a valve's own part added: [k, n], or [k, 1] if all are alike."""
        return self.at(vectors, np.arange(self.valves))

    def at(self, vectors: FloatArray, valve: NDArray[np.intp]) -> dict[str, FloatArray]:
        """Vectors [k, P] as named columns of the valves asked for: [k, m], or [k, 1] if all are alike."""
        found = {}
        for name in (*SHARED, *PER_VALVE):
            place = self._places[name]
            several = place.stop - place.start > 1
            found[name] = vectors[:, place.start + self.of[name][valve]] if several else vectors[:, place]
            for own in self.parts(name):
                found[name] = found[name] + vectors[:, self._places[own].start + self.of[own][valve]]
        return found
