"""Verdicts on the clearances of rocker, retainer, seal and stand."""

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.interference.study import InterferenceResult
from valvetrain.setup.setup import Setup

__all__ = ["interference_checks"]

_NEEDS = {
    "rocker_to_retainer": (
        "shapes.hub_diameter",
        "shapes.rocker_depth",
        "shapes.retainer_diameter",
        "shapes.retainer_below_tip",
        "shapes.retainer_depth",
        "valve.stem_height",
    ),
    "retainer_to_seal": (
        "shapes.retainer_below_tip",
        "shapes.retainer_depth",
        "shapes.seal_diameter",
        "spring.retainer_to_seal",
        "valve.stem_height",
    ),
    "rocker_to_stand": ("shapes.hub_diameter", "shapes.stand_width", "shapes.stand_top", "valve.stem_height"),
}
_CURES = {
    "rocker_to_retainer": "Relieve the rocker's underside, take a smaller retainer, or a lash cap or "
    "longer valve.",
    "retainer_to_seal": "Shorten the guide, take a lower seal or a retainer with less depth inside, or "
    "less lift.",
    "rocker_to_stand": "Relieve the stand or the rocker where they meet.",
}


def interference_checks(setup: Setup, result: InterferenceResult, system: str) -> list[Check]:
    """Judge every pair of parts of which the sheet describes at least one valve's; others are not asked."""
    checks: list[Check] = []
    for name, needs in _NEEDS.items():
        quantity = getattr(result, name)
        if (quantity.value == quantity.value).any():
            cure = (_CURES[name],) * len(setup.valves)
            checks += judged(setup, name, quantity, needs=needs, cure=cure, system=system)
    return checks
