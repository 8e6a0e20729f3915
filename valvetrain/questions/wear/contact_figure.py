"""Stress, film, entrainment and relative wear over the lobe, and the contact's path on each tappet's face."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, named, new_axes, said_not_measured
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.wear.study import WearResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import from_si, written_unit

__all__ = ["QUANTITIES", "contact_sheet", "face_path", "over_lobe"]

QUANTITIES = {
    "stress": ("pressure", "stress"),
    "film": ("roughness", "least film"),
    "entrainment": ("speed", "entrainment"),
    "wear": ("ratio", "relative wear"),
}
"""What is drawn over the lobe: its dimension and its words."""

_LINES = (("-", 0.8), ("--", 1.2), (":", 1.8), ("-.", 1.4), ("-", 2.2))


def over_lobe(result: WearResult, valve: str, what: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw one of `QUANTITIES` over the cam angle of one valve's lobe, a line a speed.

    Args:
        result: of `wear_study`.
        valve: its name.
        what: a key of `QUANTITIES`.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    ax = new_axes(ax)
    index = result.valves.index(valve)
    dimension, _ = QUANTITIES[what]
    angle = np.degrees(result.motion.angle)
    values = _values(result, what)[index]
    lifted = result.motion.curves.tappet_lift[index] > 0
    for number, speed in enumerate(result.rpm):
        row = np.where(lifted, np.asarray(from_si(values[number], dimension, system)), np.nan)
        style, width = _LINES[number % len(_LINES)]
        ax.plot(angle, row, linestyle=style, color=INK, linewidth=width, label=f"{speed:.0f} rpm")
    if lifted.any():
        ax.set_xlim(float(angle[lifted].min()), float(angle[lifted].max()))
    if what == "entrainment":
        ax.axhline(0.0, color=GRAY, linewidth=0.8)
    else:
        ax.set_ylim(bottom=0.0)
    return ax


def face_path(setup: Setup, result: WearResult, valve: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the contact's path on one tappet's face, its rim and the lobe's two edges."""
    ax = new_axes(ax)
    index = result.valves.index(valve)
    path = result.lobe.path
    face = setup.column("tappet", "face_diameter").value[index]
    width = setup.column("lobe", "width").value[index]
    if np.isnan(face) or np.isnan(path.across[index]).all() or not result.lobe.across_known[index]:
        return said_not_measured(ax, valve, ["taper, crown", "or face"])
    offset = float(np.nan_to_num(setup.column("contact", "bore_offset").value[index]))

    def length(value: FloatArray | float) -> FloatArray:
        return np.asarray(from_si(value, "length", system))

    radius = float(length(0.5 * face))
    ax.add_patch(Circle((0.0, 0.0), radius, facecolor="white", edgecolor=INK, linewidth=1.6))
    for edge in (offset - 0.5 * width, offset + 0.5 * width):
        ax.axhline(float(length(edge)), color=GRAY, linestyle=(0, (4, 2)), linewidth=1.0)
    slow = int(np.flatnonzero(result.motion.static)[-1])
    half = np.nan_to_num(result.lobe.touch.half_length[index, slow])
    pressed = result.motion.lobe[index, slow] > 0
    x, z = length(path.across[index]), length(path.along[index])
    ax.fill_between(
        *_in_order(x[pressed], (z - length(half))[pressed], (z + length(half))[pressed]),
        facecolor="0.8",
        edgecolor="none",
    )
    ax.plot(x[pressed], z[pressed], "-", color=INK, linewidth=1.6, label="contact")
    ax.plot(0.0, 0.0, "+", color=INK, markersize=8)
    ax.set_aspect("equal")
    ax.set(xlim=(-1.15 * radius, 1.15 * radius), ylim=(-1.15 * radius, 1.15 * radius), xticks=[], yticks=[])
    ax.spines[:].set_visible(False)
    named(ax, valve)
    return ax


def _in_order(x: FloatArray, low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the band the contact covers, outermost at each of some steps across the face."""
    if not x.size:
        return x, low, high
    edges = np.linspace(x.min(), x.max(), 60)
    place = np.clip(np.digitize(x, edges) - 1, 0, 58)
    bottom, top = np.full(59, np.inf), np.full(59, -np.inf)
    np.minimum.at(bottom, place, low)
    np.maximum.at(top, place, high)
    known = np.isfinite(bottom)
    return 0.5 * (edges[:-1] + edges[1:])[known], bottom[known], top[known]


def contact_sheet(setup: Setup, result: WearResult, system: str) -> Figure:
    """Draw the most stressed lobe of each role at every speed, and all paths; "inch" or "metric"."""
    figure = Figure(figsize=(10.5, 11.0), layout="constrained")
    halves: Any = figure.subfigures(2, 1, height_ratios=(1.75, 1.0))
    upper, lower = halves
    shown_valves = _most_stressed(result)
    panels = upper.subplots(len(QUANTITIES), len(shown_valves), sharex="col", sharey="row", squeeze=False)
    for column, valve in enumerate(shown_valves):
        for row, (what, (dimension, words)) in enumerate(QUANTITIES.items()):
            ax = over_lobe(result, valve, what, panels[row][column], system=system)
            if column == 0:
                unit = written_unit(dimension, system)
                ax.set_ylabel(f"{words} [{unit}]" if unit else words, fontsize=SMALL)
            if not ax.lines or all(np.isnan(line.get_ydata()).all() for line in ax.lines[: len(result.rpm)]):
                ax.text(0.5, 0.5, "not known", ha="center", transform=ax.transAxes, fontsize=BODY)
        role = result.roles[result.valves.index(valve)]
        panels[0][column].set_title(f"{valve}, {role}", loc="left", fontsize=LARGE, fontweight="bold")
        panels[-1][column].set_xlabel("cam angle from the lobe center [deg]", fontsize=BODY)
    figure.suptitle(f"{setup.title}: lobe on tappet", fontsize=LARGE, fontweight="bold")
    handles, labels = panels[0][0].get_legend_handles_labels()
    upper.legend(
        handles, labels, loc="outside lower center", ncols=len(labels), fontsize=BODY, frameon=False,
        handlelength=3.0, title="most stressed lobe of each role; to idle with the spring's load alone",
        title_fontsize=BODY,
    )  # fmt: skip
    columns = min(6, len(result.valves))
    rows = -(-len(result.valves) // columns)
    faces = lower.subplots(rows, columns, squeeze=False).ravel()
    for spare in faces[len(result.valves) :]:
        spare.remove()
    for valve, ax in zip(result.valves, faces, strict=False):
        face_path(setup, result, valve, ax, system=system)
    lower.supxlabel(
        "Contact on the tappets' faces: line its middle, gray what it covers, dashed the lobe's edges, up is "
        "toward the flywheel end,\nright is the side that the lobe comes from while opening",
        fontsize=SMALL,
    )
    return figure


def _values(result: WearResult, what: str) -> FloatArray:
    return {
        "stress": result.lobe.touch.pressure,
        "film": result.lobe.film,
        "entrainment": result.lobe.entrainment,
        "wear": result.lobe.wear,
    }[what]


def _most_stressed(result: WearResult) -> list[str]:
    """Return the valve of each role whose lobe carries the greatest stress."""
    chosen = []
    stress = np.nan_to_num(result.peak_stress.value, nan=-1.0)
    for role in dict.fromkeys(result.roles):
        own = [index for index, each in enumerate(result.roles) if each == role]
        chosen.append(result.valves[max(own, key=lambda index: stress[index])])
    return chosen
