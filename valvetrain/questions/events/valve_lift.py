"""Valve lift against crank angle, at zero lash and at the lash set, with opening and closing marked."""

from dataclasses import replace
from math import degrees, isnan
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from valvetrain.answers.missing import missing_words
from valvetrain.answers.style import (
    GRAY,
    INK,
    SMALL,
    in_figures,
    in_units,
    keyed,
    named,
    new_axes,
    noted,
    said_not_measured,
)
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.events.lift_path import LiftPathResult
from valvetrain.questions.events.study import EventsResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["event_angles", "valve_lift", "valve_lift_key"]

_NEEDED = ("lash.lash", "lobe.lift", "valve.stem_height")

_MARK: dict[str, Any] = {"color": INK, "markersize": 9}


def valve_lift(
    setup: Setup,
    events: EventsResult,
    path: LiftPathResult,
    valve: str,
    ax: Axes | None = None,
    *,
    system: str,
) -> Axes:
    """Draw one valve's lift about its lobe's center; crank angle from the top dead center of the overlap.

    Args:
        setup: the engine.
        events: of `events_study`, at any checking lift.
        path: of `lift_path_study`.
        valve: its name.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    given = ax is not None
    ax = new_axes(ax, (7.0, 4.5))
    index = setup.valves.index(valve)
    crank = np.degrees(path.crank_angle[index])
    zero = in_units(path.lift_at_zero_lash[index], "length", system)
    net = in_units(path.lift_at_set_lash[index], "length", system)
    if np.isnan([*crank, *net]).any():
        return said_not_measured(ax, valve, _missing(setup, path, index))
    ax.plot(crank, zero, "--", color=INK, linewidth=1.2, label="at zero lash")
    ax.plot(crank, net, "-", color=INK, linewidth=1.8, label="at the lash set")
    top = float(zero.max())
    moving = crank[zero > 0.002 * top]
    ax.set(xlim=(float(moving[0]) - 12, float(moving[-1]) + 12), ylim=(0, 1.2 * top))
    _dead_centers(ax)
    _events(ax, events, index, crank, net)
    named(ax, valve)
    duration = in_figures(events.duration, index, system)
    noted(ax, f"lash {in_figures(events.lash, index, system)}\nduration {duration}")
    if not given:
        ax.set_xlabel("crank angle after the top dead center of the overlap [deg]")
        ax.set_ylabel(f"valve lift [{display_unit('length', system)}]")
        keyed(ax, valve_lift_key())
    return ax


def valve_lift_key() -> list[Artist]:
    """Return the lines and marks of the plot, for the foot of a page."""
    return [
        Line2D([], [], color=INK, linestyle="--", linewidth=1.2, label="at zero lash"),
        Line2D([], [], color=INK, linestyle="-", linewidth=1.8, label="at the lash set"),
        Line2D([], [], marker="^", linestyle="", label="opens", **_MARK),
        Line2D([], [], marker="v", linestyle="", label="closes", **_MARK),
        Line2D([], [], color=GRAY, linewidth=0.9, label="dead center (B before, A after)"),
    ]


def event_angles(events: EventsResult, index: int) -> tuple[float, float]:
    """Return a valve's opening and closing in crank degrees after the top dead center of the overlap."""
    opens, closes = degrees(events.opens.value[index]), degrees(events.closes.value[index])
    if events.roles[index] == "intake":
        return -opens, 180 + closes
    return -180 - opens, closes


def _events(ax: Axes, events: EventsResult, index: int, crank: FloatArray, net: FloatArray) -> None:
    """Mark opening and closing on the curve of the lash set, and write their angles as the trade counts."""
    intake = events.roles[index] == "intake"
    words = []
    for name, mark, sign, at, counted, before, center in zip(
        ("opens", "closes"),
        "^v",
        "\u25b2\u25bc",
        event_angles(events, index),
        (events.opens, events.closes),
        (True, False),
        ("TDC", "BDC") if intake else ("BDC", "TDC"),
        strict=True,
    ):
        if isnan(at):
            words.append(f"{sign} not\nknown")
            continue
        ax.plot(at, np.interp(at, crank, net), mark, clip_on=False, label=name, zorder=4, **_MARK)
        # A negative angle lies on the other side of the dead center.
        side = "B" if before == (counted.value[index] >= 0) else "A"
        size = in_figures(replace(counted, value=np.abs(counted.value)), index, "metric")
        words.append(f"{sign} {size.removesuffix(' deg')}°\n{side}{center}")
    inside: dict[str, Any] = {"ha": "center", "va": "bottom", "fontsize": SMALL, "linespacing": 1.15}
    # Between the flanks, where no curve runs.
    ax.text(0.5 * (crank[0] + crank[-1]), 0.08 * float(net.max()), "\n".join(words), **inside)


def _dead_centers(ax: Axes) -> None:
    """Draw the dead centers within the plot, named at the top."""
    low, high = ax.get_xlim()
    for angle in range(-540, 541, 180):
        if low < angle < high:
            ax.axvline(angle, color=GRAY, linewidth=0.9, zorder=0)
            ax.annotate(
                "TDC" if angle % 360 == 0 else "BDC",
                (angle, 1.0),
                (2, -1),
                xycoords=ax.get_xaxis_transform(),
                textcoords="offset points",
                va="top",
                fontsize=SMALL,
            )


def _missing(setup: Setup, path: LiftPathResult, index: int) -> list[str]:
    words = missing_words(setup, index, _NEEDED)
    if np.isnan(path.tappet_lift[index]).any():
        words.append("lift curve of the lobe")
    elif np.isnan(path.lift_at_zero_lash[index]).any():
        words.append("rocker's ratio or linkage")
    if np.isnan(path.crank_angle[index]).any():
        words.append("centerline of the lobe")
    return words
