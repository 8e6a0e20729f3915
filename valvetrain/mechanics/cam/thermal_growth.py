"""Lash from cold to hot along the path that expands, and the growth of the shaft along the head.

Free growth of each part is alpha L dT of its own material and temperature (derived). Lash growth at the valve
= (shaft above the seat) - (valve, seat to tip) + ratio x [(shaft above the cam) - (tappet + pushrod)].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, BoolArray, FloatArray

__all__ = [
    "EXPANSION",
    "EXPANSION_RELATIVE_UNCERTAINTY",
    "Growth",
    "Segment",
    "chosen_growth",
    "cold_lash_for",
    "growth_from_pair",
    "hot_lash",
    "lash_growth",
    "shaft_shift",
]

# [1/K] near room temperature: Callister, Materials Science and Engineering, Table B.6 (published, seen).
EXPANSION = MappingProxyType(
    {
        "grey iron": 11.4e-6,
        "ductile iron": 11.2e-6,
        "carbon steel 1020": 11.7e-6,
        "alloy steel 4140": 12.3e-6,
        "alloy steel 4340": 12.3e-6,
        "cast aluminum 356.0": 21.5e-6,
        "wrought aluminum 6061": 23.6e-6,
        "titanium Ti-6Al-4V": 8.6e-6,
    }
)
# Handbook tables differ by 5 to 7 %; taken as a standard uncertainty of 6 %.
EXPANSION_RELATIVE_UNCERTAINTY = 0.06


@dataclass(frozen=True)
class Segment:
    """One stretch of the path.

    Attributes:
        name: as shown to the builder.
        material: segments of the same material share the error of their coefficient.
        length: [m] > 0, cold.
        expansion: [1/K].
        rise: [K] above the cold state.
        length_uncertainty, expansion_uncertainty, rise_uncertainty: standard uncertainties, same units.
        zone: segments in the same zone share the error of their temperature; empty: its own.
    """

    name: str
    material: str
    length: float
    expansion: float
    rise: float
    length_uncertainty: float = 0.0
    expansion_uncertainty: float = 0.0
    rise_uncertainty: float = 0.0
    zone: str = ""

    @property
    def growth(self) -> float:
        """Free growth [m]."""
        return self.expansion * self.length * self.rise


@dataclass(frozen=True)
class Growth:
    """Change of the lash at the valve from cold to hot [m], positive: it opens; with what it is made of.

    Attributes:
        value, uncertainty: [m], standard uncertainty.
        contributions: (segment, signed part of `value` [m]).
        measured: True when it comes from a measured pair.
    """

    value: float
    uncertainty: float
    contributions: tuple[tuple[str, float], ...] = ()
    measured: bool = False


def lash_growth(
    *,
    shaft_above_seat: Sequence[Segment],
    valve: Sequence[Segment],
    shaft_above_cam: Sequence[Segment],
    tappet_and_pushrod: Sequence[Segment],
    ratio: float,
    ratio_uncertainty: float = 0.0,
) -> Growth:
    """Lash growth at the valve from cold to hot (derived; closed form above).

    Args:
        shaft_above_seat: head and stand from the valve seat up to the shaft, along the stem.
        valve: from seat to tip.
        shaft_above_cam: block, gasket, head, stand from the cam's axis up to the shaft (the cam itself up to
            its base circle may be added to the other side).
        tappet_and_pushrod: from the base circle to the upper ball.
        ratio: valve motion over tappet motion on the base circle, > 0.

    The uncertainty takes a material's coefficient and a zone's temperature as common to all their segments
    (JCGM 100, 5.2 note: correlation removed by making the common cause an input of its own). NaN in, NaN out.
    """
    if ratio <= 0:
        raise ValueError(f"ratio is {ratio}; it must be positive")
    signed = [
        *((+1.0, s) for s in shaft_above_seat),
        *((-1.0, s) for s in valve),
        *((+ratio, s) for s in shaft_above_cam),
        *((-ratio, s) for s in tappet_and_pushrod),
    ]
    tappet_side = sum(s.growth for s in shaft_above_cam) - sum(s.growth for s in tappet_and_pushrod)
    squares = (tappet_side * ratio_uncertainty) ** 2
    by_material: dict[str, float] = {}
    by_zone: dict[str, float] = {}
    for number, (factor, s) in enumerate(signed):
        squares += (factor * s.expansion * s.rise * s.length_uncertainty) ** 2
        by_material[s.material] = by_material.get(s.material, 0.0) + (
            factor * s.length * s.rise * s.expansion_uncertainty
        )
        zone = s.zone or f"segment {number}"
        by_zone[zone] = by_zone.get(zone, 0.0) + factor * s.expansion * s.length * s.rise_uncertainty
    squares += sum(part**2 for part in (*by_material.values(), *by_zone.values()))
    contributions = tuple((s.name, factor * s.growth) for factor, s in signed)
    return Growth(sum(part for _, part in contributions), float(np.sqrt(squares)), contributions)


def growth_from_pair(
    cold: float, hot: float, cold_uncertainty: float = 0.0, hot_uncertainty: float = 0.0
) -> Growth:
    """Growth from one valve set cold and measured hot, engine stopped; all [m]."""
    return Growth(hot - cold, float(np.hypot(cold_uncertainty, hot_uncertainty)), measured=True)


def chosen_growth(computed: Growth, measured: Growth | None) -> Growth:
    """The measured pair where there is one, the computed growth otherwise."""
    return computed if measured is None or np.isnan(measured.value) else measured


def hot_lash(cold: ArrayLike, growth: Growth) -> FloatArray:
    """Lash hot [m] from the lash set cold, floored at zero: below that the valve is held open.

    NaN in, NaN out. Compare `cold + growth.value` with zero to see by how much it is held open.
    """
    return np.asarray(np.maximum(np.asarray(cold, float) + growth.value, 0.0))


def cold_lash_for(wanted_hot: ArrayLike, growth: Growth) -> tuple[FloatArray, BoolArray]:
    """What to set cold [m] for a wanted hot lash [m], and whether that can be set (not below zero)."""
    cold = np.asarray(wanted_hot, float) - growth.value
    return cold, np.asarray(cold >= 0)


def shaft_shift(
    position: ArrayLike,
    fixed_at: ArrayLike,
    *,
    shaft_expansion: ArrayLike,
    shaft_rise: ArrayLike,
    head_expansion: ArrayLike,
    head_rise: ArrayLike,
) -> FloatArray:
    """Shift of a point of the shaft against the head [m], positive toward the rear, cold to hot.

    Args:
        position, fixed_at: [m] along the shaft, positive toward the rear; of the point, and of where the
            shaft is fixed to the head.
        shaft_expansion, head_expansion: [1/K]; shaft_rise, head_rise: [K].

    It adds to the offset of a rocker that the shaft carries along.
    """
    strain = np.asarray(shaft_expansion, float) * np.asarray(shaft_rise, float)
    strain = strain - np.asarray(head_expansion, float) * np.asarray(head_rise, float)
    return np.asarray((np.asarray(position, float) - np.asarray(fixed_at, float)) * strain)
