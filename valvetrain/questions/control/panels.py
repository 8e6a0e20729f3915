"""Panels of valve control: spring forces over lift, lobe force over crank angle, limits, valve motion."""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from valvetrain.answers.style import GRAY, INK, SMALL, new_axes, noted
from valvetrain.mechanics.arrays import FloatArray
from valvetrain.questions.control.elastic_result import LIMITS, ElasticResult, ElasticRole
from valvetrain.questions.control.loads import HALF, LIMIT, REDLINE, SLOW, RoleLoads
from valvetrain.questions.control.study import ControlResult
from valvetrain.setup.units import display_unit, from_si, shown

__all__ = ["control_key", "limits_by_speed", "lobe_force", "spring_forces", "valve_motion"]

Dashes = Literal["-", "--", ":"] | tuple[float, Sequence[float]]

_LINES: dict[str, tuple[Dashes, float]] = {
    SLOW: (":", 1.8),
    HALF: ("--", 1.2),
    REDLINE: ("-", 1.4),
    LIMIT: ((0, (6, 1, 1, 1)), 2.2),
}
_SPRING = 3.2


def control_key() -> list[Line2D]:
    """Return the key's lines: the spring, and the four speeds."""
    return [
        Line2D([], [], color=INK, linewidth=_SPRING, label="what the spring gives"),
        *(
            Line2D([], [], color=INK, linestyle=style, linewidth=width, label=name)
            for name, (style, width) in _LINES.items()
        ),
    ]


def spring_forces(loads: RoleLoads, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the spring's force over valve lift against what holds the train at each speed.

    Args:
        loads: of one valve.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    ax = new_axes(ax)
    opened = loads.curves.valve_lift > 0
    lift = _shown(loads.curves.valve_lift[opened], "length", system)
    order = np.argsort(lift)
    spring = _shown(loads.spring[opened], "force", system)
    ax.plot(lift[order], spring[order], color=INK, linewidth=_SPRING)
    for index, speed in enumerate(loads.crank_speed):
        if speed == 0:
            continue
        need = np.where(loads.required[index][opened] > 0, loads.required[index][opened], np.nan)
        style, width = _LINES[loads.named[index]]
        wanted = _shown(need, "force", system)
        top = int(np.argmax(lift))
        # Both sides drawn from full lift down, so that the dashes of like sides fall on each other.
        for side in (slice(top, None, -1), slice(top, None)):
            ax.plot(lift[side], wanted[side], linestyle=style, linewidth=width, color=INK)
    ax.set_xlabel(f"valve lift [{display_unit('length', system)}]", fontsize=SMALL)
    ax.set_ylabel(f"spring force [{display_unit('force', system)}]", fontsize=SMALL)
    ax.set_xlim(left=0.0)
    ax.set_ylim(bottom=0.0)
    return ax


def lobe_force(loads: RoleLoads, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the force of lobe on tappet over crank angle at each speed; below zero the train would part."""
    ax = new_axes(ax)
    if LIMIT in loads.named:
        limit = float(loads.crank_speed[loads.named.index(LIMIT)])
        noted(ax, f"rigid limit {shown(limit, 'rotation', system)}")
    angle = np.degrees(2.0 * loads.angle)
    opened = loads.curves.valve_lift > 0
    ends = angle[opened][[0, -1]]
    for index in range(len(loads.crank_speed)):
        style, width = _LINES[loads.named[index]]
        force = _shown(loads.loads.lobe[index], "force", system)
        ax.plot(angle, force, linestyle=style, linewidth=width, color=INK)
    ax.axhline(0.0, color=GRAY, linewidth=0.8)
    ax.set_xlim(ends[0] - 15.0, ends[1] + 15.0)
    ax.set_xlabel("crank angle from full lift [deg]", fontsize=SMALL)
    ax.set_ylabel(f"lobe on tappet [{display_unit('force', system)}]", fontsize=SMALL)
    return ax


def valve_motion(role: ElasticRole, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the elastic valve's lift near its lowest limit beside the rigid one."""
    ax = new_axes(ax)
    motion = role.motion
    if motion is None:
        ax.set(xticks=[], yticks=[])
        ax.spines[:].set_visible(True)
        ax.spines[:].set(linestyle=(0, (2, 4)), color=GRAY)
        ax.text(0.5, 0.5, "elastic motion\nnot known", ha="center", va="center", transform=ax.transAxes)
        return ax
    angle = np.degrees(2.0 * motion.angle)
    opened = angle[motion.rigid_lift > 0]
    ax.plot(
        angle,
        _shown(motion.rigid_lift, "length", system),
        "--",
        color=INK,
        linewidth=1.2,
        label="rigid",
    )
    ax.plot(
        angle,
        _shown(motion.valve_lift, "length", system),
        "-",
        color=INK,
        linewidth=1.6,
        label="elastic",
    )
    ax.set_xlim(opened[0] - 20.0, opened[-1] + 60.0)
    ax.set_xlabel("crank angle from full lift [deg]", fontsize=SMALL)
    ax.set_ylabel(f"valve lift [{display_unit('length', system)}]", fontsize=SMALL)
    ax.plot(
        angle,
        10.0 * _shown(motion.valve_lift - motion.rigid_lift, "length", system),
        ":",
        color=INK,
        linewidth=1.6,
        label="their difference, 10 times",
    )
    low, high = ax.get_ylim()
    ax.set_ylim(low - 0.45 * (high - low), high)
    ax.legend(fontsize=SMALL - 1, frameon=False, loc="lower center", handlelength=2.6, labelspacing=0.2)
    noted(ax, f"elastic at {shown(motion.crank_speed, 'rotation', system)}")
    return ax


def limits_by_speed(
    control: ControlResult, elastic: ElasticResult, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw every limit on a line of engine speeds, with its expanded uncertainty, and the redline.

    An open arrow says only on which side of it the limit lies.
    """
    ax = new_axes(ax)
    names = ["rigid train leaves the lobe", *LIMITS.values()]
    roles = list(dict.fromkeys(control.roles))
    places = []
    for number, role in enumerate(roles):
        offset = 0.32 * (number - (len(roles) - 1) / 2)
        mark = ("o", "s", "^", "D")[number % 4]
        at = control.weakest(role)
        rows: list[tuple[float, float, str]] = []
        if at is not None and np.isfinite(control.limit_speed.value[at]):
            speed, doubt = control.limit_speed.value[at], control.limit_speed.uncertainty[at]
            rows.append((float(speed), float(doubt), ""))
        else:
            rows.append((np.nan, np.nan, ""))
        own = next(each for each in elastic.roles if each.role == role)
        for key in LIMITS:
            limit = own.limits.get(key)
            rows.append(
                (np.nan, np.nan, "") if limit is None else (limit.speed, limit.uncertainty, limit.bound)
            )
        for line, (speed, doubt, bound) in enumerate(rows):
            place = float(from_si(speed, "rotation", system))
            reach = 2.0 * float(from_si(doubt, "rotation", system)) if np.isfinite(doubt) else 0.0
            if np.isfinite(place):
                places += [place - reach, place + reach]
            if not bound:
                ax.errorbar(
                    place,
                    line + offset,
                    xerr=reach,
                    fmt=mark,
                    color=INK,
                    markersize=6,
                    capsize=3,
                    linewidth=1.0,
                )
            else:
                arrow = ">" if bound == "above" else "<"
                ax.plot(place, line + offset, arrow, color=INK, markerfacecolor="white", markersize=8)
        ax.plot([], [], mark, color=INK, label=f"{role} {own.valve}")
    if np.isfinite(control.redline):
        redline = float(from_si(control.redline, "rotation", system))
        places.append(redline)
        ax.axvline(redline, color=INK, linestyle="--", linewidth=1.4, label="redline")
    ax.set_yticks(range(len(names)), names, fontsize=SMALL)
    ax.set_ylim(len(names) - 0.4, -0.6)
    if places:
        room = max(0.08 * (max(places) - min(places)), 0.05 * max(places))
        ax.set_xlim(max(0.0, min(places) - room), max(places) + room)
    ax.set_xlabel(
        f"engine speed [{display_unit('rotation', system)}]; bars: expanded uncertainty (k = 2); open arrow: "
        "a bound, the limit lies beyond it",
        fontsize=SMALL,
    )
    ax.legend(fontsize=SMALL, frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return ax


def _shown(values: FloatArray, dimension: str, system: str) -> FloatArray:
    return np.asarray(from_si(values, dimension, system))
