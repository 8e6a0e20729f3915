"""`valvetrain lash`: ramps, adjuster, cold and hot."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.lash.answer import LashAnswer
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]

HOT = (
    "hot lash is measured with the engine stopped and the ignition off; parts are hot enough to burn. The "
    "engine maker's manual comes first."
)


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "LashAnswer":
    from valvetrain.questions.lash.answer import lash_answer

    return lash_answer(setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.lash.ramp_checks import ramp_checks

    return ramp_checks(setup, results["lash"], system)


def _prepare(setup: "Setup", lash: str | None) -> dict[str, Any]:
    from valvetrain_cli.lash_option import several_lengths

    return {} if lash is None else {"lashes": several_lengths(lash, "--lash", setup.units, 0.0, 0.003)}


def _table(result: "LashAnswer", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.lash_tables import print_lash

    print_lash(result, checks, system)


def _detail(result: "LashAnswer", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.lash_tables import print_lash_detail

    print_lash_detail(result, checks, system)


def _document(result: "LashAnswer", system: str) -> dict[str, Any]:
    import numpy as np

    from valvetrain.setup.units import display_unit, from_si
    from valvetrain_cli.json_out import quantity_json, valve_rows

    rows = valve_rows(result, system)
    for index, row in enumerate(rows):
        for name in ("thermal", "trend", "found"):
            row.pop(name, None)
        for name in ("feeler_error", "running_lash", "taken_up_lift", "ramp_begun"):
            row[name] = quantity_json(float(getattr(result, name)[index]), "length", system)
        row["growth_from"] = result.thermal.source[index]
        row["growth_parts"] = [
            {"part": part} | quantity_json(value, "length", system)
            for part, value in result.thermal.parts[index]
        ]
        row["growth_lacks"] = list(result.thermal.missing[index])
    document: dict[str, Any] = {"valves": rows}
    if result.trend is not None:
        lashes, values = result.trend.lashes, result.trend.values
        document["against_lash"] = {
            "lash": {
                "values": [from_si(float(each), "length", system) for each in lashes],
                "unit": display_unit("length", system),
            },
            "valves": [
                {"valve": valve}
                | {
                    name: {
                        "values": [
                            None if np.isnan(each) else float(from_si(float(each), dimension, system))
                            for each in values[name][:, index]
                        ],
                        "unit": display_unit(dimension, system),
                    }
                    for name, dimension in result.trend.dimensions.items()
                }
                for index, valve in enumerate(result.valves)
            ],
        }
    return document


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.lash.figure import ramp_sheet

    return ramp_sheet(setup, results["lash"], system)


QUESTION = Question(
    name="lash",
    help="Is the lash inside the cam's ramps, cold and hot, and how is it set?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING, HOT),
    detail=_detail,
)
command = click.option(
    "--lash",
    metavar="LASH",
    help="A range FIRST:LAST:STEP such as 0.012:0.024:0.002: ramp left and seating speed against it.",
)(question_command(QUESTION, _prepare))
