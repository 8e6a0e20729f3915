"""Verdicts on what a fit found: the sweep and its place on the tip, by all answers that fit."""

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.fit.study import FitResult
from valvetrain.setup.setup import Setup

__all__ = ["fit_verdicts"]


def fit_verdicts(setup: Setup, result: FitResult, system: str) -> list[Check]:
    """Judge the sweep and its place on the tip by the posterior of all answers."""
    cure = ("Set the stand shim given above.",) * len(setup.valves)
    return [
        *judged(setup, "sweep_width", result.sweep_share, needs=(), cure=cure, system=system),
        *judged(
            setup,
            "contact_on_tip",
            result.chamfer_distance,
            needs=("valve.stem_diameter", "valve.tip_chamfer"),
            cure=cure,
            system=system,
        ),
    ]
