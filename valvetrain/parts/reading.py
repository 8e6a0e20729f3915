"""One reading taken at the bench, from which `fit` infers the linkage."""

from dataclasses import dataclass

from valvetrain.parts.measured import Measured

__all__ = ["READINGS", "BenchReading"]

READINGS = {
    "net_lift": "valve lift with the lash in, at a tappet lift or a crank angle",
    "gross_lift": "valve lift with the lash taken out, at a tappet lift or a crank angle",
    "near_edge": "edge of the ink mark on the tip nearest the shaft, engine turned through full lift",
    "far_edge": "edge of the ink mark on the tip farthest from the shaft",
    "closed_mark": "mark made with the valve closed and the lash taken up",
    "closed_mark_width": "width of that mark across the tip: twice the reach of ink beyond the contact",
    "turn": "how far the pad moves down when the adjuster is screwed toward the pushrod by `turns`",
    "exposure": "thread showing under the rocker, lash set",
    "mean_ratio": "gross valve lift over lobe lift, at full lift",
}
"""name in the table -> what is read."""


@dataclass(frozen=True)
class BenchReading:
    """One row of the table of readings.

    Attributes:
        valve: name of the valve; empty for a shared dimension.
        kind: a key of READINGS, or "dimension".
        dimension: sheet key that a dimension measures, such as "rocker.pad_arm"; else empty.
        value: what was read; marks on the tip from the stem axis, positive away from the shaft.
        tappet_lift: where the lift was read, where it is given.
        crank_angle: crank angle from full lift, minus before it, where the lift was read so.
        turns: of the adjuster.
        resolution: last digit as written [SI]; 0 where not known.
        line: line of the file.
        source: file and line, for a person.
        shaft: name of the shaft that a dimension holds for; empty for all.
    """

    valve: str
    kind: str
    dimension: str
    value: Measured
    tappet_lift: Measured | None
    crank_angle: Measured | None
    turns: Measured | None
    resolution: float
    line: int
    source: str
    shaft: str = ""
