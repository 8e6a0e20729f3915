"""The rockers along the shaft as tables; asked by itself, contact, growth and the shaft's plan as well."""

from collections.abc import Iterator

from valvetrain.answers.table import Block, columns, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.center.plan_tables import build_plan, changes
from valvetrain.questions.center.recheck_tables import recheck_tables
from valvetrain.questions.center.study import CenteringResult
from valvetrain.setup.units import display_unit

__all__ = ["center_details", "center_tables"]


def center_tables(result: CenteringResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say where every rocker sits along the shaft, and where the plan brings it."""
    recheck = getattr(result, "recheck", None)
    if recheck is not None:
        yield from recheck_tables(recheck, system)
    unit = display_unit("length", system)
    yield valve_table(
        f"Centering along the shaft: lengths in {unit}, offset positive toward the flywheel end",
        result.valves,
        columns(
            result,
            "offset_before",
            "offset_limit",
            "contact_share",
            "end_clearance_before",
            "offset_after",
            "end_clearance",
        ),
        system,
        verdicts_of(checks, result.valves),
    )


def center_details(
    result: CenteringResult, checks: list[Check], system: str, *, plan: bool = False, contact: bool = False
) -> Iterator[Block]:
    """Say where the load stands on each tip (`contact`), the growth, and the plan (`plan`: in order)."""
    unit = display_unit("length", system)
    if contact:
        yield valve_table(
            f"Contact on the tips over the lift, seen from above: lengths in {unit}",
            result.valves,
            columns(result, "edge_distance", "area_on_tip", "load_eccentricity", "turning_arm"),
            system,
        )
    if result.growth is not None:
        yield valve_table(
            f"Cold to hot along the shaft: lengths in {unit}",
            result.valves,
            columns(result.growth, "offset_growth", "clearance_growth", "end_clearance_hot"),
            system,
        )
    if result.shafts is not None:
        if plan:
            yield from build_plan(result, system)
        yield from changes(result.shafts, system)
