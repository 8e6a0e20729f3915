"""Verdicts on the springs."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check, decided, judged
from valvetrain.questions.spring.study import SpringResult
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.questions.spring.stress import SpringStressResult

__all__ = ["SHIMMED", "planned_verdicts", "spring_checks"]

SHIMMED = ("seat_load", "open_load", "bind_clearance", "installed_height_deviation")
"""Limits on what shims change."""
_LOAD = ("spring.installed_height",)
_WIRE = ("wire_diameter", "coil_diameter", "active_coils")


def spring_checks(setup: Setup, result: SpringResult, system: str) -> list[Check]:
    """Judge loads, clearances, evenness, and where the sheet has the data stress, surge and break-in.

    Springs that no valve names yet are judged as the plan puts them.
    """
    cure = ("",) * len(setup.valves)
    if any(each.planned for each in result.plan.valves):
        from valvetrain.questions.spring.advice import cure_sentence

        cure = tuple(cure_sentence(setup, result, index, system) for index in range(len(setup.valves)))
    after = "_after" if result.judged_as_planned else ""
    checks: list[Check] = []
    for limit, needs in (
        ("seat_load", _LOAD),
        ("open_load", _LOAD),
        ("bind_clearance", (*_LOAD, "spring.solid_height")),
        ("retainer_clearance", ("spring.retainer_to_seal",)),
        ("guide_clearance", ("spring.retainer_to_guide",)),
        ("installed_height_deviation", _LOAD),
    ):
        planned = after if limit in SHIMMED else ""
        quantity: Quantity = getattr(result, f"{limit}{planned}")
        if limit == "guide_clearance" and np.isnan(quantity.value).all():
            continue  # nothing of it is in the sheet: the seal is nearer than the guide
        own = cure if limit.endswith("load") or limit == "bind_clearance" else None
        if limit == "installed_height_deviation":
            from valvetrain.questions.spring.advice import height_sentence

            own = tuple(
                each or height_sentence(setup, result, index, system) for index, each in enumerate(cure)
            )
        checks += judged(setup, limit, quantity, needs=needs, cure=own, system=system)
    for each in result.stress.values():
        checks += _wire_checks(setup, each, system)
    break_in = result.break_in
    if break_in is not None and np.isfinite(break_in.speed):
        checks += judged(
            setup,
            "break_in_margin",
            break_in.break_in_margin,
            needs=(*_LOAD, "valve.mass", "masses.tappet_mass"),
            cure=("Break in at a lower speed, or leave the inner springs in.",) * len(setup.valves),
            system=system,
        )
    return checks


def planned_verdicts(checks: list[Check], result: SpringResult) -> list[str]:
    """Return the worst verdict of each valve on loads, bind and height with springs and shims as planned.

    `checks` are those of `spring_checks`, for their limits.
    """
    limits = {check.id: (check.low, check.high) for check in checks}
    worst: list[str] = []
    for index in range(len(result.valves)):
        own = set()
        for limit in SHIMMED:
            (low, high), quantity = limits[limit], getattr(result, f"{limit}_after")
            doubt = float(np.nan_to_num(quantity.uncertainty[index]))
            own.add(decided(float(quantity.value[index]), doubt, low, high, quantity.ends(index)))
        worst.append(next(each for each in ("out", "unmeasured", "unsure", "ok") if each in own))
    return worst


def _wire_checks(setup: Setup, result: "SpringStressResult", system: str) -> list[Check]:
    """Judge fatigue, set and surge of one spring of the set."""
    section = result.section
    wire = tuple(f"{section}.{key}" for key in _WIRE)
    name = section.replace("_", " ")
    each = (
        ("goodman_safety", wire[:2], f"The {name} works at too high a stress: less lift, a lower load or a "
         "spring of more or better wire."),
        ("solid_stress", (*wire[:2], f"{section}.solid_height"), f"Do not press the {name} solid: it would "
         "take a set."),
        ("surge_order", wire, f"The {name} surges at the redline: a stiffer, lighter spring, a damper, or a "
         "lower redline."),
    )  # fmt: skip
    checks: list[Check] = []
    for limit, needs, cure in each:
        quantity = getattr(result, limit)
        if np.isnan(quantity.value).all():
            continue  # no material, solid height or redline in the sheet
        found = judged(setup, limit, quantity, needs=needs, cure=(cure,) * len(setup.valves), system=system)
        checks += [replace(check, quantity=f"{check.quantity} ({name})") for check in found]
    return checks
