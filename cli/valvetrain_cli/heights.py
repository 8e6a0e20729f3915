"""`valvetrain heights`: the height stack from cam to valve tip, solved from the adjusters."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.asking import question_command
from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.heights.study import HeightsResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _study(setup: "Setup", results: Mapping[str, Any]) -> "HeightsResult":
    from valvetrain.questions.heights.study import heights_study

    return heights_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    return []


def _table(result: "HeightsResult", checks: "list[Check]", system: str) -> None:
    """Print the ledger, what the adjusters say, and what it implies."""
    from valvetrain.mechanics.rocker.height_ledger import ITEMS
    from valvetrain.questions.heights.checks import ledger_sentences
    from valvetrain.setup.units import display_unit, shown, shown_spread
    from valvetrain_cli.tables import console, print_hanging, print_table

    out = console()
    unit = display_unit("length", system)
    if not result.ledger.lines:
        out.print("Height ledger: empty. Name a table in [tables] heights, with columns item and change.")
    for line in result.ledger.lines:
        amount = "unknown amount"
        if line.change == line.change:
            spread = shown_spread(2 * line.uncertainty, "length", system)
            amount = f"{shown(line.change, 'length', system)} (+-{spread})"
        valve = f" at {line.valve}" if line.valve else ""
        name = line.item.replace("_", " ")
        print_hanging(out, "  ", f"{name}{valve}: {amount}; {ITEMS[line.item][2]}")
    print_table(
        f"Height stack from the adjusters: {unit}; plus is taller, or more thread",
        result.valves,
        [
            ("thread now less before", result.exposure_change),
            ("known explains", result.known_exposure_change),
            ("unknown, cam to shaft", result.unknown_reach),
            ("or shaft to tip", result.unknown_rise),
            ("valve's own part", result.own_part),
            ("pushrod to bring it back", result.pushrod_change),
            ("or stand shim", result.stand_shim_change),
        ],
        system,
    )
    for sentence in ledger_sentences(result, system):
        print_hanging(out, "  ", sentence)


def _document(result: "HeightsResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.heights.checks import ledger_sentences
    from valvetrain_cli.json_out import quantity_json, valve_rows

    return {
        "valves": valve_rows(result, system),
        "ledger": [
            {
                "item": line.item,
                "valve": line.valve or None,
                "change": quantity_json(line.change, "length", system, line.uncertainty),
                "moves_cam_to_shaft": line.reach,
                "moves_shaft_to_tip": line.rise,
            }
            for line in result.ledger.lines
        ],
        "unknown_total": quantity_json(result.total.value, "length", system, result.total.uncertainty),
        "scatter": result.total.scatter if result.total.scatter == result.total.scatter else None,
        "standing_apart": list(result.total.apart),
        "unknown_items": list(result.ledger.unknown_items),
        "meaning": ledger_sentences(result, system),
    }


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.heights.figure import heights_figure

    return heights_figure(setup, results["heights"], system)


QUESTION = Question(
    name="heights",
    help="What do the adjusters say about the height stack from cam to valve tip?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    cautions=(TURNING,),
    in_check=False,
)
command = question_command(QUESTION)
