"""Uncertainty budgets as bars: which measurement the doubt of a quantity comes from."""

import math
from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.budget_shares import named_quantities, shares, worst_place
from valvetrain.answers.quantity import Quantity
from valvetrain.answers.style import BODY, INK, LARGE, SMALL, new_axes
from valvetrain.setup.units import shown_spread

__all__ = ["budget_bars", "budget_sheet"]

_BARS = 5


def budget_bars(
    quantity: Quantity, place: int, title: str, ax: Axes | None = None, *, system: str, least: float = 0.005
) -> Axes:
    """Draw the shares of one quantity's variance at one valve.

    Args:
        quantity: the quantity; place: index of the valve.
        title: what it is.
        ax: axes to draw into; new ones where left out.
        system: units of the uncertainty in the title.
        least: shares below this are left out.
    """
    ax = new_axes(ax)
    parts = [one for one in shares(quantity, place)[:_BARS] if abs(one.share) >= least]
    ax.barh(
        range(len(parts)),
        [100 * one.share for one in parts],
        color="0.75",
        edgecolor=INK,
        height=0.62,
    )
    ax.set_yticks(range(len(parts)), [one.key for one in parts], fontsize=SMALL)
    ax.invert_yaxis()
    ax.axvline(0.0, color=INK, linewidth=0.8)
    for row, one in enumerate(parts):
        ax.annotate(
            f"{one.share:.0%}",
            (100 * max(one.share, 0.0), row),
            xytext=(3, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL,
        )
    ax.set_xlim(min(0.0, *(118 * one.share for one in parts)) if parts else 0.0, 118)
    ax.set_ylim(max(len(parts), 3) - 0.4, -0.6)
    doubt = shown_spread(2 * float(quantity.uncertainty[place]), quantity.dimension, system)
    ax.set_title(f"{title}: ±{doubt}", loc="left", fontsize=BODY, fontweight="bold")
    ax.set_xticks([0, 50, 100])
    return ax


def budget_sheet(title: str, result: Any, system: str, valves: Sequence[str]) -> Figure:
    """Draw a page with the budget of every quantity of a result, each at its least sure valve."""
    found = []
    for name, quantity in named_quantities(result):
        place = worst_place(quantity)
        if place is not None and shares(quantity, place):
            found.append((name.replace("_", " ").replace(".", ": "), quantity, place))
    columns = 2
    rows = max(1, math.ceil(len(found) / columns))
    figure = Figure(figsize=(10.5, 0.8 + 1.35 * rows), layout="constrained")
    panels = figure.subplots(rows, columns, squeeze=False).ravel()
    for ax, (name, quantity, place) in zip(panels, found, strict=False):
        at = valves[place] if len(valves) == len(quantity.value) else str(place + 1)
        budget_bars(quantity, place, f"{name} at {at}", ax, system=system)
    for spare in panels[len(found) :]:
        spare.remove()
    figure.suptitle(f"{title}: where the doubt comes from (k = 2)", fontsize=LARGE, fontweight="bold")
    figure.supxlabel("share of the variance [%]", fontsize=BODY)
    return figure
