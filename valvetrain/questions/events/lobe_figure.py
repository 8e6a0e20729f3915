"""A lobe's lift, velocity, acceleration and jerk, and what its readings leave over."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, new_axes
from valvetrain.questions.events.lobe_study import LobeResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["derivative", "lobe_sheet", "residuals"]

_ORDERS = ("lift", "velocity", "acceleration", "jerk")


def lobe_sheet(setup: Setup, result: LobeResult, system: str) -> Figure:
    """Draw one lobe; `system` is "inch" or "metric"."""
    rows = 5 if result.residuals.size else 4
    figure = Figure(figsize=(8.5, 2.0 * rows + 0.8), layout="constrained")
    made = {"card": "synthesised from its card", "table": "from its lift table", "law": "a motion law"}
    figure.suptitle(
        f"{setup.title}: {result.role} lobe, {made[result.source]}", fontsize=LARGE, fontweight="bold"
    )
    panels = figure.subplots(rows, 1, sharex=True)
    for order, ax in enumerate(panels[:4]):
        derivative(result, order, ax, system=system)
    if result.residuals.size:
        residuals(result, panels[4], system=system)
    panels[-1].set_xlabel("cam angle, lobe center at 180 [deg]", fontsize=BODY)
    moving = np.degrees(result.angle[result.lift > 0.002 * result.lift.max()])
    panels[0].set_xlim(moving[0] - 12, moving[-1] + 12)
    return figure


def derivative(result: LobeResult, order: int, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the derivative of that order (0: lift) over cam angle, each in the display length a degree."""
    ax = new_axes(ax)
    name = _ORDERS[order]
    values = np.asarray(from_si(getattr(result, name), "length", system, difference=True))
    unit = display_unit("length", system) + ("" if order == 0 else f"/deg{'' if order == 1 else order}")
    unit = unit.replace("deg2", "deg²").replace("deg3", "deg³")
    ax.plot(np.degrees(result.angle), values * np.radians(1.0) ** order, "-", color=INK, linewidth=1.5)
    ax.axhline(0, color=GRAY, linewidth=0.8, zorder=0)
    ax.axvline(180, color=GRAY, linewidth=0.8, zorder=0)
    ax.set_ylabel(f"{name}\n[{unit}]", fontsize=BODY)
    if result.source == "card" and order >= 2:
        ax.set_title("likely, not measured", loc="right", fontsize=SMALL)
    return ax


def residuals(result: LobeResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw every reading less the curve, with twice the noise as a band."""
    ax = new_axes(ax)
    left = np.asarray(from_si(result.residuals, "length", system, difference=True))
    band = 2 * float(from_si(result.noise, "length", system, difference=True))
    ax.axhspan(-band, band, color="0.9", zorder=0)
    ax.axhline(0, color=GRAY, linewidth=0.8, zorder=0)
    ax.plot(np.degrees(result.residual_angle), left, "o", color=INK, markersize=3)
    ax.set_ylabel(f"reading - curve\n[{display_unit('length', system)}]", fontsize=BODY)
    ax.set_title("band: twice the noise", loc="right", fontsize=SMALL)
    return ax
