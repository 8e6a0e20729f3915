"""Oil supply as a network of passages between named places: pressures and flows everywhere.

Nodes are names; a fixed pressure (gallery, pump) or the open air ends the network. Flow is positive along an
edge's own direction [m^3/s], pressure is gauge [Pa]. Newton's method on all flows and pressures together: the
passages' laws and the balance of every free node (derived), sparse.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.oil.passages import (
    annulus_conductance,
    orifice_drop,
    pipe_drop,
    pipe_reynolds,
)

__all__ = ["ATMOSPHERE", "AnnularLeak", "Edge", "OilFlow", "Orifice", "Pipe", "solved_network"]

ATMOSPHERE = "open air"
"""Name of the node at zero gauge pressure: jets, leaks and drains end there."""


@dataclass(frozen=True)
class Pipe:
    """Round passage, drilling or line; a length of 0 is a joint without resistance (unless `loss` is given).

    Attributes:
        start, end: node names.
        diameter, length: [m].
        roughness: height [m].
        loss: sum of loss coefficients of bends and ends [1].
    """

    start: str
    end: str
    diameter: float
    length: float
    roughness: float = 0.0
    loss: float = 0.0


@dataclass(frozen=True)
class Orifice:
    """Restrictor, metering hole or jet (a jet ends in ATMOSPHERE).

    Attributes:
        start, end: node names.
        diameter: [m].
        coefficient: discharge coefficient; 0.6 to 0.65 sharp, about 0.8 short drilled (memory; White).
    """

    start: str
    end: str
    diameter: float
    coefficient: float


@dataclass(frozen=True)
class AnnularLeak:
    """Leak along a bore clearance, laminar.

    Attributes:
        start, end: node names.
        diameter: of the shaft [m].
        clearance: radial [m].
        length: along the leak [m].
        eccentricity: 0 centered to 1 touching.
    """

    start: str
    end: str
    diameter: float
    clearance: float
    length: float
    eccentricity: float = 0.0


Edge = Pipe | Orifice | AnnularLeak


@dataclass(frozen=True)
class OilFlow:
    """Solution of a network.

    Attributes:
        pressure: node -> gauge pressure [Pa], fixed ones too.
        flow: of each edge, in the order given [m^3/s], positive from start to end.
        reynolds: of each pipe or orifice [1]; NaN for annular leaks.
        supply: fixed node -> net flow that it gives to the network [m^3/s], negative where it takes.
        iterations: Newton steps taken.
    """

    pressure: Mapping[str, float]
    flow: FloatArray
    reynolds: FloatArray
    supply: Mapping[str, float]
    iterations: int


def solved_network(
    edges: Sequence[Edge], fixed: Mapping[str, float], *, viscosity: float, density: float
) -> OilFlow:
    """Pressures and flows of a network.

    Args:
        edges: the passages.
        fixed: node -> gauge pressure held there [Pa]; ATMOSPHERE is 0 unless named here.
        viscosity: dynamic, of the oil at its temperature [Pa s], > 0.
        density: [kg/m^3], > 0.

    Raises:
        ValueError: no edges, a bad dimension, an edge from a node to itself, a fixed node that no edge meets,
            an island (a node with no way to a fixed pressure), no drain (nothing leads to another
            pressure), a loop without resistance, or no convergence.
    """
    _check_edges(edges, viscosity, density)
    held = {name: float(value) for name, value in fixed.items()}
    if any(ATMOSPHERE in (edge.start, edge.end) for edge in edges):
        held.setdefault(ATMOSPHERE, 0.0)
    _check_layout(edges, held)
    laws = _Laws(edges, viscosity, density)
    names = list(dict.fromkeys(name for edge in edges for name in (edge.start, edge.end)))
    free = [name for name in names if name not in held]
    pressure, flow, iterations = _newton(edges, laws, held, free)
    every = held | dict(zip(free, pressure.tolist(), strict=True))
    supply = dict.fromkeys(held, 0.0)
    for edge, value in zip(edges, flow.tolist(), strict=True):
        if edge.start in supply:
            supply[edge.start] += value
        if edge.end in supply:
            supply[edge.end] -= value
    return OilFlow({name: every[name] for name in names}, flow, laws.reynolds(flow), supply, iterations)


class _Laws:
    """Drop and slope of all edges at once, sorted by kind."""

    def __init__(self, edges: Sequence[Edge], viscosity: float, density: float) -> None:
        self.viscosity, self.density, self.count = viscosity, density, len(edges)
        self.diameter = np.array([edge.diameter for edge in edges])
        self.pipes = np.array([i for i, e in enumerate(edges) if isinstance(e, Pipe)], dtype=int)
        self.holes = np.array([i for i, e in enumerate(edges) if isinstance(e, Orifice)], dtype=int)
        self.leaks = np.array([i for i, e in enumerate(edges) if isinstance(e, AnnularLeak)], dtype=int)
        pipes = [e for e in edges if isinstance(e, Pipe)]
        self.length, self.roughness, self.loss = (
            np.array([getattr(e, name) for e in pipes]) for name in ("length", "roughness", "loss")
        )
        self.coefficient = np.array([e.coefficient for e in edges if isinstance(e, Orifice)])
        leaks = [e for e in edges if isinstance(e, AnnularLeak)]
        clearance, length, eccentricity = (
            np.array([getattr(e, name) for e in leaks]) for name in ("clearance", "length", "eccentricity")
        )
        self.resistance = 1 / annulus_conductance(
            self.diameter[self.leaks], clearance, length, eccentricity, viscosity
        )

    def drop(self, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
        drop, slope = np.empty(self.count), np.empty(self.count)
        i = self.pipes
        drop[i], slope[i] = pipe_drop(
            flow[i], self.diameter[i], self.length, self.roughness, self.loss, self.density, self.viscosity
        )
        i = self.holes
        drop[i], slope[i] = orifice_drop(flow[i], self.diameter[i], self.coefficient, self.density)
        i = self.leaks
        drop[i], slope[i] = self.resistance * flow[i], self.resistance
        return drop, slope

    def hole_flow(self, drop: float) -> FloatArray:
        """Flow of each hole at a drop; zero for the other edges."""
        flow = np.zeros(self.count)
        i = self.holes
        flow[i] = np.sqrt(
            drop / orifice_drop(np.ones(len(i)), self.diameter[i], self.coefficient, self.density)[0]
        )
        return flow

    def reynolds(self, flow: FloatArray) -> FloatArray:
        number = pipe_reynolds(flow, self.diameter, self.density, self.viscosity)
        number[self.leaks] = np.nan
        return number


def _newton(
    edges: Sequence[Edge], laws: _Laws, held: Mapping[str, float], free: Sequence[str]
) -> tuple[FloatArray, FloatArray, int]:
    """Solve drop(q) = p_start - p_end on every edge and zero sum at every free node."""
    from scipy.sparse import bmat, csc_array, diags_array
    from scipy.sparse.linalg import splu

    index = {name: row for row, name in enumerate(free)}
    rows, columns, signs = [], [], []
    given = np.zeros(len(edges))
    for column, edge in enumerate(edges):
        for name, sign in ((edge.start, 1.0), (edge.end, -1.0)):
            if name in index:
                rows.append(column)
                columns.append(index[name])
                signs.append(sign)
            else:
                given[column] += sign * held[name]
    incidence = csc_array((signs, (rows, columns)), shape=(len(edges), len(free)))
    scale = max(held.values()) - min(held.values())
    tolerance = 1e-10 * scale
    # Start as if every hole took a share of the whole pressure; at rest a hole has no slope.
    flow = laws.hole_flow(0.1 * scale)
    # Where next to nothing flows, a hole keeps the slope of a drop far below the tolerance.
    least_slope = laws.drop(laws.hole_flow(1e-3 * tolerance))[1]
    least_slope[laws.pipes] = 0.0
    for iteration in range(1, 101):
        drop, slope = laws.drop(flow)
        slope = np.maximum(slope, least_slope)
        matrix = bmat([[diags_array(slope), -incidence], [incidence.T, None]], format="csc")
        right = np.concatenate([slope * flow - drop + given, np.zeros(len(free))])
        found = splu(matrix).solve(right)
        flow, pressure = found[: len(edges)], found[len(edges) :]
        residual = laws.drop(flow)[0] - incidence @ pressure - given
        if np.abs(residual).max() <= tolerance:
            return pressure, flow, iteration
    raise ValueError(
        f"the oil network did not settle in 100 steps, {np.abs(residual).max():.3g} Pa are amiss in the "
        "worst passage: check for a passage of an unlikely size"
    )


def _check_edges(edges: Sequence[Edge], viscosity: float, density: float) -> None:
    """Name the first passage with an impossible dimension."""
    if not edges:
        raise ValueError("the oil network has no passages")
    for name, value in (("viscosity", viscosity), ("density", density)):
        if not value > 0 or not np.isfinite(value):
            raise ValueError(f"oil {name} is {value}: it must be greater than zero")
    for edge in edges:
        label = f"passage from {edge.start!r} to {edge.end!r}"
        if edge.start == edge.end:
            raise ValueError(f"{label}: both ends are the same place; name two")
        lowest = {
            "diameter": edge.diameter > 0,
            "length": isinstance(edge, Orifice) or edge.length >= 0,
            "coefficient": not isinstance(edge, Orifice) or 0 < edge.coefficient <= 1,
            "clearance": not isinstance(edge, AnnularLeak) or (edge.clearance > 0 and edge.length > 0),
            "eccentricity": not isinstance(edge, AnnularLeak) or 0 <= edge.eccentricity <= 1,
            "roughness": not isinstance(edge, Pipe) or 0 <= edge.roughness < edge.diameter,
            "loss": not isinstance(edge, Pipe) or edge.loss >= 0,
        }
        for name, good in lowest.items():
            if not good:
                raise ValueError(f"{label}: {name} is {getattr(edge, name)}, which cannot be")


def _check_layout(edges: Sequence[Edge], held: Mapping[str, float]) -> None:
    """Find islands, a missing drain, unused supplies and loops without resistance."""
    all_joined, bare_joined = _Groups(), _Groups()
    names = {name for edge in edges for name in (edge.start, edge.end)}
    if not set(held) & names:
        raise ValueError("no passage meets a place with a known pressure: name the gallery's pressure")
    for name in held:
        if name not in names and name != ATMOSPHERE:
            raise ValueError(f"pressure is given at {name!r}, but no passage meets it")
    met = [name for name in held if name in names]
    for edge in edges:
        all_joined.join(edge.start, edge.end)
        bare = isinstance(edge, Pipe) and edge.length == 0 and edge.loss == 0
        # Held pressures count as one place here: a bare way between two of them is a loop as well.
        ends = ["held" if name in held else name for name in (edge.start, edge.end)]
        if bare and not bare_joined.join(ends[0], ends[1]):
            raise ValueError(
                f"passage from {edge.start!r} to {edge.end!r} closes a loop without resistance: "
                "give its length"
            )
    reached = {all_joined.root(name) for name in met}
    islands = sorted(name for name in names if all_joined.root(name) not in reached)
    if islands:
        raise ValueError(
            f"no passage leads from {', '.join(islands)} to a known pressure: an island. "
            "Join them by a passage, or is a name misspelt?"
        )
    if len({held[name] for name in met}) < 2:
        raise ValueError(
            "the oil has no drain: no passage leads to the open air or to another pressure. "
            f"Let its leaks and jets end at {ATMOSPHERE!r}"
        )


class _Groups:
    """Union of places that are joined."""

    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def root(self, name: str) -> str:
        self.parent.setdefault(name, name)
        while self.parent[name] != name:
            self.parent[name] = self.parent[self.parent[name]]
            name = self.parent[name]
        return name

    def join(self, one: str, other: str) -> bool:
        """Join two places; False if they were joined already."""
        first, second = self.root(one), self.root(other)
        self.parent[first] = second
        return first != second
