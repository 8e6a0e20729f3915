"""Verdicts on the springs."""

from valvetrain.checks.verdict import Check, judged
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown
from valvetrain.studies.spring_study import SpringResult

__all__ = ["spring_checks"]

_LOAD = ("spring.installed_height",)


def spring_checks(setup: Setup, result: SpringResult, system: str) -> list[Check]:
    """Judge loads, bind clearance, retainer clearance and evenness of the installed heights."""
    cure = tuple(_cure(result, index, system) for index in range(len(setup.valves)))
    checks: list[Check] = []
    for limit, quantity, needs in (
        ("seat_load", result.seat_load, _LOAD),
        ("open_load", result.open_load, _LOAD),
        ("bind_clearance", result.bind_clearance, (*_LOAD, "spring.solid_height")),
        ("retainer_clearance", result.retainer_clearance, ("spring.retainer_to_seal",)),
        ("installed_height_deviation", result.installed_height_deviation, _LOAD),
    ):
        checks += judged(
            setup,
            limit,
            quantity,
            needs=needs,
            cure=cure if limit != "retainer_clearance" else None,
            system=system,
        )
    return checks


def _cure(result: SpringResult, index: int, system: str) -> str:
    """Say which shims put the spring right, or why none does."""
    reason = result.shim_reason[index]
    if reason:
        return f"No shim helps: {reason}"
    before, after = result.installed_height.value[index], result.installed_height_after.value[index]
    if before == after:
        return ""
    shims = " + ".join(shown(each, "length", system) for each in result.shims[index]) or "none"
    seat = shown(float(result.seat_load_after.value[index]), "force", system)
    bind = shown(float(result.bind_clearance_after.value[index]), "length", system)
    return f"Spring shims: {shims}; gives {seat} on the seat and {bind} to coil bind. Check coil bind again."
