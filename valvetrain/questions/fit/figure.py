"""A fit on one page: readings and curve, what is left over, the posterior against its limits, the budget."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.budget_bars import budget_bars
from valvetrain.answers.budget_shares import worst_place
from valvetrain.answers.style import BODY, GRAY, INK, LARGE, SMALL, in_units, new_axes, one_in_units
from valvetrain.mechanics.fit.model import ReadingModel
from valvetrain.questions.fit.groups import JointFit
from valvetrain.questions.fit.outputs import fit_draws
from valvetrain.questions.fit.study import FitResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["fit_sheet", "ink_bands", "lift_readings", "lift_residuals", "posterior"]

_MARKS = ("o", "s", "^", "D", "v", "P", "X", "<", ">", "p", "h", "*")
_LIFTS = ("net_lift", "gross_lift")


def fit_sheet(setup: Setup, result: FitResult, system: str) -> Figure:
    """Draw the page; `system` is "inch" or "metric"."""
    figure = Figure(figsize=(10.5, 9.6), layout="constrained")
    panels = figure.subplots(3, 3)
    lift_readings(setup, result, panels[0, 0], system=system)
    lift_residuals(setup, result, panels[0, 1], system=system)
    ink_bands(setup, result, panels[0, 2], system=system)
    posterior(setup, result, "sweep_share", panels[1, 0], system=system)
    posterior(setup, result, "sweep_middle", panels[1, 1], system=system)
    posterior(setup, result, "stand_shim_change_for_least_sweep", panels[1, 2], system=system)
    for ax, name, title in (
        (panels[2, 0], "sweep_share", "sweep width"),
        (panels[2, 1], "sweep_middle", "sweep middle"),
        (panels[2, 2], "stand_shim_change_for_least_sweep", "stand shim"),
    ):
        quantity = getattr(result, name)
        place = worst_place(quantity)
        if place is None:
            ax.remove()
            continue
        budget_bars(quantity, place, title, ax, system=system, least=0.02)
        ax.set_xlabel("share of the variance [%], first answer", fontsize=SMALL)
    figure.suptitle(
        f"{setup.title}: the rocker inferred from {result.readings} readings",
        fontsize=LARGE,
        fontweight="bold",
        parse_math=False,
    )
    return figure


def _dial(joint: JointFit) -> np.ndarray:
    """Indices of the lift readings."""
    return np.flatnonzero(np.isin(np.array(joint.gathered.readings.kind), _LIFTS))


def lift_readings(setup: Setup, result: FitResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the dial readings over tappet lift with the fitted curves; readings set aside are crossed out."""
    ax = new_axes(ax)
    unit = display_unit("length", system)
    readings, fit = result.joint.gathered.readings, result.joint.fit
    at, rows = readings.tappet_lift(), _dial(result.joint)
    for mark, place in zip(_MARKS, np.unique(readings.valve[rows]), strict=False):
        own = rows[readings.valve[rows] == place]
        order = own[np.argsort(at[own])]
        ax.plot(
            in_units(at[order], "length", system),
            in_units(fit.predicted[order], "length", system),
            color=INK,
            linewidth=0.9,
        )
        ax.plot(
            in_units(at[own], "length", system),
            in_units(readings.value[own], "length", system),
            mark,
            color=INK,
            markerfacecolor="white",
            markersize=5,
            label=setup.valves[int(place)],
        )
    aside = rows[~fit.used[rows]]
    ax.plot(
        in_units(at[aside], "length", system),
        in_units(readings.value[aside], "length", system),
        "x",
        color=INK,
        markersize=11,
        markeredgewidth=2,
        label="set aside" if aside.size else None,
    )
    _headed(ax, "Dial readings and the fit", f"tappet lift [{unit}]", f"valve lift [{unit}]")
    if ax.lines:
        ax.legend(fontsize=SMALL, frameon=False)
    return ax


def lift_residuals(setup: Setup, result: FitResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw reading less fit over tappet lift, in thousandths of an inch or hundredths of a millimeter."""
    ax = new_axes(ax)
    unit = display_unit("length", system)
    factor, small = (1000.0, "0.001 in") if system == "inch" else (100.0, "0.01 mm")
    beyond = []
    readings, fit = result.joint.gathered.readings, result.joint.fit
    at, rows = readings.tappet_lift(), _dial(result.joint)
    used = rows[fit.used[rows]]
    beyond += [setup.valves[int(readings.valve[row])] for row in rows if not fit.used[row]]
    for mark, place in zip(_MARKS, np.unique(readings.valve[rows]), strict=False):
        own = used[readings.valve[used] == place]
        ax.errorbar(
            in_units(at[own], "length", system),
            factor * np.asarray(in_units(fit.residual[own], "length", system)),
            yerr=factor * np.asarray(in_units(2 * readings.uncertainty[own], "length", system)),
            fmt=mark,
            color=INK,
            markerfacecolor="white",
            markersize=5,
            elinewidth=0.7,
            capsize=2,
        )
    ax.axhline(0.0, color=INK, linewidth=0.9)
    _headed(ax, "Reading less fit (bars: k = 2)", f"tappet lift [{unit}]", f"difference [{small}]")
    if beyond:
        ax.margins(y=0.12)
        ax.text(
            0.02, 0.01, f"set aside, not shown: {', '.join(beyond)}", transform=ax.transAxes, fontsize=SMALL
        )
    return ax


def ink_bands(setup: Setup, result: FitResult, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the edges of the ink marks as read, and the fitted contact's ends with the ink's reach."""
    ax = new_axes(ax)
    unit = display_unit("length", system)
    names: list[str] = []
    readings, fit = result.joint.gathered.readings, result.joint.fit
    predicted = ReadingModel(readings, fit.layout).predicted(fit.mean[np.newaxis])[0]
    for row, kind in enumerate(readings.kind):
        if kind not in ("near_edge", "far_edge", "closed_mark"):
            continue
        index = int(readings.valve[row])
        ax.plot(
            index,
            one_in_units(float(readings.value[row]), "length", system),
            "*" if kind == "closed_mark" else ("^" if kind == "near_edge" else "v"),
            color=INK,
            markerfacecolor="white" if fit.used[row] else INK,
            markersize=9 if kind == "closed_mark" else 5,
        )
        level = one_in_units(float(predicted[row]), "length", system)
        ax.plot([index - 0.4, index + 0.4], [level, level], color=GRAY, linewidth=2)
        names.append(kind)
    ax.axhline(0.0, color=INK, linewidth=0.8, linestyle=(0, (8, 3, 1, 3)))
    ax.set_xticks(range(len(setup.valves)), setup.valves, rotation=90, fontsize=SMALL)
    title = "Ink: read (marks), fitted (bars)"
    _headed(ax, title if names else "Ink: none read", "valve", f"from the stem axis [{unit}]")
    return ax


def posterior(setup: Setup, result: FitResult, name: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw the posterior of one quantity at its least sure valve, with what the limits allow."""
    ax = new_axes(ax)
    quantity = getattr(result, name)
    place = worst_place(quantity)
    if place is None:
        return ax
    own = fit_draws(setup, result.joint.fit).outputs[name][:, place]
    shown = np.asarray(in_units(own[np.isfinite(own)], quantity.dimension, system))
    ax.hist(shown, bins=60, histtype="stepfilled", facecolor="0.85", edgecolor=INK, linewidth=1.0)
    valve = setup.valves[place]
    train = setup.trains[place].valve
    titles = {
        "sweep_share": f"Sweep width, share of lift, {valve}",
        "sweep_middle": f"Sweep middle, {valve}",
        "stand_shim_change_for_least_sweep": f"Stand shim to add, {valve}",
    }
    limits: list[float] = []
    if name == "sweep_share":
        limits = [setup.limits["sweep_width"].high]
    elif name == "sweep_middle" and train.stem_diameter is not None and train.tip_chamfer is not None:
        # The pattern's own half width must still fit between middle and chamfer.
        half = 0.5 * float(result.sweep_width.value[place])
        room = 0.5 * train.stem_diameter.value - train.tip_chamfer.value - half
        limits = [-room, room]
    for limit in limits:
        ax.axvline(one_in_units(limit, quantity.dimension, system), color=INK, linewidth=2, linestyle="--")
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    _headed(
        ax,
        titles.get(name, name),
        f"[{display_unit(quantity.dimension, system)}]" + ", dashed: limit" * bool(limits),
        "",
    )
    return ax


def _headed(ax: Axes, title: str, across: str, along: str) -> None:
    ax.set_title(title, loc="left", fontsize=BODY, fontweight="bold")
    ax.set_xlabel(across, fontsize=SMALL)
    ax.set_ylabel(along, fontsize=SMALL)
