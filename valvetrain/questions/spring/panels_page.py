"""A page of every spring's load against its height."""

from matplotlib.figure import Figure

from valvetrain.answers.page import on_one_scale, page
from valvetrain.questions.spring.load_figure import spring_load, spring_load_key
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit

__all__ = ["spring_sheet"]


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
