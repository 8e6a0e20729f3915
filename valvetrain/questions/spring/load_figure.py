"""Load of a valve's spring against its height, with seat, open and coil bind marked."""

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

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
    one_in_units,
    said_not_measured,
)
from valvetrain.questions.spring.inputs import set_solid
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["spring_load", "spring_load_key"]

_WANTED = (0, (1, 2))


def spring_load(
    setup: Setup, result: SpringResult, valve: str, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw one valve's spring as installed: its line from the tallest height known to coil bind.

    Args:
        setup: the engine; gives solid height, tester readings and the load wanted.
        result: of `spring_study`.
        valve: its name.
        ax: where to draw; a new figure's if left out.
        system: "inch" or "metric".
    """
    given = ax is not None
    ax = new_axes(ax)
    index = setup.valves.index(valve)
    # Springs that are on no valve yet are drawn as the plan puts them.
    after = result.judged_as_planned
    heights, seats, opens = (
        (result.installed_height_after, result.seat_load_after, result.open_load_after)
        if after
        else (result.installed_height, result.seat_load, result.open_load)
    )
    height, seat, full = (float(each.value[index]) for each in (heights, seats, opens))
    if np.isnan([height, seat]).any():
        return said_not_measured(ax, valve, _missing(setup, result, index))
    inputs = {key: column.value[index] for key, column in result.inputs.items()}
    solid = float(set_solid(inputs, result.curves))
    open_height = height - float(inputs["net lift"])
    tests = setup.trains[index].spring.tests
    if after:
        names = {each.spring: each for each in setup.tested_springs[index]}
        tests = names.get(result.spring_after[index])
    tested = np.array([] if tests is None else [each.value for each in tests.heights])
    known = np.array([height, open_height, solid, *tested])
    ends = np.linspace(np.nanmax(known), np.nanmin(known), 2 if result.curves.straight else 60)
    loads = result.curves.of_valve(inputs, index, ends)
    line_x, line_y = in_units(ends, "length", system), in_units(loads, "force", system)
    ax.plot(line_x, line_y, "-", color=INK, linewidth=1.6, label="line")
    if tests is not None:
        read = np.array([each.value for each in tests.loads])
        at = in_units(tested, "length", system), in_units(read, "force", system)
        ax.plot(*at, "x", color=INK, markersize=7, label="tested")
    x, y = one_in_units(height, "length", system), one_in_units(seat, "force", system)
    ax.plot(x, y, "o", color=INK, markersize=9, label="seat")
    _labeled(ax, x, y, f"seat {in_figures(seats, index, system)}", below=True)
    if not np.isnan(full):
        x, y = one_in_units(open_height, "length", system), one_in_units(full, "force", system)
        ax.plot(x, y, "s", color=INK, markersize=9, label="open")
        _labeled(ax, x, y, f"open {in_figures(opens, index, system)}")
    target = one_in_units(float(setup.column("spring", "seat_load_target").value[index]), "force", system)
    if not np.isnan(target):
        ax.axhline(target, color=GRAY, linestyle=_WANTED, linewidth=1.2, label="seat wanted", zorder=1)
    span = float(line_x[0] - line_x[-1])
    if not np.isnan(solid):
        bind = one_in_units(solid, "length", system)
        ax.axvspan(bind - span, bind, fc="white", ec=INK, hatch="///", lw=1.2, label="coil bind")
    ax.set_ylim(0.0, 1.22 * float(line_y.max()))
    # Falling heights to the right: the way the spring goes as the valve opens.
    ax.set_xlim(float(line_x[0]) + 0.06 * span, float(line_x[-1]) - 0.12 * span)
    named(ax, valve)
    noted(ax, _note(result, index, system, bool(np.isnan(solid))))
    if not given:
        ax.set_xlabel(f"spring height [{display_unit('length', system)}]")
        ax.set_ylabel(f"load [{display_unit('force', system)}]")
        keyed(ax, spring_load_key(tested=tests is not None))
    return ax


def spring_load_key(*, tested: bool) -> list[Artist]:
    """Return the lines and marks of the plot, for the foot of a page; the tester's where there was one."""
    tester = Line2D([], [], color=INK, marker="x", markersize=7, linestyle="", label="spring tester")
    return [
        Line2D([], [], color=INK, marker="o", markersize=9, linestyle="", label="seat"),
        Line2D([], [], color=INK, marker="s", markersize=9, linestyle="", label="open"),
        *([tester] if tested else []),
        Line2D([], [], color=GRAY, linestyle=_WANTED, linewidth=1.2, label="seat load wanted"),
        Patch(facecolor="white", edgecolor=INK, hatch="///", label="coil bind"),
    ]


def _labeled(ax: Axes, x: float, y: float, text: str, *, below: bool = False) -> None:
    """Write beside a mark, clear of the line that rises to the right."""
    away, side = ((7, -14), "left") if below else ((-5, 7), "right")
    ax.annotate(text, (x, y), away, textcoords="offset points", ha=side, fontsize=SMALL)


def _missing(setup: Setup, result: SpringResult, index: int) -> list[str]:
    words = missing_words(setup, index, ("spring.installed_height",))
    if np.isnan(result.rate.value[index]):
        words.append("rate or spring tests")
    elif setup.trains[index].spring.tests is None:
        words += missing_words(setup, index, ("spring.free_length",))
    return words


def _note(result: SpringResult, index: int, system: str, no_solid: bool) -> str:
    room = result.bind_clearance_after if result.judged_as_planned else result.bind_clearance
    clearance = room.value[index]
    if no_solid:
        bind = "solid height not measured"
    elif np.isnan(clearance):
        bind = "lift not measured"
    else:
        bind = f"to coil bind {in_figures(room, index, system)}"
    shims = result.shims[index]
    if not shims:
        return bind
    # Several are told by their sum: one by one they would run into the valve's name.
    number = f"{len(shims)} " if len(shims) > 1 else ""
    return f"{bind}\n{number}shims to fit {shown(sum(shims), 'length', system)}"
