"""Load against height of all springs at once, with the bands in which they stand closed, open and in bind."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from valvetrain.answers.style import BODY, INK, LARGE, SMALL
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.spring.inputs import set_solid
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["spring_set_load", "spring_set_page"]

_POINTS = 80
_CLEAR = {"fc": "white", "ec": "none", "pad": 1.5}


def spring_set_load(setup: Setup, result: SpringResult, ax: Axes, *, system: str) -> Axes:
    """Draw every measured spring's curve; the strongest and the weakest are named.

    Args:
        setup: the engine.
        result: of `spring_study`.
        ax: where to draw.
        system: "inch" or "metric".
    """
    rows = {key: column.value for key, column in result.inputs.items()}
    height = rows["spring.installed_height"] + rows["spring.seat_recession"]
    full, solid = height - rows["net lift"], set_solid(rows, result.curves)
    known = np.flatnonzero(~np.isnan(result.curves.total(rows, height)[0]))
    if not known.size:
        ax.text(0.5, 0.5, "no spring is measured", ha="center", va="center", transform=ax.transAxes)
        return ax

    def length(value: FloatArray | float) -> FloatArray:
        return np.asarray(from_si(value, "length", system))

    tallest = float(np.nanmax(height)) + 2e-3
    lowest = float(np.nanmin(np.concatenate([solid[known], full[known], height[known]])))
    heights = np.linspace(tallest, lowest, _POINTS)[:, np.newaxis]
    loads = from_si(result.curves.total(rows, heights + 0.0 * height)[0], "force", system)
    for index in known:
        ax.plot(
            length(heights[:, 0]), loads[:, index], "-", color=INK, linewidth=0.9, label=setup.valves[index]
        )
    at_seat = loads[0, known]
    span = float(length(tallest - lowest))
    names = result.spring_after if result.judged_as_planned else result.spring
    place = _POINTS // 3
    for end, word, away, va, ha in (
        (int(known[np.argmax(at_seat)]), "strongest", (-6, 5), "bottom", "right"),
        (int(known[np.argmin(at_seat)]), "weakest", (6, -5), "top", "left"),
    ):
        if np.ptp(at_seat) <= 1e-9 * np.max(at_seat):
            break  # one figure for all of them
        text = f"{word}: {setup.valves[end]} {names[end]}".rstrip()
        spot = (float(length(heights[place, 0])), float(loads[place, end]))
        ax.annotate(text, spot, away, textcoords="offset points", va=va, ha=ha, fontsize=SMALL)
    top = 1.15 * float(np.nanmax(loads))
    for band, name, hatch in ((height[known], "closed", "..."), (full[known], "open", "\\\\\\")):
        if np.isnan(band).all():
            continue
        low, high = float(length(np.nanmin(band))), float(length(np.nanmax(band)))
        ax.axvspan(low, high, facecolor="white", edgecolor="0.6", hatch=hatch, linewidth=0.8, zorder=0)
        ax.annotate(name, (0.5 * (low + high), 0.98 * top), ha="center", va="top", fontsize=BODY, bbox=_CLEAR)
    if not np.isnan(solid[known]).all():
        bind = float(length(np.nanmax(solid[known])))
        ax.axvspan(bind - span, bind, facecolor="white", edgecolor=INK, hatch="///", linewidth=1.2)
        ax.annotate(
            "coil bind", (bind, 0.5 * top), (4, 0), textcoords="offset points", rotation=90, ha="right",
            va="center", fontsize=BODY, bbox={"fc": "white", "ec": "none", "pad": 1.5},
        )  # fmt: skip
    ax.set_ylim(0.0, top)
    # Falling heights to the right: the way the spring goes as the valve opens.
    ax.set_xlim(float(length(tallest)), float(length(lowest)) - 0.08 * span)
    ax.tick_params(labelsize=BODY)
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def spring_set_page(setup: Setup, result: SpringResult, system: str) -> Figure:
    """Draw all springs on one page."""
    figure = Figure(figsize=(10.5, 7.0), layout=ConstrainedLayoutEngine(h_pad=0.08))
    ax = spring_set_load(setup, result, figure.subplots(), system=system)
    unit = display_unit("length", system)
    ax.set_xlabel(f"spring height [{unit}], falling as the valve opens", fontsize=BODY)
    ax.set_ylabel(f"load [{display_unit('force', system)}]", fontsize=BODY)
    title = f"{setup.title}: all springs and their heights"
    figure.suptitle(title, fontsize=LARGE, fontweight="bold")
    return figure
