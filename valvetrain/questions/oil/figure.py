"""Oil along the rocker shaft: pressure and share at every rocker, a line a layout, new and worn."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, NAME, SMALL, new_axes
from valvetrain.questions.oil.study import OilResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["oil_along_shaft", "oil_sheet"]

_STYLES = (
    ("-", "o", INK),
    ("--", "s", "white"),
    ("-.", "^", "white"),
    (":", "D", INK),
    ((0, (5, 1, 1, 1, 1, 1)), "v", INK),
    ((0, (8, 3)), "x", INK),
    ((0, (1, 3)), "P", "white"),
)


def oil_along_shaft(
    result: OilResult, condition: str, what: str, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw pressure or share at every rocker in the engine's order, a line a layout.

    Args:
        result: of `oil_study`, with a network.
        condition: "new", "worn" or "measured".
        what: "pressure" or "share".
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    ax = new_axes(ax)
    place = np.arange(len(result.valves))
    cases = [case for case in result.cases if case.condition == condition]
    for number, case in enumerate(cases):
        values = case.pressure if what == "pressure" else case.share
        dimension = "oil_pressure" if what == "pressure" else "fraction"
        line, mark, fill = _STYLES[number % len(_STYLES)]
        ax.plot(
            place,
            np.asarray(from_si(values, dimension, system)),
            linestyle=line,
            marker=mark,
            markersize=6,
            markerfacecolor=fill,
            color=INK,
            linewidth=1.3,
            label=case.layout,
        )
    ax.set_xticks(place, result.valves, fontsize=SMALL)
    ax.set_ylim(bottom=0.0)
    return ax


def oil_sheet(setup: Setup, result: OilResult, system: str) -> Figure:
    """Draw all layouts, new and worn; `system` is "inch" or "metric"."""
    figure = Figure(figsize=(10.5, 7.8), layout="constrained")
    if result.missing:
        figure.text(0.5, 0.5, f"oil not drawn: {result.missing}", ha="center", fontsize=LARGE)
        return figure
    conditions = ["new", "worn"]
    panels = figure.subplots(2, len(conditions), sharey="row", squeeze=False)
    limit = setup.limits["rocker_oil_share"].low
    for column, condition in enumerate(conditions):
        pressure, share = panels[0][column], panels[1][column]
        oil_along_shaft(result, condition, "pressure", pressure, system=system)
        oil_along_shaft(result, condition, "share", share, system=system)
        pressure.set_title(f"{condition} bushings", fontsize=NAME, fontweight="bold", loc="left")
        if np.isfinite(limit) and limit > 0:
            share.axhline(100 * limit, color=GRAY, linewidth=2.2)
            share.annotate(
                "starved below",
                (0.01, 100 * limit),
                (0, -3),
                xycoords=share.get_yaxis_transform(),
                textcoords="offset points",
                va="top",
                fontsize=SMALL,
            )
    panels[0][0].set_ylabel(f"pressure at the rocker [{display_unit('oil_pressure', system)}]", fontsize=BODY)
    panels[1][0].set_ylabel("share of the best fed rocker,\nas built and new [%]", fontsize=BODY)
    figure.suptitle(f"{setup.title}: oil along the rocker shaft", fontsize=LARGE, fontweight="bold")
    handles, labels = panels[0][0].get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="outside lower center",
        ncols=min(len(labels), 5),
        fontsize=BODY,
        frameon=False,
        handlelength=3.5,
        title="rockers from front to rear",
        title_fontsize=BODY,
    )
    return figure
