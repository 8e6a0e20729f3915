"""Surge: harmonics of the lift against the speed at which each meets the spring's own frequency."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, NAME, SMALL
from valvetrain.mechanics.spring.surge import surge_speed
from valvetrain.questions.spring.study import SpringResult
from valvetrain.questions.spring.surge import SpringSurge
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si

__all__ = ["spring_surge_page", "surge_diagram"]

# Speeds drawn, as shares of the redline.
_BOTTOM, _TOP = 0.5, 1.6
_NAMES = {"spring": "spring", "middle_spring": "middle spring", "inner_spring": "inner spring"}


def surge_diagram(surge: SpringSurge, ax: Axes, *, system: str) -> Axes:
    """Draw the amplitude of every harmonic at the speed at which it meets the spring's frequency.

    The order stands over each stem; orders met far above the redline, or below half of it, are left out.
    """
    speed = np.asarray(from_si(surge_speed(surge.frequency, surge.order), "rotation", system))
    redline = float(from_si(surge.redline, "rotation", system))
    amplitude = np.asarray(from_si(surge.amplitude, "length", system))
    near = (speed <= _TOP * redline) & (speed >= _BOTTOM * redline)
    # Below the least reading of a dial a harmonic is noise of the lift table.
    floor = 1e-3 * float(amplitude[near].max()) if near.any() else 1e-9
    amplitude = np.maximum(amplitude, floor)
    ax.vlines(speed[near], floor, amplitude[near], color=INK, linewidth=1.6)
    ax.plot(speed[near], amplitude[near], "o", color=INK, markersize=5, label="harmonics")
    last = np.inf
    for order, x, y in zip(surge.order[near], speed[near], amplitude[near], strict=True):
        if last - x > 0.03 * redline:
            above: dict[str, Any] = {"textcoords": "offset points", "ha": "center", "fontsize": SMALL}
            ax.annotate(f"{order:.0f}", (x, y), (0, 5), **above)
            last = x
    ax.axvline(redline, color=GRAY, linestyle="--", linewidth=1.6, label="redline")
    ax.annotate(
        "redline",
        (redline, 0.985),
        (4, 0),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        va="top",
        fontsize=SMALL,
    )
    ax.set_yscale("log")
    ax.set_ylim(floor, 4.0 * float(amplitude[near].max()) if near.any() else 1.0)
    ax.set_xlim(_BOTTOM * redline, _TOP * redline)
    ax.tick_params(labelsize=SMALL)
    ax.spines[["top", "right"]].set_visible(False)
    name = _NAMES[surge.section]
    ax.set_title(f"{surge.role} {name}", loc="left", fontsize=NAME, fontweight="bold", pad=4)
    ax.set_title(f"{surge.frequency:.0f} Hz, lift of {surge.valve}", loc="right", fontsize=SMALL, pad=5)
    return ax


def _missing(setup: Setup, result: SpringResult) -> str:
    """Say what of a spring's wire, or else of the engine, the sheet does not give."""
    gaps = [
        key
        for key in ("wire_diameter", "coil_diameter", "active_coils")
        if np.isnan(setup.column("spring", key).value).all()
    ]
    if all(train.spring.material is None and train.spring.shear_modulus is None for train in setup.trains):
        gaps.append("material")
    if gaps:
        return f"[spring] {', '.join(gaps)}"
    if setup.engine.redline is None:
        return "[engine] redline"
    if np.isnan(result.rate.value).all():
        return "the springs' rate"
    return "the lift of the valves: lobe, rocker or lash are missing"


def spring_surge_page(setup: Setup, result: SpringResult, system: str) -> Figure:
    """Draw the surge of every kind of spring; a page that says what is missing where nothing is known."""
    count = max(1, len(result.surge))
    columns = 1 if count == 1 else 2
    rows = -(-count // columns)
    figure = Figure(figsize=(10.5, min(7.8, 1.2 + 3.3 * rows)), layout=ConstrainedLayoutEngine(h_pad=0.08))
    figure.suptitle(f"{setup.title}: spring surge", fontsize=LARGE, fontweight="bold")
    if not result.surge:
        figure.text(
            0.5,
            0.5,
            f"not known: {_missing(setup, result)}",
            ha="center",
            va="center",
            fontsize=BODY,
        )
        return figure
    panels = figure.subplots(rows, columns, squeeze=False).ravel()
    for ax, surge in zip(panels, result.surge.values(), strict=False):
        surge_diagram(surge, ax, system=system)
    for spare in panels[count:]:
        spare.remove()
    figure.supxlabel(
        f"engine speed at which the harmonic meets the spring [{display_unit('rotation', system)}]; "
        "numbers: order, in turns of the cam",
        fontsize=BODY,
    )
    figure.supylabel(f"amplitude of the lift's harmonic [{display_unit('length', system)}]", fontsize=BODY)
    return figure
