"""Whole pages for the commands: one panel a valve."""

from matplotlib.figure import Figure

from valvetrain.plots.page import on_one_scale, page, saved
from valvetrain.plots.rocker_drawing import rocker_drawing
from valvetrain.plots.spring_load import spring_load, spring_load_key
from valvetrain.plots.tip_contact import tip_contact, tip_contact_key
from valvetrain.plots.valve_lift import valve_lift, valve_lift_key
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown
from valvetrain.studies.centering_study import CenteringResult
from valvetrain.studies.events_study import EventsResult
from valvetrain.studies.lift_path_study import lift_path_study
from valvetrain.studies.rocker_positions_study import rocker_positions_study
from valvetrain.studies.rocker_study import RockerResult
from valvetrain.studies.spring_study import SpringResult

__all__ = ["centering_sheet", "events_sheet", "rocker_sheet", "saved", "spring_sheet"]


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


def spring_sheet(setup: Setup, result: SpringResult, system: str) -> Figure:
    """Draw every spring's load against its height; `system` is "inch" or "metric"."""
    figure, panels = page(
        f"{setup.title}: spring load against height",
        setup.valves,
        across=f"spring height [{display_unit('length', system)}], falling as the valve opens",
        along=f"load [{display_unit('force', system)}]",
        key=spring_load_key(tested=any(train.spring.tests for train in setup.trains)),
    )
    for valve, ax in panels.items():
        spring_load(setup, result, valve, ax, system=system)
    on_one_scale(panels.values(), across=True, along=True)
    return figure


def events_sheet(setup: Setup, result: EventsResult, system: str) -> Figure:
    """Draw every valve's lift with its events marked; `system` is "inch" or "metric"."""
    at = f"events at {shown(result.checking_lift, 'length', system)} at the {result.checked_at}"
    if result.checking_lift == 0:
        at = "lift-off and seating"
    figure, panels = page(
        f"{setup.title}: valve lift, {at}",
        setup.valves,
        across="crank angle after the top dead center of the overlap [deg]",
        along=f"valve lift [{display_unit('length', system)}]",
        key=valve_lift_key(),
    )
    path = lift_path_study(setup)
    for valve, ax in panels.items():
        valve_lift(setup, result, path, valve, ax, system=system)
    on_one_scale(panels.values(), across=False, along=True)
    return figure
