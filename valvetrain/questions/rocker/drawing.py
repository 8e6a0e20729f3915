"""The rocker drawn to scale over its valve tip: closed, at half and at full lift."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle

from valvetrain.answers.missing import missing_words
from valvetrain.answers.style import (
    GRAY,
    INK,
    LIFT_LINES,
    SMALL,
    in_figures,
    in_units,
    named,
    new_axes,
    noted,
    one_in_units,
    said_not_measured,
)
from valvetrain.questions.rocker.positions import RockerPositions
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["rocker_drawing"]

_NEEDED = (
    "shaft.setback",
    "shaft.height",
    "rocker.pad_arm",
    "rocker.pad_radius",
    "valve.stem_diameter",
    "valve.tip_chamfer",
    "valve.stem_height",
    "lobe.lift",
    "lash.lash",
)

# Half of the pad's arc that is drawn [rad]; the pad's true ends are not measured.
_ARC = 0.45

# Length of the pushrod's top that is drawn, as a part of the upper ball's distance from the stem.
_PUSHROD_PART = 0.25

# Lines that cross at the tip are kept finer than those that stand alone [points].
_WIDEST = 1.7

_PLACES = (
    "shaft_x",
    "shaft_y",
    "tip_y",
    "pad_x",
    "pad_y",
    "socket_x",
    "socket_y",
    "tappet_x",
    "tappet_y",
)


def rocker_drawing(
    setup: Setup,
    result: RockerResult,
    positions: RockerPositions,
    valve: str,
    ax: Axes | None = None,
    *,
    system: str,
) -> Axes:
    """Draw one valve's rocker in its plane, to scale, the valve frame's origin at the closed tip's center.

    The arms are lines between the measured centers, since a rocker's own outline is not measured.

    Args:
        setup: the engine.
        result: of `rocker_study`.
        positions: of `rocker_positions_study`.
        valve: its name.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    given = ax is not None
    ax = new_axes(ax, (7.0, 4.5))
    index = setup.valves.index(valve)
    stem = 0.5 * one_in_units(setup.column("valve", "stem_diameter").value[index], "length", system)
    chamfer = one_in_units(setup.column("valve", "tip_chamfer").value[index], "length", system)
    if np.isnan([*positions.pad_x[index], stem, chamfer]).any():
        return said_not_measured(ax, valve, missing_words(setup, index, _NEEDED))
    at = {name: in_units(getattr(positions, name)[index], "length", system) for name in _PLACES}
    named(ax, valve)
    share = in_figures(result.sweep_share, index, system)
    noted(ax, f"sweep {in_figures(result.sweep_width, index, system)}, {share} of gross lift")
    shaft = (float(at["shaft_x"]), float(at["shaft_y"]))
    radius = one_in_units(setup.column("rocker", "pad_radius").value[index], "length", system)
    # A roller is round; of a pad only the part near the tip is known to be.
    arc = np.pi if setup.trains[index].rocker.tip == "roller" else _ARC
    depth = float(at["tip_y"].min()) - 0.9 * stem
    for moment, (name, style, width) in enumerate(LIFT_LINES):
        line: dict[str, Any] = {"color": INK, "linestyle": style, "linewidth": min(width, _WIDEST)}
        pad_x, pad_y = at["pad_x"][moment], at["pad_y"][moment]
        socket_x, socket_y = at["socket_x"][moment], at["socket_y"][moment]
        ax.plot([socket_x, shaft[0], pad_x], [socket_y, shaft[1], pad_y], label=name, **line)
        # The arc turns with the rocker; it is centered on where the pad touches at half lift.
        turned = positions.pad_angle[index, moment] - positions.pad_angle[index, 1]
        around = turned - np.pi / 2 + np.linspace(-arc, arc, 121)
        ax.plot(pad_x + radius * np.cos(around), pad_y + radius * np.sin(around), **line)
        ax.plot(pad_x, pad_y, "+", color=INK, markersize=7)
        _pushrod_top(ax, socket_x, socket_y, at["tappet_x"][moment], at["tappet_y"][moment], line)
        _tip(ax, float(at["tip_y"][moment]), stem, chamfer, depth if moment == 0 else None, line)
        here = (stem, float(at["tip_y"][moment]) - chamfer)
        ax.annotate(name, here, (5, 0), textcoords="offset points", va="center", fontsize=SMALL)
    diameter = one_in_units(setup.column("shaft", "diameter").value[index], "length", system)
    if np.isnan(diameter):
        ax.plot(*shaft, "o", color=INK, markersize=9, markerfacecolor="white")
    else:
        ax.add_patch(Circle(shaft, 0.5 * diameter, fill=False, edgecolor=INK, linewidth=1.2))
    ax.plot(*shaft, "+", color=INK, markersize=9)
    ax.axvline(0.0, color=GRAY, linewidth=0.7, linestyle=(0, (12, 3, 2, 3)))
    left, right = float(at["pad_x"].min()), float(at["pad_x"].max())
    left = min(shaft[0] - 0.5 * abs(shaft[0]), float(np.nanmin([left, *at["socket_x"]])))
    # Room for the three words beside the tip.
    ax.set_xlim(left - 0.3 * stem, max(right, stem) + 0.3 * (right - left))
    ax.set_ylim(depth, ax.get_ylim()[1])
    ax.set_aspect("equal", adjustable="box")
    ax.locator_params(nbins=6)
    if not given:
        unit = display_unit("length", system)
        ax.set_xlabel(f"from the stem axis, away from the shaft [{unit}]")
        ax.set_ylabel(f"above the closed tip [{unit}]")
    return ax


def _tip(
    ax: Axes, top: float, stem: float, chamfer: float, depth: float | None, line: dict[str, Any]
) -> None:
    """Draw the tip's flat and chamfer, drawn at 45 degrees; down to `depth` the stem's sides as well."""
    flat, edge = stem - chamfer, top - chamfer
    x, y = [-stem, -flat, flat, stem], [edge, top, top, edge]
    if depth is not None:
        x, y = [-stem, *x, stem], [depth, *y, depth]
    ax.plot(x, y, **line)


def _pushrod_top(ax: Axes, x: float, y: float, low_x: float, low_y: float, line: dict[str, Any]) -> None:
    """Draw the upper ball and the top of the pushrod, on its way to the lower ball; nothing if unknown."""
    if np.isnan(x):
        return
    ax.plot(x, y, "o", color=INK, markersize=6, markerfacecolor="white", zorder=3)
    length = np.hypot(low_x - x, low_y - y)
    if not np.isnan(length):
        part = min(1.0, _PUSHROD_PART * abs(x) / length)
        ax.plot([x, x + part * (low_x - x)], [y, y + part * (low_y - y)], **line)
