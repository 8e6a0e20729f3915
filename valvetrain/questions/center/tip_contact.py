"""The contact on a valve tip from above: the pad's line at opening, half and full lift, and its offset."""

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Polygon

from valvetrain.answers.missing import missing_words
from valvetrain.answers.style import (
    GRAY,
    INK,
    LIFT_LINES,
    in_figures,
    in_units,
    keyed,
    lift_key,
    named,
    new_axes,
    noted,
    one_in_units,
    said_not_measured,
)
from valvetrain.questions.center.study import CenteringResult
from valvetrain.questions.rocker.positions import RockerPositions
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["tip_contact", "tip_contact_key", "tip_contact_reach"]

_NEEDED = (
    "station.offset",
    "rocker.pad_width",
    "valve.stem_diameter",
    "valve.tip_chamfer",
    "shaft.setback",
    "shaft.height",
    "rocker.pad_arm",
    "rocker.pad_radius",
    "valve.stem_height",
    "lobe.lift",
    "lash.lash",
)


def tip_contact(
    setup: Setup,
    rocker: RockerResult,
    centering: CenteringResult,
    positions: RockerPositions,
    valve: str,
    ax: Axes | None = None,
    *,
    system: str,
) -> Axes:
    """Draw one valve's tip from above, to scale: the shaft to the left, the flywheel end up.

    Args:
        setup: the engine.
        rocker, centering, positions: of `rocker_study`, `centering_study`, `rocker_positions_study`.
        valve: its name.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    given = ax is not None
    ax = new_axes(ax, (5.0, 5.0))
    index = setup.valves.index(valve)
    contact = in_units(positions.contact_x[index], "length", system)
    offset = one_in_units(centering.offset_before.value[index], "length", system)
    half_width = 0.5 * one_in_units(setup.column("rocker", "pad_width").value[index], "length", system)
    tip = 0.5 * one_in_units(setup.column("valve", "stem_diameter").value[index], "length", system)
    flat = tip - one_in_units(setup.column("valve", "tip_chamfer").value[index], "length", system)
    if np.isnan([*contact, offset, half_width, tip, flat]).any():
        return said_not_measured(ax, valve, missing_words(setup, index, _NEEDED))
    named(ax, valve)
    noted(ax, _note(rocker, centering, index, system))
    ax.add_patch(Circle((0, 0), tip, fill=False, edgecolor=INK, linewidth=1.6))
    ax.add_patch(Circle((0, 0), flat, fill=False, edgecolor=INK, linewidth=0.9))
    middle = one_in_units(rocker.sweep_middle.value[index], "length", system)
    width = one_in_units(rocker.sweep_width.value[index], "length", system)
    skew = float(np.nan_to_num(setup.column("rocker", "skew").value[index]))
    aslant = half_width * np.sin(skew) * np.array([-1.0, 1.0])
    ends = offset + half_width * np.cos(skew) * np.array([-1.0, 1.0])
    first, last = middle - 0.5 * width + aslant, middle + 0.5 * width + aslant
    corners = [(first[0], ends[0]), (last[0], ends[0]), (last[1], ends[1]), (first[1], ends[1])]
    ax.add_patch(Polygon(corners, **_BAND))
    for x, (name, style, weight) in zip(contact, LIFT_LINES, strict=True):
        ax.plot(x + aslant, ends, color=INK, linestyle=style, linewidth=weight, label=name)
    limit = one_in_units(centering.offset_limit.value[index], "length", system)
    aside = -1.17 * tip
    ax.axhline(0, color=GRAY, linewidth=0.7, linestyle=(0, (12, 3, 2, 3)), zorder=0)
    ax.axvline(0, color=GRAY, linewidth=0.7, linestyle=(0, (12, 3, 2, 3)), zorder=0)
    if not np.isnan(limit):
        ax.plot([aside, aside], [-limit, limit], "_-", color=INK, markersize=9, linewidth=1.0)
    ax.plot(aside, offset, "D", color=INK, markersize=6)
    if centering.moved[index]:
        after = one_in_units(centering.offset_after.value[index], "length", system)
        ax.plot(aside, after, "D", color=INK, markersize=7, markerfacecolor="white")
    reach = tip_contact_reach(setup, centering, system)
    ax.set(xlim=(-reach, reach), ylim=(-reach, reach))
    ax.set_aspect("equal", adjustable="box")
    ax.locator_params(nbins=5)
    if not given:
        unit = display_unit("length", system)
        ax.set_xlabel(f"from the stem axis, away from the shaft [{unit}]")
        ax.set_ylabel(f"along the shaft, toward the flywheel end [{unit}]")
        keyed(ax, tip_contact_key())
    return ax


# A line with a cap at both ends, there and back.
_CAPPED = [(-1, 2), (1, 2), (0, 2), (0, -2), (1, -2), (-1, -2), (0, -2), (0, 2)]

_BAND: dict[str, Any] = {"facecolor": "0.88", "edgecolor": GRAY, "hatch": "//////", "linewidth": 0.0}


def tip_contact_key() -> list[Artist]:
    """Return the lines and marks of the drawing, for the foot of a page."""
    return [
        *lift_key("at opening"),
        Patch(**_BAND, label="swept"),
        Line2D([], [], color=INK, marker="D", linestyle="", markersize=6, label="pad's middle"),
        Line2D(
            [],
            [],
            color=INK,
            marker="D",
            linestyle="",
            markersize=7,
            markerfacecolor="white",
            label="after shims",
        ),
        Line2D([], [], color=INK, marker=_CAPPED, markersize=16, linestyle="", label="offset allowed"),
    ]


def tip_contact_reach(setup: Setup, centering: CenteringResult, system: str) -> float:
    """Half of the side of the square that holds every valve's tip and pad, in the display unit."""
    tip = 0.5 * setup.column("valve", "stem_diameter").value
    pad = np.abs(centering.offset_before.value) + 0.5 * setup.column("rocker", "pad_width").value
    both = np.concatenate([1.34 * tip, 1.05 * pad])
    return one_in_units(float(np.nanmax(both, initial=1e-3)), "length", system)


def _note(rocker: RockerResult, centering: CenteringResult, index: int, system: str) -> str:
    offset = in_figures(centering.offset_before, index, system)
    return f"offset {offset}\nsweep {in_figures(rocker.sweep_width, index, system)}"
