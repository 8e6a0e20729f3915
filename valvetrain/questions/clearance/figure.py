"""Piston and valve paths through the overlap: how near they come."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from valvetrain.answers.page import on_one_scale, page
from valvetrain.answers.style import GRAY, INK, SMALL, in_figures, named, new_axes, noted, said_not_measured
from valvetrain.questions.clearance.study import ClearanceResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["clearance_sheet", "piston_and_valve"]

# Crank degrees on either side of the top dead center that are drawn.
_SEEN = 40


def clearance_sheet(setup: Setup, result: ClearanceResult, system: str) -> Figure:
    """Draw every valve against its piston; `system` is "inch" or "metric"."""
    figure, panels = page(
        f"{setup.title}: valves and piston through the overlap",
        setup.valves,
        across="crank angle after the top dead center of the overlap [deg]",
        along=f"below the closed valve's face, along the stem [{display_unit('length', system)}]",
        key=[
            Line2D([], [], color=INK, linewidth=1.8, label="valve"),
            Line2D([], [], color=INK, linestyle="--", linewidth=1.4, label="piston under it"),
            Line2D([], [], color=INK, marker="|", markersize=9, linewidth=2.4, label="nearest"),
        ],
    )
    for valve, ax in panels.items():
        piston_and_valve(result, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure


def piston_and_valve(result: ClearanceResult, valve: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw one valve's path and its piston's, both along the stem, and where they are nearest."""
    ax = new_axes(ax)
    index = result.valves.index(valve)
    crank = np.degrees(result.crank_angle)
    lift = np.asarray(from_si(result.lift[index], "length", system))
    piston = np.asarray(from_si(result.piston[index], "length", system))
    if np.isnan(piston).any():
        words = [key.removeprefix("piston.").replace("_", " ") for key in result.missing[index]]
        return said_not_measured(ax, valve, words or ["stroke, rod or lobe"])
    ax.plot(crank, lift, "-", color=INK, linewidth=1.8, label="valve")
    ax.plot(crank, piston, "--", color=INK, linewidth=1.4, label="piston")
    at = float(np.degrees(result.at_angle.value[index]))
    ends = [float(np.interp(at, crank, each)) for each in (lift, piston)]
    ax.plot((at, at), ends, "-", color=INK, linewidth=2.4, marker="_", markersize=8)
    ax.axvline(0, color=GRAY, linewidth=0.9, zorder=0)
    ax.annotate("TDC", (0, 0.0), (3, 3), xycoords=ax.get_xaxis_transform(), textcoords="offset points",
                va="bottom", fontsize=SMALL)  # fmt: skip
    seen = np.abs(crank) <= _SEEN
    near = max(1.15 * float(lift[seen].max()), 2.2 * float(piston.min()))
    ax.set(xlim=(-_SEEN, _SEEN), ylim=(near, 0))
    named(ax, valve)
    noted(ax, f"{in_figures(result.clearance, index, system)}\nat {at:.0f}°")
    return ax
