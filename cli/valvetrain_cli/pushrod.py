"""`valvetrain pushrod`: length, adjuster travel, strength, angles, the hole in the head."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.pushrod.study import PushrodResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "PushrodResult":
    from valvetrain.questions.pushrod.study import pushrod_study

    return pushrod_study(setup, results["rocker"], results["spring"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.pushrod.checks import pushrod_checks

    return pushrod_checks(setup, results["pushrod"], system)


def _table(result: "PushrodResult", checks: "list[Check]", system: str) -> None:
    """Print lengths and adjusters, and what the set needs."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import console, print_table, verdict_cells

    if np.isnan(result.length.value).all():
        console().print("Pushrods: not asked, the sheet gives no pushrod length.")
        return
    unit = display_unit("length", system)
    print_table(
        f"Pushrods and adjusters: lengths in {unit}, between ball centers",
        result.valves,
        [
            ("length", result.length),
            ("thread showing", result.adjuster_exposure),
            ("wanted", result.exposure_wanted),
            ("left out", result.reserve_out),
            ("left in", result.reserve_in),
            ("length for wanted", result.length_for_wanted_exposure),
            ("lash in turns", result.lash_turns),
            ("over peak load", result.column_factor),
            ("in the hole", result.hole_clearance),
        ],
        system,
        verdict_cells(checks, result.valves) if checks else None,
    )
    for sentence in _set_sentences(result, system):
        console().print(sentence)


def _set_sentences(result: "PushrodResult", system: str) -> list[str]:
    """Say which length serves the set, or how it must be split."""
    from valvetrain.setup.units import shown

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


def _detail(result: "PushrodResult", checks: "list[Check]", system: str) -> None:
    """Print strength, deflection, angles, and the ratio at either end of the adjuster."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import console, print_hanging, print_table

    length, force, angle = (display_unit(each, system) for each in ("length", "force", "angle"))
    print_table(
        f"Loads in {force}, deflection in {length}, angles in {angle}",
        result.valves,
        [
            ("peak load", result.peak_load),
            ("buckles at", result.column_load),
            ("deflection", result.deflection),
            ("at the valve", result.lift_lost_to_deflection),
            ("to tappet bore", result.tappet_angle_greatest),
            ("to rocker cup", result.socket_angle_greatest),
            ("ratio, screw in", result.ratio_adjuster_in),
            ("ratio, screw out", result.ratio_adjuster_out),
        ],
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
        print_hanging(console(), "  ", note)


def _document(result: "PushrodResult", system: str) -> dict[str, Any]:
    """Return every valve, and the lengths for the whole set."""
    from valvetrain_cli.json_out import length_list, quantity_json, valve_rows

    plan = result.plan
    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        place = int(plan.chosen[index])
        chosen = plan.lengths[place] if place >= 0 else float("nan")
        row["length_chosen"] = quantity_json(chosen, "length", system)
        row["pushrod_stays"] = bool(plan.kept[index])
        row["exposure_with_length_chosen"] = quantity_json(plan.exposure[index], "length", system)
    return {
        "valves": rows,
        "set": {
            "lengths": length_list(plan.lengths, system),
            "lengths_as_stated": length_list(plan.stated, system),
            "split": plan.split,
            "best_single_length_as_stated": quantity_json(plan.single_stated, "length", system),
            "worst_from_wanted_with_one_length": quantity_json(plan.single_worst, "length", system),
            "reason": plan.reason,
        },
    }


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.pushrod.figure import pushrod_figure

    return pushrod_figure(setup, results["pushrod"], system)


QUESTION = Question(
    name="pushrod",
    help="Which pushrod length, does each adjuster sit in its range, is the pushrod strong and clear?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker", "spring"),
    cautions=(TURNING,),
    detail=_detail,
)
command = question_command(QUESTION)
