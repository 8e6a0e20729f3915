"""Seat load and room to coil bind of every valve, before and after the plan of springs and shims."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["before_and_after", "spring_plan_page"]

_WANTED = (0, (1, 2))
_CLEAR = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}


def before_and_after(
    setup: Setup, before: Quantity, after: Quantity, limit: str, ax: Axes, *, system: str
) -> Axes:
    """Draw a quantity of every valve before (open marks) and after (filled), with its limits.

    Bars are expanded uncertainties (k = 2). A valve that was not measured has no mark, and says so.

    Args:
        setup: the engine, for the limit and the loads wanted.
        before, after: the quantity.
        limit: id of its limit.
        ax: where to draw.
        system: "inch" or "metric".
    """
    places = np.arange(len(setup.valves))
    for quantity, shift, fill, name in ((before, -0.14, "white", "now"), (after, 0.14, INK, "as planned")):
        value = from_si(quantity.value, quantity.dimension, system)
        doubt = 2 * from_si(quantity.uncertainty, quantity.dimension, system, difference=True)
        ax.errorbar(
            places + shift,
            value,
            yerr=np.nan_to_num(doubt),
            fmt="o",
            color=INK,
            markerfacecolor=fill,
            markersize=7,
            elinewidth=1.0,
            capsize=2.5,
            label=name,
        )
    ends = setup.limits[limit]
    for end, name in ((ends.low, "least"), (ends.high, "most")):
        if np.isfinite(end):
            level = float(from_si(end, ends.dimension, system))
            ax.axhline(level, color=INK, linestyle="--", linewidth=1.2, zorder=0)
            ax.annotate(
                f"{name}\nallowed",
                (1.0, level),
                (3, 0),
                xycoords=("axes fraction", "data"),
                textcoords="offset points",
                va="center",
                fontsize=SMALL,
            )
    for place in places[np.isnan(after.value) & np.isnan(before.value)]:
        ax.annotate(
            "not measured",
            (place, 0.5),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="center",
            va="center",
            fontsize=SMALL,
        )
    ax.set_xticks(places, setup.valves)
    ax.set_xlim(-0.6, len(places) - 0.4)
    ax.tick_params(labelsize=BODY)
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def spring_plan_page(setup: Setup, result: SpringResult, system: str) -> Figure:
    """Draw seat load, and room to coil bind, of every valve before and after."""
    figure = Figure(figsize=(10.5, 7.8), layout=ConstrainedLayoutEngine(h_pad=0.08, hspace=0.04))
    upper, lower = figure.subplots(2, 1, sharex=True)
    before_and_after(setup, result.seat_load, result.seat_load_after, "seat_load", upper, system=system)
    wanted = from_si(setup.column("spring", "seat_load_target").value, "force", system)
    places = np.arange(len(setup.valves))
    if not np.isnan(wanted).all():
        upper.hlines(
            wanted,
            places - 0.4,
            places + 0.4,
            color=GRAY,
            linestyle=_WANTED,
            linewidth=1.6,
            label="wanted",
        )
    before_and_after(
        setup, result.bind_clearance, result.bind_clearance_after, "bind_clearance", lower, system=system
    )
    for index, own in enumerate(result.plan.valves):
        if own.changed:
            total = sum(own.stack) - sum(own.fitted)
            unit = display_unit("length", system)
            lower.annotate(
                f"shims {from_si(total, 'length', system):+.3f} {unit}",
                (index, 0.03),
                xycoords=("data", "axes fraction"),
                rotation=90,
                ha="center",
                va="bottom",
                fontsize=SMALL,
                bbox=_CLEAR,
            )
        elif own.reason is not None and own.reason.wrong_spring:
            lower.annotate(
                "another spring",
                (index, 0.03),
                xycoords=("data", "axes fraction"),
                rotation=90,
                ha="center",
                va="bottom",
                fontsize=SMALL,
                bbox=_CLEAR,
            )
    lower.set_ylim(bottom=min(0.0, lower.get_ylim()[0]))
    upper.set_ylabel(f"seat load [{display_unit('force', system)}]", fontsize=BODY)
    lower.set_ylabel(f"to coil bind at full lift [{display_unit('length', system)}]", fontsize=BODY)
    lower.set_xlabel("valve", fontsize=BODY)
    upper.legend(frameon=False, fontsize=BODY, ncols=3, loc="lower right", bbox_to_anchor=(1.0, 1.0))
    figure.suptitle(f"{setup.title}: springs before and after", fontsize=LARGE, fontweight="bold")
    return figure
