"""When a cylinder's valves are open: two bands round one ring that holds the whole cycle of two crank turns.

The whole cycle is one ring, so that the cam's own turn is what is seen: the overlap stands at the top, and
every stroke fills a quarter.
"""

from math import cos, degrees, isnan, pi, sin

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Patch, Wedge

from valvetrain.answers.style import BODY, GRAY, INK, SMALL, new_axes
from valvetrain.questions.events.study import EventsResult

__all__ = ["ring_key", "timing_ring"]

_BANDS = {"intake": (1.0, 0.17, "white", "////"), "exhaust": (0.78, 0.17, "0.75", "")}
_STROKES = ("intake", "compression", "power", "exhaust")
_DEAD = ("TDC", "BDC", "TDC", "BDC")


def timing_ring(events: EventsResult, cylinder: int, ax: Axes | None = None) -> Axes:
    """Draw the ring of one cylinder: a quarter a stroke, clockwise, the overlap's dead center at the top.

    Args:
        events: of `events_study`.
        cylinder: its number.
        ax: where to draw; a new figure's if left out.
    """
    ax = new_axes(ax, (4.5, 4.5))
    ax.set_aspect("equal")
    ax.set_axis_off()
    ax.set(xlim=(-1.5, 1.5), ylim=(-1.22, 1.34))
    for quarter, (stroke, dead) in enumerate(zip(_STROKES, _DEAD, strict=True)):
        turn = quarter * pi / 2
        x, y = sin(turn), cos(turn)
        ax.plot((0.54 * x, 1.05 * x), (0.54 * y, 1.05 * y), color=GRAY, linewidth=0.9, zorder=0)
        side = 1.2 if quarter % 2 else 1.12
        ax.text(side * x, side * y, dead, ha="center", va="center", fontsize=SMALL, fontweight="bold")
        middle = turn + pi / 4
        edge = "left" if sin(middle) > 0 else "right"
        ax.text(1.1 * sin(middle), 1.1 * cos(middle), stroke, ha=edge, va="center", fontsize=SMALL)
    words = []
    for role, (radius, width, face, hatch) in _BANDS.items():
        span = _span(events, cylinder, role)
        if span is None:
            words.append(f"{role} not known")
            continue
        start, end = span
        # Clockwise from the top, half of the crank's angle.
        ax.add_patch(
            Wedge(
                (0, 0),
                radius,
                90 - end / 2,
                90 - start / 2,
                width=width,
                facecolor=face,
                edgecolor=INK,
                hatch=hatch,
                linewidth=1.2,
            )
        )
        words.append(f"{role} {end - start:.0f}°")
        for angle, outward in ((start, -1), (end, 1)):
            _ended(ax, angle, radius, outward, role)
    ax.text(0, 0.08, f"cylinder {cylinder}", ha="center", va="bottom", fontsize=BODY, fontweight="bold")
    ax.text(0, 0.03, "\n".join(words), ha="center", va="top", fontsize=SMALL)
    index = events.cylinders.index(cylinder)
    overlap = float(events.overlap.value[index])
    if not isnan(overlap):
        ax.text(0, 1.27, f"overlap {degrees(overlap):.0f}°", ha="center", va="center", fontsize=BODY)
    return ax


def ring_key() -> list[Artist]:
    """Return the bands of the ring, for the foot of a page."""
    return [
        Patch(facecolor=face, edgecolor=INK, hatch=hatch, label=f"{role} valve open")
        for role, (_, _, face, hatch) in _BANDS.items()
    ]


def _span(events: EventsResult, cylinder: int, role: str) -> tuple[float, float] | None:
    """Opening and closing after the overlap's top dead center [crank deg]; None where not known."""
    for valve, own, opens, closes in zip(
        events.valves, events.roles, events.opens.value, events.closes.value, strict=True
    ):
        number = int("".join(letter for letter in valve.replace("I", " ").replace("E", " ").split()[0]))
        if number != cylinder or own != role or np.isnan(opens) or np.isnan(closes):
            continue
        before, after = degrees(float(opens)), degrees(float(closes))
        return (-before, 180 + after) if role == "intake" else (-180 - before, after)
    return None


def _ended(ax: Axes, angle: float, radius: float, outward: int, role: str) -> None:
    """Write the angle from the nearest dead center at a band's end: B before, A after."""
    from_dead = (angle + 90) % 180 - 90
    text = f"{abs(from_dead):.0f}° {'B' if from_dead < 0 else 'A'}"
    turn = np.radians(angle / 2 + outward * (12.5 if role == "intake" else 16))
    at = radius - 0.085
    ax.text(at * np.sin(turn), at * np.cos(turn), text, ha="center", va="center", fontsize=SMALL)
