"""A page of the contact on every valve tip."""

from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.questions.center.study import CenteringResult
from valvetrain.questions.center.tip_contact import tip_contact, tip_contact_key
from valvetrain.questions.rocker.positions import rocker_positions_study
from valvetrain.questions.rocker.study import RockerResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["centering_sheet"]


def centering_sheet(setup: Setup, rocker: RockerResult, centering: CenteringResult, system: str) -> Figure:
    """Draw the contact on every valve tip from above; `system` is "inch" or "metric"."""
    unit = display_unit("length", system)
    figure, panels = page(
        f"{setup.title}: contact on the valve tips, seen from above",
        setup.valves,
        across=f"from the stem axis, away from the shaft [{unit}]",
        along=f"along the shaft, toward the flywheel end [{unit}]",
        key=tip_contact_key(),
    )
    positions = rocker_positions_study(setup, rocker)
    for valve, ax in panels.items():
        tip_contact(setup, rocker, centering, positions, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure
