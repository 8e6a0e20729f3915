"""A page of every valve's lift with its events marked."""

from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.questions.events.lift_path import lift_path_study
from valvetrain.questions.events.study import EventsResult
from valvetrain.questions.events.valve_lift import valve_lift, valve_lift_key
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, shown

__all__ = ["events_sheet"]


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
