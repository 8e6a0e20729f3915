"""`valvetrain rocker`: sweep, ratio, lift and stand shim."""

from collections.abc import Mapping
from math import isnan, nan
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.rocker.study import RockerResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]

# Valves whose cures are written out in full; the others' are in the JSON.
_MOST = 4


def _study(setup: "Setup", results: Mapping[str, Any], square_at: float | None = None) -> "RockerResult":
    from valvetrain.questions.rocker.study import rocker_study

    return rocker_study(setup, square_at)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.rocker.checks import rocker_checks

    return rocker_checks(setup, results["rocker"], system)


def _table(result: "RockerResult", checks: "list[Check]", system: str) -> None:
    """Print the rockers as a table."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import print_table, verdict_cells

    unit = display_unit("length", system)
    print_table(
        f"Rocker on the valve tip: lengths in {unit}, sweep from the stem axis, positive away from the shaft",
        result.valves,
        [
            ("gross lift", result.gross_lift),
            ("net lift", result.net_lift),
            ("mean ratio", result.mean_ratio),
            ("sweep width", result.sweep_width),
            ("least possible", result.least_sweep_width),
            ("sweep middle", result.sweep_middle),
            ("to chamfer", result.chamfer_distance),
            ("stand shim for least sweep", result.stand_shim_change_for_least_sweep),
        ],
        system,
        verdict_cells(checks, result.valves),
    )
    if result.ratio_apart:
        from valvetrain.questions.rocker.checks import ratio_sentences
        from valvetrain_cli.tables import console, print_hanging

        for sentence in ratio_sentences(result):
            print_hanging(console(), "  [ ] ", sentence)


def _detail(result: "RockerResult", checks: "list[Check]", system: str) -> None:
    """Print ratio and height, what the stock's stand shims leave, and the cures side by side."""
    from valvetrain.questions.rocker.checks import shaft_sentence
    from valvetrain.setup.units import display_unit, shown
    from valvetrain_cli.tables import console, print_table

    unit = display_unit("length", system)
    print_table(
        f"Ratio and shaft height: lengths in {unit}, fractions in % of net lift",
        result.valves,
        [
            ("ratio at opening", result.ratio_at_opening),
            ("at half lift", result.ratio_at_half_lift),
            ("at full lift", result.ratio_at_full_lift),
            ("mean", result.mean_ratio),
            ("arm square at", result.square_at_lift_fraction),
            ("lift lost to height", result.lift_lost_to_height),
            ("contact at opening", result.contact_closed),
            ("at full lift ", result.contact_full),
        ],
        system,
    )
    out = console()
    wanted = shown(result.square_at_wanted, "fraction", system)
    out.print(f"Arm wanted square to the stem at {wanted} of lift (--square-at).")
    for plan in result.stand.shafts:
        doubts = result.stand_shim_change_for_square_at.uncertainty[list(plan.group.deciding)]
        doubt = float(doubts.max()) if doubts.size else nan
        out.print(shaft_sentence(plan, result.valves, system, doubt))
    if any(abs(plan.change) > 0 for plan in result.stand.shafts):
        best = result.stand.with_best
        print_table(
            f"What the best stand shim in stock leaves at every valve: lengths in {unit}",
            result.valves,
            [
                ("stand shim", _lengths(result.stand.best, system)),
                ("sweep width", _lengths(best.sweep_width, system)),
                ("share of lift", [shown(each, "fraction", system) for each in best.sweep_share]),
                ("middle", _lengths(best.sweep_middle, system)),
                ("to chamfer", _lengths(best.chamfer_distance, system)),
                ("lift gained", _lengths(best.lift_gain, system)),
                ("adjuster out", _lengths(best.adjuster, system)),
            ],
            system,
        )
    _cures(result, checks, system)
    if result.pads is not None:
        for valve, error in zip(result.valves, result.pads.feeler_error, strict=True):
            if error > 0:
                out.print(
                    f"{valve}: hollow pad: a feeler reads {shown(float(error), 'length', system)} less "
                    "than the true lash. Set it by turns of the adjuster (`pushrod` says how many)."
                )


def _lengths(values: Any, system: str) -> list[str]:
    from valvetrain.setup.units import display_unit, shown

    unit = display_unit("length", system)
    written = [shown(float(each), "length", system).removesuffix(f" {unit}") for each in values]
    return ["-" if each == "unmeasured" else each for each in written]


def _cures(result: "RockerResult", checks: "list[Check]", system: str) -> None:
    """Print the cures of the valves that are outside, side by side."""
    from rich.table import Table

    from valvetrain.questions.rocker.cures import cures_of
    from valvetrain.setup.units import display_unit, shown
    from valvetrain_cli.tables import console, print_hanging

    outside = {check.valve for check in checks if check.verdict in ("out", "unsure")}
    valves = [index for index, valve in enumerate(result.valves) if valve in outside]
    if not valves:
        return
    unit = display_unit("length", system)
    table = Table(
        title=f"Cures side by side: lengths in {unit}, sweep and lift as they are then; choose one a valve",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    for name in ("valve", "cure", "for", "by", "sweep", "of lift", "middle", "lift gained", "adjuster out"):
        table.add_column(name, justify="left" if name in ("valve", "cure", "for") else "right")
    cautions: dict[str, str] = {}
    for index in valves[:_MOST]:
        for number, cure in enumerate(cures_of(result.side, result.stand, index)):
            numbers = _lengths(
                [cure.amount, cure.sweep_width, cure.sweep_middle, cure.lift_gain, cure.adjuster], system
            )
            if isnan(cure.amount):
                numbers[0], numbers[-1] = "as chosen", "as much"
            cautions[cure.name] = cure.caution
            table.add_row(
                result.valves[index] if number == 0 else "",
                cure.name,
                cure.serves,
                numbers[0],
                numbers[1],
                shown(cure.sweep_share, "fraction", system),
                *numbers[2:],
            )
        table.add_section()
    console().print(table)
    for name, caution in cautions.items():
        print_hanging(console(), "  ", f"{name}: {caution}.")
    if len(valves) > _MOST:
        rest = ", ".join(result.valves[index] for index in valves[_MOST:])
        console().print(f"The cures of {rest} are in the JSON (--json).")


def _document(result: "RockerResult", system: str) -> dict[str, Any]:
    """Return every valve, its path through the lift, what the shim leaves, its cures; and every shaft."""
    from valvetrain.questions.rocker.cures import cures_of
    from valvetrain.questions.rocker.path import rocker_path
    from valvetrain_cli.json_out import length_list, quantity_json, series_json, valve_rows

    rows = valve_rows(result, system)
    path = rocker_path(result)
    for index, row in enumerate(rows):
        row["through_lift"] = {
            "lift_share": [float(each) for each in path.lift_share],
            "valve_lift": series_json(path.valve_lift[index], "length", system),
            "contact": series_json(path.contact[index], "length", system),
            "to_chamfer": series_json(path.chamfer_distance[index], "length", system),
            "ratio": series_json(path.ratio[index], "ratio", system),
        }
        row["stand_shim_advised"] = quantity_json(result.stand.change[index], "length", system)
        row["stand_shim_best_in_stock"] = quantity_json(result.stand.best[index], "length", system)
        row["with_best_in_stock"] = {
            name: quantity_json(getattr(result.stand.with_best, field)[index], dimension, system)
            for name, field, dimension in _EFFECTS
        }
        row["cures"] = [
            {"name": cure.name, "serves": cure.serves, "caution": cure.caution}
            | {"amount": quantity_json(cure.amount, "length", system)}
            | {
                name: quantity_json(getattr(cure, field), dimension, system)
                for name, field, dimension in _EFFECTS
            }
            for cure in cures_of(result.side, result.stand, index)
        ]
        if result.pads is not None:
            row["feeler_error"] = quantity_json(result.pads.feeler_error[index], "length", system)
    shafts = [
        {
            "name": plan.group.name,
            "valves": [result.valves[index] for index in plan.group.members],
            "standing_apart": [result.valves[index] for index in plan.group.apart],
            "not_measured": [result.valves[index] for index in plan.group.unknown],
            "needed": bool(plan.needed),
            "stand_shim_change": quantity_json(plan.change, "length", system),
            "stand_shims": length_list(plan.stack, system),
            "take_out_fitted": plan.removed,
            "exact_change": quantity_json(plan.exact, "length", system),
            "worst_sweep_share_now": quantity_json(plan.worst_now, "fraction", system),
            "worst_sweep_share_after": quantity_json(plan.worst_after, "fraction", system),
        }
        for plan in result.stand.shafts
    ]
    square = quantity_json(result.square_at_wanted, "fraction", system)
    return {"valves": rows, "shafts": shafts, "square_at_wanted": square}


_EFFECTS = (
    ("sweep_width", "sweep_width", "length"),
    ("sweep_share", "sweep_share", "fraction"),
    ("sweep_middle", "sweep_middle", "length"),
    ("chamfer_distance", "chamfer_distance", "length"),
    ("pattern_moved", "middle_moved", "length"),
    ("lift_gain", "lift_gain", "length"),
    ("adjuster_out", "adjuster", "length"),
)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.rocker.figure import rocker_figure

    # What --draw asks for matters to the figure alone, so that it does not go through the study.
    context = click.get_current_context(silent=True)
    asked = context.params.get("draw", "linkage") if context is not None else "linkage"
    return rocker_figure(setup, results["rocker"], system, asked)


def _prepare(setup: "Setup", square_at: str | None, draw: str) -> dict[str, Any]:
    """Read the lift fraction of the command line."""
    from valvetrain.parts.spec import Spec
    from valvetrain.setup.values import measured
    from valvetrain_cli.running import bad_input

    if square_at is None:
        return {}
    written = square_at.strip()
    spec = Spec("lift fraction", "fraction", low=0.0, high=1.0)
    try:
        # A plain number is the fraction itself, 0.5; a per cent sign makes it per cent.
        text = written if written.endswith("%") else f"{float(written.replace(',', '.')) * 100} %"
        value = measured(text, spec, "--square-at", system=setup.units, instruments={}).value
    except ValueError:
        bad_input([f"--square-at {written}: is not a fraction of lift from 0 to 1 (or '33 %')."])
    return {"square_at": value}


QUESTION = Question(
    name="rocker",
    help="Does each rocker meet the valve tip where it should, and which stand shim puts it right?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
    detail=_detail,
    remarks=lambda result: int(bool(result.ratio_apart)),
)
_square_at = click.option(
    "--square-at",
    metavar="FRACTION",
    help="Lift fraction at which the arm should stand square to the stem, such as 0.5 or '33 %'. Left out: "
    "half lift, and the stand shim is chosen for the narrowest sweep.",
)
_draw = click.option(
    "--draw",
    type=click.Choice(["linkage", "ratio", "contact", "shims"]),
    default="linkage",
    help="What --plot draws: the linkage to scale, the ratio curve, the contact path on the tip, or sweep "
    "and lift against stand shim.",
)
command = _square_at(_draw(question_command(QUESTION, _prepare)))
