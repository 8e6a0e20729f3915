"""Static and effective compression ratio of every cylinder."""

from collections.abc import Mapping, Sequence
from math import pi

import numpy as np

from valvetrain.answers.quantity import Quantity, computed
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.mechanics.piston.crank_slider import (
    clearance_volume,
    effective_compression_ratio,
    static_compression_ratio,
)
from valvetrain.questions.events.study import events_study
from valvetrain.setup.setup import Column, Setup

__all__ = ["compression_ratios"]


def compression_ratios(
    setup: Setup,
    first: Sequence[int],
    advance: float,
    lash: float | FloatArray | None,
    stroke: float,
    rod: float,
) -> tuple[Quantity, Quantity]:
    """Static and effective compression ratio of every cylinder.

    Args:
        setup: the engine.
        first: index of an intake valve of each cylinder.
        advance: crank angle by which the cam is advanced from where it stands [rad].
        lash: [m], one or one a valve, in place of the sheet's.
        stroke, rod: [m]; NaN where unknown.
    """
    at = list(first)
    keys = ("compression_ratio", "chamber_volume", "crown_volume", "gasket_bore", "gasket_thickness",
            "deck_clearance")  # fmt: skip
    own = {f"piston.{key}": _picked(setup.column("piston", key), at) for key in keys}
    bore = np.nan if setup.engine.bore is None else setup.engine.bore.value
    with np.errstate(invalid="ignore"):
        closes = events_study(setup, lash=lash).closes
    # A cam that is advanced closes the valve earlier; how sure the closing is the events tell.
    own["intake closes"] = Column(
        closes.value[at] - advance, np.nan_to_num(closes.uncertainty[at]), ("events",) * len(at)
    )

    def both(moved: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        volume = clearance_volume(
            moved["piston.chamber_volume"],
            gasket_bore=moved["piston.gasket_bore"],
            gasket_thickness=moved["piston.gasket_thickness"],
            bore=bore,
            deck_clearance=moved["piston.deck_clearance"],
            piston_dish=moved["piston.crown_volume"],
        )
        given = moved["piston.compression_ratio"]
        ratio = np.full(given.shape, np.nan)
        known = volume > 0
        if known.any() and not (np.isnan(bore) or np.isnan(stroke)):
            ratio[known] = static_compression_ratio(bore, stroke, volume[known])
        ratio = np.where(np.isnan(given), ratio, given)
        effective = np.full(ratio.shape, np.nan)
        shut = moved["intake closes"]
        good = (ratio > 1) & (np.abs(shut) <= pi)
        if good.any() and not (np.isnan(stroke) or np.isnan(rod)):
            effective[good] = effective_compression_ratio(ratio[good], shut[good], stroke, rod)
        return {"static": ratio, "effective": effective}

    found = computed(both, own, {"static": "ratio", "effective": "ratio"})
    return found["static"], found["effective"]


def _picked(column: Column, indices: list[int]) -> Column:
    """Return the column at some of its valves."""
    return Column(
        column.value[indices],
        column.uncertainty[indices],
        tuple(column.source[index] for index in indices),
    )
