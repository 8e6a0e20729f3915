"""Verdicts on adjuster travel, column strength and the head's pushrod hole."""

import numpy as np

from valvetrain.answers.verdict import Check, judged
from valvetrain.questions.pushrod.study import PushrodResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["length_words", "pushrod_checks"]


def pushrod_checks(setup: Setup, result: PushrodResult, system: str) -> list[Check]:
    """Judge adjusters, strength and hole; what the sheet gives nothing of is not asked."""
    checks: list[Check] = []
    thread = (
        "adjuster.exposure",
        "adjuster.thread_length",
        "adjuster.boss_thickness",
        "adjuster.locknut_height",
    )
    if _any_of(setup, "adjuster.thread_length"):
        checks += judged(
            setup,
            "adjuster_reserve",
            result.reserve,
            needs=thread,
            cure=_reserve_cures(setup, result, system),
            system=system,
        )
    if _any_of(setup, "pushrod.yield_strength", "pushrod.peak_load"):
        checks += judged(
            setup,
            "pushrod_column_factor",
            result.column_factor,
            needs=(
                "pushrod.length",
                "pushrod.outside_diameter",
                "pushrod.wall",
                "pushrod.yield_strength",
                "pushrod.elastic_modulus",
                "spring.installed_height",
                "valve.stem_height",
            ),
            cure=(
                "Take a pushrod of larger diameter or thicker wall: strength grows with the diameter cubed.",
            )
            * len(setup.valves),
            system=system,
        )
    if _any_of(setup, "head.hole_diameter"):
        checks += judged(
            setup,
            "pushrod_hole_clearance",
            result.hole_clearance,
            needs=(
                "head.hole_diameter",
                "head.hole_setback",
                "head.hole_top",
                "head.hole_bottom",
                "pushrod.outside_diameter",
            ),
            cure=("Open the hole on the side where the pushrod touches, or take a thinner pushrod.",)
            * len(setup.valves),
            system=system,
        )
    return checks


def length_words(setup: Setup, result: PushrodResult, place: int, system: str) -> str:
    """Write one chosen length by the sheet's convention, and between ball centers where that differs."""
    stated, centers = result.plan.stated[place], result.plan.lengths[place]
    convention = setup.trains[0].pushrod.convention or "between ball centers"
    words = f"{shown(stated, 'length', system)} {convention}"
    if abs(stated - centers) > 1e-6:
        words += f" ({shown(centers, 'length', system)} between ball centers)"
    return words


def _any_of(setup: Setup, *keys: str) -> bool:
    return any(np.isfinite(setup.column(*key.split(".")).value).any() for key in keys)


def _reserve_cures(setup: Setup, result: PushrodResult, system: str) -> tuple[str, ...]:
    """Say which pushrod brings each adjuster back; stand shims move the pattern too, pushrods do not."""
    cures = []
    for index in range(len(setup.valves)):
        wanted = float(result.length_for_wanted_exposure.value[index])
        if np.isnan(wanted):
            cures.append("")
            continue
        change = wanted - float(result.length.value[index])
        words = (
            f"Pushrod {shown(abs(change), 'length', system)} {'longer' if change > 0 else 'shorter'}: "
            f"{shown(wanted, 'length', system)} between ball centers shows the thread wanted. "
        )
        place = int(result.plan.chosen[index])
        if place >= 0:
            words += (
                f"At hand: {length_words(setup, result, place, system)}, "
                f"{shown(float(result.plan.exposure[index]), 'length', system)} then shows. "
            )
        elif result.plan.reason:
            words += f"{result.plan.reason[0].upper()}{result.plan.reason[1:]}. "
        cures.append(words + "It moves the adjuster only, never the pattern on the tip.")
    return tuple(cures)
