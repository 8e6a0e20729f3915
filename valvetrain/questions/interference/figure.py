"""Rocker, retainer, seal and stand drawn to scale, closed and at full lift."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.answers.style import INK, in_figures, in_units, named, new_axes, noted, said_not_measured
from valvetrain.mechanics.shapes.interference import lowered, turned
from valvetrain.questions.interference.study import InterferenceResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["interference_figure", "parts_through_lift"]


def interference_figure(setup: Setup, result: InterferenceResult, system: str) -> Figure:
    """Draw the parts of every valve; `system` is "inch" or "metric"."""
    unit = display_unit("length", system)
    figure, panels = page(
        f"{setup.title}: parts that pass close by (dashed: closed; solid: full lift; rocker to retainer)",
        setup.valves,
        across=f"from the stem axis, away from the shaft [{unit}]",
        along=f"above the closed tip [{unit}]",
    )
    for valve, ax in panels.items():
        parts_through_lift(result, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure


def parts_through_lift(
    result: InterferenceResult, valve: str, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw one valve's parts, closed and at full lift."""
    ax = new_axes(ax)
    index = result.valves.index(valve)
    parts = result.parts.by_valve[index]
    shapes = (parts.rocker, parts.retainer, parts.seal, parts.stand)
    if all(shape is None for shape in shapes) or not np.isfinite(parts.rotation).all():
        return said_not_measured(ax, valve, ("shapes, shaft, arm or lift",))
    named(ax, valve)

    def outline(points: np.ndarray, style: str) -> None:
        closed = in_units(np.vstack([points, points[:1]]), "length", system)
        ax.plot(closed[:, 0], closed[:, 1], color=INK, linestyle=style, linewidth=1.2)

    if parts.rocker is not None:
        outline(parts.rocker, "--")
        outline(turned(parts.rocker, parts.rotation[-1], parts.pivot), "-")
    if parts.retainer is not None:
        outline(parts.retainer, "--")
        outline(lowered(parts.retainer, parts.lift[-1]), "-")
    for still in (parts.seal, parts.stand):
        if still is not None:
            outline(still, "-")
    ax.set_aspect("equal", adjustable="box")
    least = result.rocker_to_retainer
    if np.isfinite(least.value[index]):
        noted(ax, in_figures(least, index, system))
    return ax
