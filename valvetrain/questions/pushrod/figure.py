"""Adjusters of the whole set: thread showing, its range, what is wanted, what the lengths chosen leave."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, INK, LARGE, SMALL, in_units, new_axes
from valvetrain.questions.pushrod.study import PushrodResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["adjuster_range", "pushrod_figure"]


def pushrod_figure(setup: Setup, result: PushrodResult, system: str) -> Figure:
    """Draw every adjuster in its range; `system` is "inch" or "metric"."""
    figure = Figure(figsize=(10.5, 5.5), layout="constrained")
    figure.suptitle(f"{setup.title}: thread of the adjusters", fontsize=LARGE, fontweight="bold")
    adjuster_range(result, figure.subplots(), system=system)
    return figure


def adjuster_range(result: PushrodResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw thread showing at every valve against its range; a valve that was not measured says so."""
    ax = new_axes(ax, (10.5, 5.5))
    place = np.arange(len(result.valves))

    def of(values: object) -> np.ndarray:
        return in_units(np.asarray(values, float), "length", system)

    greatest, now = of(result.exposure_greatest.value), of(result.adjuster_exposure.value)
    wanted, chosen = of(result.exposure_wanted.value), of(result.plan.exposure)
    ax.bar(place, np.nan_to_num(greatest), 0.5, facecolor="0.93", edgecolor=INK, linewidth=0.8, label="range")
    ax.plot(place, now, "o", color=INK, markersize=6, zorder=4, label="now")
    ax.plot(place, wanted, "_", color=INK, markersize=26, markeredgewidth=1.5, label="wanted")
    ax.plot(
        place, chosen, "s", color=INK, markersize=12, markerfacecolor="white", label="when the plan is done"
    )
    for index in np.flatnonzero(np.isnan(now)):
        ax.text(float(index), 0.0, "not measured", rotation=90, ha="center", va="bottom", fontsize=SMALL)
    ax.set_xticks(place, result.valves, fontsize=BODY)
    ax.set_ylabel(f"thread showing under the rocker [{display_unit('length', system)}]", fontsize=BODY)
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.08), ncols=4, frameon=False, fontsize=BODY)
    return ax
