"""The page of valve control: a row a role, and all limits on one line of speeds."""

from collections.abc import Sequence

from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, GRAY, LARGE, SMALL, new_axes
from valvetrain.questions.control.elastic_result import ElasticResult
from valvetrain.questions.control.loads import RoleLoads
from valvetrain.questions.control.panels import (
    control_key,
    limits_by_speed,
    lobe_force,
    spring_forces,
    valve_motion,
)
from valvetrain.questions.control.study import ControlResult
from valvetrain.setup.setup import Setup

__all__ = ["control_sheet"]


def control_sheet(
    setup: Setup, control: ControlResult, loads: Sequence[RoleLoads], elastic: ElasticResult, system: str
) -> Figure:
    """Draw the weakest valve of each role, and the limits; `system` is "inch" or "metric"."""
    roles = list(dict.fromkeys(setup.roles))
    figure = Figure(figsize=(10.5, 2.6 * len(roles) + 2.9), layout="constrained")
    figure.suptitle(f"{setup.title}: valve control", fontsize=LARGE, fontweight="bold")
    figure.legend(
        handles=control_key(),
        loc="outside lower center",
        ncols=5,
        fontsize=SMALL,
        frameon=False,
        handlelength=3.2,
    )
    grid = figure.add_gridspec(len(roles) + 1, 3, height_ratios=[1.0] * len(roles) + [0.8])
    for row, role in enumerate(roles):
        own = next((each for each in loads if each.role == role), None)
        panels = [figure.add_subplot(grid[row, column]) for column in range(3)]
        valve = f" {own.valve}" if own else ""
        panels[0].set_title(f"{role}{valve}", loc="left", fontsize=BODY, fontweight="bold")
        if own is None:
            for ax in panels:
                new_axes(ax).set(xticks=[], yticks=[])
                ax.spines[:].set(visible=True, linestyle=(0, (2, 4)), color=GRAY)
                ax.text(0.5, 0.7, "not measured", ha="center", fontsize=LARGE, transform=ax.transAxes)
            missing = control.missing[setup.roles.index(role)]
            panels[0].text(
                0.5,
                0.6,
                "\n".join(missing),
                ha="center",
                va="top",
                fontsize=SMALL,
                transform=panels[0].transAxes,
            )
            continue
        spring_forces(own, panels[0], system=system)
        lobe_force(own, panels[1], system=system)
        valve_motion(next(each for each in elastic.roles if each.role == role), panels[2], system=system)
    limits_by_speed(control, elastic, figure.add_subplot(grid[len(roles), :]), system=system)
    return figure
