"""The look of every plot: black on white, told apart by line and mark, read at arm's length and in print."""

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from valvetrain.answers.quantity import Quantity
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.setup.units import from_si, shown

__all__ = [
    "BODY",
    "GRAY",
    "INK",
    "LARGE",
    "LIFT_LINES",
    "NAME",
    "SMALL",
    "in_figures",
    "in_units",
    "keyed",
    "lift_key",
    "named",
    "new_axes",
    "noted",
    "one_in_units",
    "said_not_measured",
]

INK = "black"
GRAY = "0.45"
"""For what stands behind the message; never the only thing that tells two lines apart."""

SMALL, BODY, LARGE, NAME = 9.0, 10.5, 15.0, 16.0
"""Sizes of letters [points]."""

LIFT_LINES: tuple[tuple[str, Literal["-", "--", ":"], float], ...] = (
    ("closed", "-", 1.2),
    ("half lift", "--", 1.2),
    ("full lift", ":", 2.6),
)
"""Moment, line style and width of the three positions; the dots are wide enough to show on a line."""


def new_axes(ax: Axes | None = None, size: tuple[float, float] = (6.0, 4.5)) -> Axes:
    """Return the caller's axes, or those of a new figure of that size [inch]; never a shown one."""
    if ax is None:
        ax = Figure(figsize=size, layout="constrained").subplots()
    ax.tick_params(labelsize=SMALL)
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def named(ax: Axes, valve: str) -> None:
    """Write the valve's name, large, at the upper left above the axes."""
    ax.set_title(valve, loc="left", fontsize=NAME, fontweight="bold", pad=4)


def noted(ax: Axes, text: str) -> None:
    """Write the panel's figures on the line of its name, at the right."""
    ax.set_title(text, loc="right", fontsize=SMALL, pad=5, linespacing=1.1)


def said_not_measured(ax: Axes, valve: str, missing: Sequence[str] = ()) -> Axes:
    """Say in words that a valve was not measured, and what is missing; nothing is drawn in its place.

    Where nothing is missing the measured parts cannot meet, and the panel says that.
    """
    named(ax, valve)
    ax.set_aspect("auto")
    ax.set(xticks=[], yticks=[], xlabel="", ylabel="")
    ax.spines[:].set_visible(True)
    ax.spines[:].set(linestyle=(0, (2, 4)), color=GRAY)
    ax.text(
        0.5,
        0.92 if missing else 0.5,
        "not measured" if missing else "parts as measured\ncannot meet",
        ha="center",
        va="top" if missing else "center",
        fontsize=LARGE,
        transform=ax.transAxes,
    )
    if missing:
        ax.text(
            0.5, 0.68, "\n".join(missing[:5]), ha="center", va="top", fontsize=SMALL, transform=ax.transAxes
        )
    return ax


def in_figures(quantity: Quantity, index: int, system: str) -> str:
    """Write one valve's quantity with its unit and the digits that its uncertainty deserves."""
    doubt = float(quantity.uncertainty[index])
    return shown(float(quantity.value[index]), quantity.dimension, system, doubt)


def in_units(value: FloatArray, dimension: str, system: str) -> FloatArray:
    """Return SI values in the unit in which `system` shows that dimension."""
    return np.asarray(from_si(value, dimension, system))


def one_in_units(value: float, dimension: str, system: str) -> float:
    """Return one SI value in the unit in which `system` shows that dimension."""
    return float(from_si(value, dimension, system))


def keyed(ax: Axes, key: Sequence[Artist]) -> None:
    """Explain lines and marks at the foot of the figure of axes that stand alone."""
    handles: Any = list(key)
    ax.figure.legend(handles=handles, loc="outside lower center", ncols=4, fontsize=SMALL, frameon=False)


def lift_key(first: str = "closed") -> list[Line2D]:
    """Return the key's lines for the three positions; `first` names the earliest of them."""
    return [
        Line2D([], [], color=INK, linestyle=style, linewidth=width, label=first if index == 0 else name)
        for index, (name, style, width) in enumerate(LIFT_LINES)
    ]
