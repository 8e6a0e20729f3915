"""The pictures of `events`: lift curves, events against lash, timing ring."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from valvetrain.answers.page import page
from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, new_axes
from valvetrain.questions.events.answer import EventsAnswer
from valvetrain.questions.events.lash_sweep import EventsSweep
from valvetrain.questions.events.lift_path import LiftPathResult, lift_path_study
from valvetrain.questions.events.panels_page import events_sheet
from valvetrain.questions.events.timing_ring import ring_key, timing_ring
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si, shown

__all__ = ["duration_against_lash", "events_figure", "lash_sheet", "lift_at_lashes", "ring_sheet"]

_STYLES: tuple[tuple[str, float], ...] = (
    ("-", 1.8),
    ("--", 1.4),
    (":", 2.2),
    ("-.", 1.4),
    ((0, (8, 2)), 1.2),
)  # type: ignore[assignment]
_MARKS = {"intake": "o", "exhaust": "s"}


def events_figure(setup: Setup, answer: EventsAnswer, system: str) -> Figure:
    """Draw the picture that was asked for; `system` is "inch" or "metric"."""
    if answer.picture == "ring":
        return ring_sheet(setup, answer)
    if answer.picture == "lash" and answer.sweep is not None:
        return lash_sheet(setup, answer.sweep, system)
    return events_sheet(setup, answer, system)


def ring_sheet(setup: Setup, answer: EventsAnswer) -> Figure:
    """Draw a timing ring for every cylinder."""
    names = [f"cylinder {number}" for number in answer.cylinders]
    figure, panels = page(
        f"{setup.title}: when the valves are open, over two turns of the crank",
        names,
        across="clockwise with the crank; the overlap is at the top",
        along="",
        key=ring_key(),
        columns=3,
    )
    for number, ax in zip(answer.cylinders, panels.values(), strict=True):
        timing_ring(answer, number, ax)
    return figure


def lash_sheet(setup: Setup, sweep: EventsSweep, system: str) -> Figure:
    """Draw lift at several lashes above, duration and overlap against lash below."""
    figure = Figure(figsize=(10.5, 7.8), layout="constrained")
    figure.suptitle(f"{setup.title}: what the lash does to the valves", fontsize=LARGE, fontweight="bold")
    upper, lower = figure.subplots(2, 2)
    path = lift_path_study(setup)
    for role, ax in zip(("intake", "exhaust"), upper, strict=True):
        index = sweep.roles.index(role) if role in sweep.roles else -1
        if index >= 0:
            lift_at_lashes(path, sweep, index, ax, system=system)
    duration_against_lash(sweep, lower[0], system=system)
    overlap_against_lash(sweep, lower[1], system=system)
    return figure


def lift_at_lashes(
    path: LiftPathResult, sweep: EventsSweep, index: int, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw one valve's lift at up to five of the lashes, with lift-off and seating marked on each.

    Args:
        path: of `lift_path_study`; its lift at zero lash less each lash is drawn.
        sweep: of `events_sweep_study`, lift-off at the valve among its checks.
        index: of the valve.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    ax = new_axes(ax)
    crank = np.degrees(path.crank_angle[index])
    if np.isnan(crank).any():
        crank = np.degrees(2 * path.cam_angle)
    drop = path.lift_at_zero_lash[index]
    chosen = np.unique(np.linspace(0, sweep.lashes.size - 1, min(5, sweep.lashes.size)).round().astype(int))
    check = sweep.checks.index((0.0, "valve")) if (0.0, "valve") in sweep.checks else 0
    role = sweep.roles[index]
    for (style, width), at in zip(_STYLES, chosen, strict=False):
        lash = float(sweep.lashes[at])
        lift = np.maximum(drop - lash, 0.0)
        label = f"lash {shown(lash, 'length', system)}"
        if sweep.changed:
            # The set lash is what the path has already lost of its lift at none.
            own = float(np.nanmax(drop) - np.nanmax(path.lift_at_set_lash[index]))
            lift = np.maximum(drop - max(own + lash, 0.0), 0.0)
            label = f"lash {from_si(lash, 'length', system, difference=True):+.4g}"
        ax.plot(
            crank, from_si(lift, "length", system), linestyle=style, linewidth=width, color=INK, label=label
        )
        opens = np.degrees(sweep.values["opens"][at, check, index])
        closes = np.degrees(sweep.values["closes"][at, check, index])
        ends = (-opens, 180 + closes) if role == "intake" else (-180 - opens, closes)
        ax.plot(ends, (0, 0), "|", color=INK, markersize=10, markeredgewidth=1.3, clip_on=False)
    moving = crank[drop > 0.004 * np.nanmax(drop)]
    if moving.size:
        ax.set_xlim(moving[0] - 5, moving[-1] + 5)
    ax.set_ylim(0, None)
    low, high = ax.get_xlim()
    for dead in range(-540, 541, 180):
        if low < dead < high:
            ax.axvline(dead, color=GRAY, linewidth=0.9, zorder=0)
            ax.annotate("TDC" if dead % 360 == 0 else "BDC", (dead, 1.0), (2, -10), fontsize=SMALL,
                        xycoords=ax.get_xaxis_transform(), textcoords="offset points")  # fmt: skip
    ax.set_title(f"{sweep.valves[index]}, ticks: lift-off and seating", fontsize=BODY, loc="left")
    ax.set_xlabel("crank angle after the overlap's TDC [deg]", fontsize=BODY)
    ax.set_ylabel(f"valve lift [{display_unit('length', system)}]", fontsize=BODY)
    ax.legend(fontsize=SMALL, frameon=False, loc="lower center")
    return ax


def duration_against_lash(sweep: EventsSweep, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the duration of each role's middle valve against lash, at every checking lift at the valve."""
    ax = new_axes(ax)
    lash = np.asarray(from_si(sweep.lashes, "length", system, difference=True))
    checks = [number for number, (_, at) in enumerate(sweep.checks) if at == "valve"]
    for role, mark in _MARKS.items():
        own = np.array([each == role for each in sweep.roles])
        if not own.any():
            continue
        for (style, width), check in zip(_STYLES, checks, strict=False):
            middle = _middle(sweep.values["duration"][:, check][:, own])
            doubt = 2 * _middle(sweep.uncertainties["duration"][:, check][:, own])
            lift = sweep.checks[check][0]
            at = "lift-off" if lift == 0 else f"at {shown(lift, 'length', system)}"
            ax.plot(lash, np.degrees(middle), marker=mark, markersize=4, color=INK, linestyle=style,
                    linewidth=width, label=f"{role}, {at}", markerfacecolor="white")  # fmt: skip
            ax.fill_between(
                lash, np.degrees(middle - doubt), np.degrees(middle + doubt), color="0.85", zorder=0
            )
    _against_lash(ax, "duration [crank deg], band: k = 2", _what(sweep), system)
    return ax


def overlap_against_lash(sweep: EventsSweep, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the overlap of the middle cylinder against lash, at every checking lift at the valve."""
    ax = new_axes(ax)
    lash = np.asarray(from_si(sweep.lashes, "length", system, difference=True))
    checks = [number for number, (_, at) in enumerate(sweep.checks) if at == "valve"]
    for (style, width), check in zip(_STYLES, checks, strict=False):
        lift = sweep.checks[check][0]
        label = "lift-off" if lift == 0 else f"at {shown(lift, 'length', system)}"
        middle = _middle(sweep.values["overlap"][:, check])
        doubt = 2 * _middle(sweep.uncertainties["overlap"][:, check])
        ax.plot(lash, np.degrees(middle), color=INK, linestyle=style, linewidth=width, label=label)
        ax.fill_between(lash, np.degrees(middle - doubt), np.degrees(middle + doubt), color="0.85", zorder=0)
    ax.axhline(0, color=GRAY, linewidth=0.9)
    _against_lash(ax, "overlap [crank deg], band: k = 2", _what(sweep), system)
    return ax


def _what(sweep: EventsSweep) -> str:
    return "change of each valve's lash" if sweep.changed else "lash"


def _against_lash(ax: Axes, along: str, what: str, system: str) -> None:
    ax.set_xlabel(f"{what} [{display_unit('length', system)}]", fontsize=BODY)
    ax.set_ylabel(along, fontsize=BODY)
    handles, _ = ax.get_legend_handles_labels()
    if len(handles) > 1 or isinstance(handles[0] if handles else None, Line2D):
        ax.legend(fontsize=SMALL, frameon=False)


def _middle(values: Sequence[Sequence[float]] | np.ndarray) -> np.ndarray:
    """Median over the valves that are known; NaN where none is."""
    array = np.asarray(values, float)
    out = np.full(array.shape[0], np.nan)
    known = ~np.isnan(array).all(axis=1)
    out[known] = np.nanmedian(array[known], axis=1)
    return out
