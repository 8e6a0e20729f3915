"""Verdicts on where each rocker sits along the shaft."""

from valvetrain.checks.verdict import Check, judged
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown
from valvetrain.studies.centering_study import CenteringResult

__all__ = ["centering_checks"]


def centering_checks(setup: Setup, result: CenteringResult, system: str) -> list[Check]:
    """Judge the share of the contact kept on the tip and the end clearance at every valve."""
    cure = tuple(_cure(result, index, system) for index in range(len(setup.valves)))
    return [
        *judged(
            setup,
            "contact_share",
            result.contact_share,
            needs=("station.offset", "rocker.pad_width", "valve.stem_diameter", "valve.tip_chamfer"),
            cure=cure,
            system=system,
        ),
        *judged(
            setup,
            "end_clearance",
            result.end_clearance_before,
            needs=("station.end_clearance",),
            cure=cure,
            system=system,
        ),
    ]


def _cure(result: CenteringResult, index: int, system: str) -> str:
    """Say which shims move the rocker over its stem."""
    if not result.moved[index]:
        return result.reason[index]
    steps = [
        f"{action} {' + '.join(shown(each, 'length', system) for each in shims)} {side}"
        for action, side, shims in (
            ("take out", "in front", result.front_removed[index]),
            ("take out", "behind", result.rear_removed[index]),
            ("put in", "in front", result.front_added[index]),
            ("put in", "behind", result.rear_added[index]),
        )
        if shims
    ]
    offset = shown(float(result.offset_after.value[index]), "length", system)
    play = shown(float(result.end_clearance.value[index]), "length", system)
    return f"Rocker shims: {', '.join(steps)}; leaves an offset of {offset} and an end clearance of {play}."
