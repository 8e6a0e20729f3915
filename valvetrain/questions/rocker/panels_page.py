"""A page of every rocker over its tip."""

from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.questions.rocker.drawing import rocker_drawing
from valvetrain.questions.rocker.positions import rocker_positions_study
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["rocker_sheet"]


def rocker_sheet(setup: Setup, result: RockerResult, system: str) -> Figure:
    """Draw every rocker over its tip; `system` is "inch" or "metric"."""
    unit = display_unit("length", system)
    figure, panels = page(
        f"{setup.title}: rockers over their valve tips, to scale",
        setup.valves,
        across=f"from the stem axis, away from the shaft [{unit}]; closed is drawn with the lash open",
        along=f"above the closed tip [{unit}]",
        columns=3,
        aspect=0.55,
    )
    positions = rocker_positions_study(setup, result)
    for valve, ax in panels.items():
        rocker_drawing(setup, result, positions, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure
