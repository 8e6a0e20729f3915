"""Ramp left and seating speed against lash, or where the lash stands in its window at every valve."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, new_axes
from valvetrain.questions.lash.answer import LashAnswer
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["lash_window_plot", "ramp_sheet", "seating_speed"]


def ramp_sheet(setup: Setup, result: LashAnswer, system: str) -> Figure:
    """Draw the lash windows; with a range of lashes, the seating speed over it as well."""
    columns = 1 if result.trend is None else 2
    figure = Figure(figsize=(6.5 * columns, 5.2), layout="constrained")
    figure.suptitle(f"{setup.title}: lash and the cam's ramps", fontsize=LARGE, fontweight="bold")
    panels = np.atleast_1d(figure.subplots(1, columns))
    lash_window_plot(result, panels[0], system=system)
    if result.trend is not None:
        seating_speed(result, panels[1], system=system)
    return figure


def lash_window_plot(result: LashAnswer, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw every valve's lash, cold and hot, in the window that keeps both ends on the ramps."""
    ax = new_axes(ax)
    unit = display_unit("length", system)

    def at(values: np.ndarray) -> np.ndarray:
        return np.asarray(from_si(np.asarray(values), "length", system))

    place = np.arange(len(result.valves))
    low, high = at(result.least_lash.value), at(result.greatest_lash.value)
    known = ~np.isnan(high)
    ax.bar(
        place[known], (high - low)[known], 0.6, low[known], color="0.88", edgecolor=GRAY, label="on the ramps"
    )
    for name, mark, face in (("cold_lash", "s", "white"), ("hot_lash", "o", INK)):
        quantity = getattr(result, name)
        seen = ~np.isnan(quantity.value)
        if seen.any():
            doubt = 2 * at(quantity.uncertainty)[seen]
            ax.errorbar(place[seen], at(quantity.value)[seen], doubt, fmt=mark, color=INK, capsize=3,
                        markerfacecolor=face, label=f"{name.replace('_', ' ')} (k = 2)")  # fmt: skip
    ax.set_xticks(place, result.valves)
    ax.set_ylim(0, None)
    ax.set_ylabel(f"lash at the valve [{unit}]", fontsize=BODY)
    if not known.any():
        ax.set_title("no ramp is known: no window", loc="left", fontsize=BODY)
    if ax.get_legend_handles_labels()[0]:
        ax.legend(fontsize=SMALL, frameon=False, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3)
    return ax


def seating_speed(result: LashAnswer, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the seating speed at the redline against lash, for the first valve of each role."""
    ax = new_axes(ax)
    assert result.trend is not None
    lash = np.asarray(from_si(result.trend.lashes, "length", system, difference=result.trend.changed))
    speeds = np.asarray(from_si(result.trend.values["closing_speed"], "speed", system))
    for role, style in (("intake", "-"), ("exhaust", "--")):
        if role in result.roles:
            index = result.roles.index(role)
            ax.plot(lash, speeds[:, index], style, color=INK, linewidth=1.6, label=result.valves[index])
    what = "change of each valve's lash" if result.trend.changed else "lash as set"
    ax.set_xlabel(f"{what} [{display_unit('length', system)}]", fontsize=BODY)
    ax.set_ylabel(f"seating speed at the redline [{display_unit('speed', system)}]", fontsize=BODY)
    ax.set_ylim(0, None)
    ax.legend(fontsize=SMALL, frameon=False)
    return ax
