"""Verdicts on the oil that reaches the rockers, in the engine as it is."""

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.oil.study import AS_BUILT, OilResult
from valvetrain.setup.setup import Setup

__all__ = ["oil_checks"]


def oil_checks(setup: Setup, result: OilResult, system: str) -> list[Check]:
    """Judge every rocker's share; none where the sheet draws no network."""
    if result.missing:
        return []
    cures = [
        case.layout
        for case in result.cases
        if case.condition == result.now and case.layout != AS_BUILT and not case.starved
    ]
    what = f"Layouts that cure it: {', '.join(cures)}." if cures else "No layout of the sheet cures it."
    return judged(
        setup,
        "rocker_oil_share",
        result.rocker_share,
        needs=(),
        cure=(f"{what} Bushings at their new clearance do as much; look for a blocked drilling.",)
        * len(setup.valves),
        system=system,
    )
