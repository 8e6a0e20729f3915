"""Lash and lobe lift of every valve over time, each with its trend: small multiples on one scale."""

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from valvetrain.answers.page import on_one_scale, page
from valvetrain.answers.style import GRAY, INK, named, new_axes, noted, said_not_measured
from valvetrain.questions.record.study import RecordResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["record_path", "record_sheet"]


def record_path(result: RecordResult, valve: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw one valve's record: lash growth since the first reading, and lift against the middle of its role.

    Args:
        result: of `record_study`.
        valve: its name.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    ax = new_axes(ax)
    index = result.valves.index(valve)
    dimension = result.next_in.dimension
    time = np.asarray(from_si(result.time[index], dimension, system, difference=True))
    growth, lift = result.states.growth[index], result.states.lift[index]
    if np.isnan(growth).all() and np.isnan(lift).all():
        return said_not_measured(ax, valve, ["lash and lobe lift"])
    ax.axhline(0.0, color=GRAY, linewidth=0.8)
    for values, trend, mark, line, name, fill in (
        (growth, result.states.lash_trend, "o", "-", "lash", INK),
        (lift, result.states.lift_trend, "s", "--", "lift", "white"),
    ):
        shown_values = np.asarray(from_si(values, "length", system))
        ax.plot(
            time, shown_values, mark, color=INK, markerfacecolor=fill, markersize=5, linestyle="", label=name
        )
        known = ~np.isnan(values)
        if known.sum() < 2:
            continue
        ends = np.array([result.time[index][known].min(), result.time[index][known].max()])
        level = trend.level[index] + trend.slope[index] * (ends - trend.last_time[index])
        ax.plot(
            np.asarray(from_si(ends, dimension, system, difference=True)),
            np.asarray(from_si(level, "length", system)),
            line,
            color=INK,
            linewidth=1.4,
            label=f"{name} trend",
        )
    named(ax, valve)
    names = [each.name for each in result.found[index]]
    words = {"no change found": "no change", "tappet, pad, cup or pushrod wear": "tappet, pad, cup, pushrod"}
    noted(ax, "\n".join(words.get(name, name) for name in names[:2]))
    return ax


def record_sheet(setup: Setup, result: RecordResult, system: str) -> Figure:
    """Draw every valve's record; `system` is "inch" or "metric"."""
    unit = display_unit(result.next_in.dimension, system)
    across = {"date": "days since the first row"}.get(result.axis, f"{result.axis} [{unit}]")
    figure, panels = page(
        f"{setup.title}: record of lash and lobe lift",
        setup.valves,
        across=across,
        along=f"change [{display_unit('length', system)}]",
        key=_key(),
    )
    for valve, ax in panels.items():
        record_path(result, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure


def _key() -> list[Artist]:
    """Return the lines and marks of the plot, for the foot of the page."""
    return [
        Line2D(
            [], [], color=INK, marker="o", markersize=5, label="lash added since the first row, resets out"
        ),
        Line2D(
            [], [], color=INK, linestyle="--", marker="s", markersize=5, markerfacecolor="white",
            label="lobe lift against the middle of its role",
        ),
    ]  # fmt: skip
