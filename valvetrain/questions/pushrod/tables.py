"""The pushrods as tables: lengths and adjusters, what the set needs, strength and angles."""

from collections.abc import Iterator

import numpy as np

from valvetrain.answers.table import Block, Sentence, columns, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.pushrod.study import PushrodResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["pushrod_details", "pushrod_tables", "set_sentences"]


def pushrod_tables(result: PushrodResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say lengths and adjusters, and what the set needs."""

    if np.isnan(result.length.value).all():
        yield Sentence("Pushrods: not asked, the sheet gives no pushrod length.")
        return
    unit = display_unit("length", system)
    yield valve_table(
        f"Pushrods and adjusters: lengths in {unit}, between ball centers",
        result.valves,
        columns(
            result,
            "length",
            "adjuster_exposure",
            "exposure_wanted",
            "reserve_out",
            "reserve_in",
            "length_for_wanted_exposure",
            "lash_turns",
            "column_factor",
            "hole_clearance",
        ),
        system,
        verdicts_of(checks, result.valves) if checks else (),
    )
    for sentence in set_sentences(result, system):
        yield Sentence(sentence)


def set_sentences(result: PushrodResult, system: str) -> list[str]:
    """Say which length serves the set, or how it must be split."""

    plan = result.plan
    convention = next((each for each in result.convention if each), "between ball centers")
    sentences = []
    if plan.reason:
        sentences.append(f"{plan.reason[0].upper()}{plan.reason[1:]}.")
    alternative = np.isfinite(plan.single_stated)
    if len(plan.lengths) == 1 and not plan.split:
        sentences.append(
            f"One length serves the whole set: {shown(plan.stated[0], 'length', system)} {convention}; the "
            f"worst adjuster is then {shown(plan.single_worst, 'length', system)} from what is wanted."
        )
    elif plan.split:
        for place, stated in enumerate(plan.stated):
            valves = ", ".join(np.array(result.valves)[plan.chosen == place])
            what = "Replace only what is out of its reserve" if plan.kept.any() else "Split the set"
            sentences.append(f"{what}: {shown(stated, 'length', system)} {convention} for {valves}.")
    elif not plan.reason and plan.kept.any():
        sentences.append("Every pushrod may stay: its adjuster has its reserve.")
    elif not plan.reason and np.isnan(result.adjuster_exposure.value).all():
        sentences.append("Adjusters: not asked, the sheet gives no [adjuster] exposure.")
    if (plan.split or not plan.lengths) and alternative:
        sentences.append(
            f"Best single length for the whole set: "
            f"{shown(plan.single_stated, 'length', system)} {convention}; the worst adjuster is then "
            f"{shown(plan.single_worst, 'length', system)} from what is wanted."
        )
    return sentences


def pushrod_details(result: PushrodResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say strength, deflection, angles, and the ratio at either end of the adjuster."""

    length, force, angle = (display_unit(each, system) for each in ("length", "force", "angle"))
    yield valve_table(
        f"Loads in {force}, deflection in {length}, angles in {angle}",
        result.valves,
        columns(
            result,
            "peak_load",
            "column_load",
            "deflection",
            "lift_lost_to_deflection",
            "tappet_angle_greatest",
            "socket_angle_greatest",
            "ratio_adjuster_in",
            "ratio_adjuster_out",
        ),
        system,
    )
    for note in (
        "Pushrod length and adjuster never move the pattern on the tip of a shaft rocker: stand shims do "
        "(`valvetrain rocker`). Advice to lengthen a pushrod for a mark toward the valley is meant for "
        "rockers on studs.",
        "Setting lash by turns is right even on a hollow pad; tightening the locknut adds about 0.001 in "
        "(0.025 mm).",
        "Lift read with a light checking spring is more than the engine's by the deflection at the valve, "
        "and more where rocker and stands give as well.",
    ):
        yield Sentence(note, mark="  ")
