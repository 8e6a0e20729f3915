"""Verdicts on the lash found and on the lobe's own lift."""

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.events.lash_found import LashResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["lash_checks"]


def lash_checks(setup: Setup, result: LashResult, system: str) -> list[Check]:
    """Judge the lash against the lash wanted, and lobe lift lost, at every valve."""
    reset = tuple(
        f"Set the lash to {shown(float(wanted), 'length', system)} again, and look for why it moved."
        for wanted in result.lash_wanted.value
    )
    worn = (
        "Read that lobe again with a dial on the tappet; if it holds, the lobe is worn: regrind or replace "
        "the cam, and fit new tappets with it.",
    ) * len(reset)
    return [
        *judged(
            setup,
            "lash_deviation",
            result.lash_deviation,
            needs=("lash.lash", "lash.wanted"),
            cure=reset,
            system=system,
        ),
        *judged(
            setup, "lobe_wear", result.lobe_wear, needs=("lobe.measured_lift",), cure=worn, system=system
        ),
    ]
