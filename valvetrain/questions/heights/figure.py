"""Unknown change of the height stack at every valve, with its doubt and the set's mean."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, in_units, new_axes, one_in_units
from valvetrain.questions.heights.study import HeightsResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["heights_figure", "unknown_heights"]


def heights_figure(setup: Setup, result: HeightsResult, system: str) -> Figure:
    """Draw the unknown change at every valve; `system` is "inch" or "metric"."""
    figure = Figure(figsize=(10.5, 5.5), layout="constrained")
    figure.suptitle(f"{setup.title}: unknown height, cam to shaft", fontsize=LARGE, fontweight="bold")
    unknown_heights(result, figure.subplots(), system=system)
    return figure


def unknown_heights(result: HeightsResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the unknown change with k = 2 bars; valves without adjuster readings say so."""
    ax = new_axes(ax, (10.5, 5.5))
    place = np.arange(len(result.valves))
    value = in_units(result.unknown_reach.value, "length", system)
    known = np.isfinite(value)
    doubt = 2 * in_units(result.unknown_reach.uncertainty, "length", system)
    ax.axhline(0.0, color=GRAY, linewidth=0.8)
    if known.any():
        ax.errorbar(
            place[known],
            value[known],
            doubt[known],
            fmt="o",
            color=INK,
            markersize=8,
            capsize=5,
            linewidth=1.3,
        )
        mean = one_in_units(result.total.value, "length", system)
        ax.axhline(mean, color=INK, linewidth=1.4, linestyle="--")
        text = f"mean {shown(result.total.value, 'length', system, result.total.uncertainty)}"
        ax.annotate(text, (-0.55, mean), (0, -14), textcoords="offset points", ha="left", fontsize=BODY)
    for index in np.flatnonzero(~known):
        ax.text(float(index), 0.0, "not measured", rotation=90, ha="center", va="top", fontsize=SMALL)
    ax.set_xticks(place, result.valves, fontsize=BODY)
    ax.set_xlim(-0.6, len(place) - 0.4)
    ax.set_ylabel(f"taller (+) or shorter (-) [{display_unit('length', system)}]", fontsize=BODY)
    return ax
