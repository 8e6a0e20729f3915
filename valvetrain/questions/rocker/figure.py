"""Figures of the rocker: linkage to scale, ratio curve, contact path, sweep and lift against stand shim."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.answers.style import GRAY, INK, SMALL, in_units, named, new_axes, noted, said_not_measured
from valvetrain.questions.rocker.path import RockerPath, rocker_path
from valvetrain.questions.rocker.stand_shim_curve import ShimCurve, shim_curve
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["contact_path", "ratio_curve", "rocker_figure", "shim_effect_curve"]


def rocker_figure(setup: Setup, result: RockerResult, system: str, draw: str) -> Figure:
    """Draw every valve: "linkage", "ratio", "contact" or "shims"; `system` is "inch" or "metric"."""
    if draw == "linkage":
        from valvetrain.questions.rocker.panels_page import rocker_sheet

        return rocker_sheet(setup, result, system)
    unit = display_unit("length", system)
    path = rocker_path(result)
    lift = f"valve lift [{unit}]"
    if draw == "ratio":
        figure, panels = page(
            f"{setup.title}: rocker ratio through the lift",
            setup.valves,
            across=lift,
            along="ratio, pad drop per tappet rise; dashed: nominal",
        )
        for valve, ax in panels.items():
            ratio_curve(setup, path, valve, ax, system=system)
    elif draw == "contact":
        figure, panels = page(
            f"{setup.title}: contact on the tip through the lift",
            setup.valves,
            across=f"contact from the stem axis [{unit}], away from the shaft; the band is the tip's flat",
            along=lift,
        )
        for valve, ax in panels.items():
            contact_path(result, path, valve, ax, system=system)
    else:
        curve = shim_curve(setup, result)
        figure, panels = page(
            f"{setup.title}: what a stand shim does (solid: sweep; dashed: lift gained; o: shims in stock)",
            setup.valves,
            across=f"change of stand shim [{unit}]",
            along=f"sweep width, and gross lift gained [{unit}]",
        )
        for valve, ax in panels.items():
            shim_effect_curve(curve, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure


def ratio_curve(setup: Setup, path: RockerPath, valve: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw one valve's ratio against its lift, with the nominal ratio for comparison."""
    ax = new_axes(ax)
    index = setup.valves.index(valve)
    ratio = path.ratio[index]
    if np.isnan(ratio).any():
        return said_not_measured(ax, valve, ("the pushrod's side, or the lift",))
    named(ax, valve)
    ax.plot(in_units(path.valve_lift[index], "length", system), ratio, color=INK, linewidth=1.8)
    nominal = float(setup.column("rocker", "nominal_ratio").value[index])
    if not np.isnan(nominal):
        ax.axhline(nominal, color=INK, linewidth=1.0, linestyle="--")
    noted(ax, f"{ratio[0]:.3f} opening, {ratio[-1]:.3f} full")
    return ax


def contact_path(
    result: RockerResult, path: RockerPath, valve: str, ax: Axes | None = None, *, system: str
) -> Axes:
    """Draw where one valve's pad touches its tip, instant by instant, against the tip's flat."""
    ax = new_axes(ax)
    index = result.valves.index(valve)
    contact, flat = path.contact[index], float(result.side.tip_radius[index])
    if np.isnan(contact).any() or np.isnan(flat):
        return said_not_measured(ax, valve, ("shaft, arm, stem or lift",))
    named(ax, valve)
    edge = float(in_units(np.asarray(flat), "length", system))
    ax.axvspan(-edge, edge, facecolor="0.92", edgecolor=INK, linewidth=0.8)
    ax.axvline(0.0, color=GRAY, linewidth=0.8, linestyle=(0, (12, 3, 2, 3)))
    x = in_units(contact, "length", system)
    y = in_units(path.valve_lift[index], "length", system)
    ax.plot(x, y, color=INK, linewidth=2.2)
    for at, mark in ((0, "o"), (-1, "s")):
        ax.plot(x[at], y[at], mark, color=INK, markersize=6, markerfacecolor="white")
    least = float(np.min(path.chamfer_distance[index]))
    noted(ax, f"least to chamfer {shown(least, 'length', system)}")
    return ax


def shim_effect_curve(curve: ShimCurve, valve: str, ax: Axes | None = None, *, system: str) -> Axes:
    """Draw one valve's sweep and lift gained against the stand shim, the shims in stock marked."""
    ax = new_axes(ax)
    index = curve.valves.index(valve)
    width, gain = curve.sweep_width[:, index], curve.lift_gain[:, index]
    if np.isnan(width).all():
        return said_not_measured(ax, valve, ("shaft, arm or lift",))
    named(ax, valve)
    shim = in_units(curve.change, "length", system)
    ax.plot(shim, in_units(width, "length", system), color=INK, linewidth=1.8)
    ax.plot(shim, in_units(gain, "length", system), color=INK, linewidth=1.4, linestyle="--")
    stock = in_units(curve.in_stock, "length", system)
    for values, style in ((curve.stock_sweep_width, "o"), (curve.stock_lift_gain, "o")):
        at = in_units(values[:, index], "length", system)
        ax.plot(stock, at, style, color=INK, markersize=4.5, markerfacecolor="white", linestyle="none")
    ax.axvline(0.0, color=GRAY, linewidth=0.8, linestyle=":")
    ax.axhline(0.0, color=GRAY, linewidth=0.6)
    best = int(np.nanargmin(width))
    noted(ax, f"least at {shown(float(curve.change[best]), 'length', system)}")
    ax.tick_params(labelsize=SMALL)
    return ax
