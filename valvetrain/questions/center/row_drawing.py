"""A rocker shaft from above, to scale: stands, rockers, shims, spacers, springs, stems under the pads."""

from collections.abc import Collection
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Rectangle

from valvetrain.answers.style import BODY, GRAY, INK, SMALL, in_units, new_axes, one_in_units
from valvetrain.mechanics.row.shaft import Rocker, Shim, Spacer, Spring, Stand, placed
from valvetrain.parts.row import ShaftRow
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["shaft_row", "shaft_row_key"]

_STAND: dict[str, Any] = {"facecolor": "0.75", "edgecolor": INK, "linewidth": 1.0}
_SPACER: dict[str, Any] = {"facecolor": "white", "edgecolor": INK, "linewidth": 0.8, "hatch": "......"}
_HUB: dict[str, Any] = {"facecolor": "white", "edgecolor": INK, "linewidth": 1.0}
_SHIM: dict[str, Any] = {"facecolor": INK, "edgecolor": INK, "linewidth": 0.6}
_NEW: dict[str, Any] = {"facecolor": "white", "edgecolor": INK, "linewidth": 1.2, "hatch": "xxxxxx"}


def shaft_row(
    setup: Setup,
    row: ShaftRow,
    ax: Axes | None = None,
    *,
    system: str,
    unknown: Collection[str] = (),
    marked: Collection[tuple[int, float]] = (),
) -> Axes:
    """Draw a shaft from above, the front to the left, the valves below the shaft.

    Args:
        setup: the engine.
        row: the shaft as it stands, or will.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
        unknown: valves whose offset was not measured: their stems are not drawn.
        marked: shims to show as changed: (number of walls and rockers ahead of it, thickness [m]).
    """
    given = ax is not None
    ax = new_axes(ax, (10.5, 2.6))
    size = _sizes(setup, system)
    sit = {rocker.valve: rocker for rocker in placed(row.parts).rockers}
    at, ahead, left = 0.0, 0, list(marked)
    ends = [p.position for p in row.parts if isinstance(p, Stand)]
    start, end = (one_in_units(each, "length", system) for each in (ends[0], ends[-1]))
    margin = 0.6 * size["hub"]
    ax.add_patch(
        Rectangle((start - margin, -0.5 * size["shaft"]), end - start + 2 * margin, size["shaft"],
                  facecolor="white", edgecolor=GRAY, linewidth=0.8, zorder=1)
    )  # fmt: skip
    play = 0.0
    for part, kind in zip(row.parts, row.kinds, strict=True):
        if isinstance(part, Stand):
            low = part.position - 0.5 * part.width
            at, ahead = part.position + 0.5 * part.width, ahead + 1
            is_stand = "stand" in kind
            _block(ax, low, part.width, size["hub"] * (1.0 if is_stand else 0.8), _STAND, system)
            if is_stand:
                middle = one_in_units(part.position, "length", system)
                label = kind.split()[-1]  # the shaft's name is in the title
                ax.text(middle, 0.0, label, ha="center", va="center", fontsize=SMALL, zorder=6)
            play = 0.0
        elif isinstance(part, Rocker):
            at, ahead = sit[part.valve].front_face, ahead + 1
            _rocker(ax, part, at, size, system, known=part.valve not in unknown)
            at += part.hub_width
        elif isinstance(part, Shim):
            look = _SHIM
            if (ahead, part.thickness) in left:
                left.remove((ahead, part.thickness))
                look = _NEW
            _block(ax, at + play, part.thickness, size["hub"] * (1.15 if look is _NEW else 0.9), look, system)
            at += part.thickness
        elif isinstance(part, Spacer):
            _block(ax, at, part.width, 0.75 * size["hub"], _SPACER, system)
            at += part.width
        else:
            assert isinstance(part, Spring)
            length = _length_of(part, row, sit, ahead)
            _coil(ax, at, length, 0.7 * size["hub"], system)
            at += length
    ax.set_xlim(start - margin, end + margin)
    ax.set_ylim(size["reach"] + 1.9 * size["pad"], -0.75 * size["hub"])
    ax.set_aspect("equal")
    ax.spines["left"].set_visible(False)
    ax.set_yticks([])
    if not given:
        ax.set_xlabel(f"along the shaft, from the first wall [{display_unit('length', system)}]")
    return ax


def shaft_row_key() -> list[Any]:
    """Return the drawing's parts for the foot of a page."""
    return [
        Patch(**_STAND, label="stand, collar"),
        Patch(**_HUB, label="rocker"),
        Patch(**_SHIM, label="shim"),
        Patch(**_NEW, label="shim changed"),
        Patch(**_SPACER, label="spacer"),
        Line2D([], [], color=INK, linewidth=1.0, linestyle=(0, (6, 2, 1, 2)), label="stem's middle"),
        Line2D([], [], color=INK, linewidth=1.6, label="pad's middle"),
    ]


def _sizes(setup: Setup, system: str) -> dict[str, float]:
    """Sizes of the drawing where the sheet gives them, and in keeping with the rest where it does not."""

    def middle(section: str, key: str, otherwise: float) -> float:
        values = setup.column(section, key).value
        known = values[~np.isnan(values)]
        return one_in_units(float(np.median(known)) if known.size else otherwise, "length", system)

    shaft = middle("shaft", "diameter", 0.02)
    return {
        "shaft": shaft,
        "hub": 1.5 * shaft,
        "reach": middle("shaft", "setback", 0.03),
        "pad": middle("valve", "stem_diameter", 0.008),
        "pad_width": middle("rocker", "pad_width", 0.008),
    }


def _block(ax: Axes, low: float, width: float, height: float, look: dict[str, Any], system: str) -> None:
    """Draw a part square on the shaft."""
    x, w = (one_in_units(each, "length", system) for each in (low, width))
    ax.add_patch(Rectangle((x, -0.5 * height), w, height, zorder=3, **look))


def _rocker(ax: Axes, part: Rocker, face: float, size: dict[str, float], system: str, *, known: bool) -> None:
    """Draw hub, arm and pad, and the stem under it."""
    low, width, pad, stem = in_units(
        np.array([face, part.hub_width, face + part.pad_position, part.stem]), "length", system
    )
    ax.add_patch(Rectangle((low, -0.5 * size["hub"]), width, size["hub"], zorder=3, **_HUB))
    half, reach = 0.5 * size["pad_width"], size["reach"]
    ax.add_patch(
        Rectangle((pad - half, 0.5 * size["hub"]), 2 * half, reach - 0.5 * size["hub"] + 0.2 * size["pad"],
                  zorder=2, **_HUB)
    )  # fmt: skip
    ax.text(low + 0.5 * width, 0.0, part.valve, ha="center", va="center", fontsize=BODY, fontweight="bold",
            zorder=6)  # fmt: skip
    if not known:
        ax.text(pad, reach + 0.85 * size["pad"], "?", ha="center", va="top", fontsize=BODY, zorder=6)
        return
    ax.add_patch(Circle((stem, reach), 0.5 * size["pad"], facecolor="0.9", edgecolor=INK, zorder=4))
    across = [reach - 0.75 * size["pad"], reach + 0.75 * size["pad"]]
    ax.plot([stem, stem], across, color=INK, linewidth=1.0, linestyle=(0, (6, 2, 1, 2)), zorder=5)
    away = f"{pad - stem:+.3f}" if system == "inch" else f"{pad - stem:+.2f}"
    ax.text(stem, reach + 0.85 * size["pad"], away, ha="center", va="top", fontsize=SMALL, zorder=6)
    ax.plot([pad, pad], [reach - 0.5 * size["pad"], reach + 0.5 * size["pad"]], color=INK, linewidth=1.6,
            zorder=5)  # fmt: skip


def _length_of(spring: Spring, row: ShaftRow, sit: dict[str, Any], ahead: int) -> float:
    """Length of a spring where it stands [m]: that of the bay's springs, which are all alike."""
    marks = [part for part in row.parts if isinstance(part, Stand | Rocker)]
    near = [
        part for part in (marks[ahead - 1], marks[min(ahead, len(marks) - 1)]) if isinstance(part, Rocker)
    ]
    lengths = sit[near[0].valve].spring_lengths if near else ()
    return float(lengths[0]) if lengths else spring.free_length


def _coil(ax: Axes, low: float, length: float, height: float, system: str) -> None:
    """Draw a spring as a zigzag."""
    x = in_units(low + length * np.linspace(0, 1, 9), "length", system)
    y = 0.5 * height * np.array([-1, 1] * 4 + [-1])
    ax.plot(x, y, color=INK, linewidth=1.0, zorder=3)
