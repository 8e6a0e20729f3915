"""Forces in each role's weakest train, without the sweep of speeds: a page that is drawn at once."""

from collections.abc import Sequence

from matplotlib.figure import Figure

from valvetrain.answers.style import BODY, LARGE, SMALL
from valvetrain.questions.control.loads import RoleLoads
from valvetrain.questions.control.panels import control_key, lobe_force, spring_forces
from valvetrain.setup.setup import Setup

__all__ = ["control_loads_sheet"]


def control_loads_sheet(setup: Setup, loads: Sequence[RoleLoads], system: str) -> Figure | None:
    """Draw spring force and lobe force of the weakest valve of each role; None where none is measured."""
    if not loads:
        return None
    figure = Figure(figsize=(10.5, 3.0 * len(loads) + 0.6), layout="constrained")
    figure.suptitle(
        f"{setup.title}: forces in the weakest train of each role",
        fontsize=LARGE,
        fontweight="bold",
        parse_math=False,
    )
    key = control_key()
    figure.legend(
        handles=key,
        loc="outside lower center",
        ncols=len(key),
        fontsize=SMALL,
        frameon=False,
        handlelength=3.2,
    )
    for own, (left, right) in zip(loads, figure.subplots(len(loads), 2, squeeze=False), strict=True):
        spring_forces(own, left, system=system)
        lobe_force(own, right, system=system)
        left.set_title(f"{own.role} {own.valve}", loc="left", fontsize=BODY, fontweight="bold")
    return figure
