"""Verdicts on where the cam stands, on the lash found and on the lobe's own lift."""

import math

from valvetrain.answers.verdict import Check, decided, judged
from valvetrain.questions.events.lash_found import LashResult
from valvetrain.questions.events.wheel import WheelResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["cam_checks", "cam_cure", "cam_move", "lash_checks"]


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


def cam_checks(setup: Setup, wheel: WheelResult | None) -> list[Check]:
    """Judge how late the degree wheel found the cam; nothing where it was not read against a known card."""
    if wheel is None or math.isnan(wheel.advance):
        return []
    limit = setup.limits["cam_position"]
    verdict = decided(wheel.advance, wheel.uncertainty, limit.low, limit.high)
    advice = ""
    if verdict == "out":
        advice = cam_cure(wheel)
    elif verdict == "unsure":
        advice = f"Read the degree wheel again where the lobe is fast. If it holds: {cam_cure(wheel)}"
    return [
        Check(
            limit.id,
            None,
            limit.doc,
            limit.dimension,
            wheel.advance,
            wheel.uncertainty,
            limit.low,
            limit.high,
            verdict,
            limit.basis,
            advice,
        )
    ]


def cam_move(wheel: WheelResult) -> str:
    """Say which way and how far to move the cam."""
    if math.isnan(wheel.advance):
        return "Cam: no centerline of the card is known; nothing to compare."
    crank, doubt = math.degrees(wheel.advance), 2 * math.degrees(wheel.uncertainty)
    if abs(crank) <= doubt:
        text = f"Cam: agrees with the card within {doubt:.1f} crank degrees; leave it."
    else:
        text = (
            f"Cam: {_way(wheel)} it by {abs(crank):.1f} +-{doubt:.1f} crank degrees "
            f"({abs(crank) / 2:.1f} cam degrees): its lobes come {'late' if crank > 0 else 'early'}."
        )
    return text + _apart(wheel)


def cam_cure(wheel: WheelResult) -> str:
    """Say the same as a piece of work, the action first; for a cam that is to be moved."""
    crank, doubt = math.degrees(wheel.advance), 2 * math.degrees(wheel.uncertainty)
    side = "late" if crank > 0 else "early"
    return (
        f"{_way(wheel).capitalize()} the cam by {abs(crank):.1f} +-{doubt:.1f} crank degrees "
        f"({abs(crank) / 2:.1f} cam degrees): its lobes come {side}.{_apart(wheel)}"
    )


def _way(wheel: WheelResult) -> str:
    return "advance" if wheel.advance > 0 else "retard"


def _apart(wheel: WheelResult) -> str:
    """Say that the lobes do not stand together, where they do not."""
    if not wheel.spread > max(math.radians(1.0), 3 * wheel.uncertainty):
        return ""
    return (
        f" The centerlines do not move together (one differs by {math.degrees(wheel.spread):.1f} crank "
        "degrees): read that lobe again before moving the cam; it may stand wrong on the camshaft."
    )
