"""`valvetrain clearance`: piston to valve, valve to valve, effective compression."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.clearance.study import ClearanceResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]

MOST_ADVANCE = 30.0
TOUCH = (
    "turn the engine slowly by hand and stop at the first resistance: a valve on the piston bends. "
    "Clearances here are cold and at rest; rods stretch and valves float at speed, so never go below the "
    "maker's figure."
)


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "ClearanceResult":
    from valvetrain.questions.clearance.study import clearance_study

    return clearance_study(setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.clearance.checks import clearance_checks

    return clearance_checks(setup, results["clearance"], system)


def _prepare(setup: "Setup", advance: float | None, lash: str | None) -> dict[str, Any]:
    """Read the cam's advance and the lash."""
    import math

    from valvetrain_cli.lash_option import one_length
    from valvetrain_cli.running import bad_input

    options: dict[str, Any] = {}
    if advance is not None:
        if not (math.isfinite(advance) and abs(advance) <= MOST_ADVANCE):
            bad_input(
                [f"--advance {advance}: give crank degrees from -{MOST_ADVANCE:g} to {MOST_ADVANCE:g}."]
            )
        options["advance"] = math.radians(advance)
    if lash is not None:
        options["lash"] = one_length(lash, "--lash", setup.units, 0.0, 0.003)
    return options


def _table(result: "ClearanceResult", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.clearance_tables import print_clearance

    print_clearance(result, checks, system)


def _document(result: "ClearanceResult", system: str) -> dict[str, Any]:
    import dataclasses

    import numpy as np

    from valvetrain.setup.units import display_unit, from_si
    from valvetrain_cli.json_out import quantity_json, valve_rows

    unit = display_unit("length", system)

    def series(values: Any) -> dict[str, Any]:
        shown = [None if np.isnan(each) else float(from_si(float(each), "length", system)) for each in values]
        return {"values": shown, "unit": unit}

    rows = valve_rows(dataclasses.replace(result, missing=()), system)
    for index, row in enumerate(rows):
        for name in ("valve_gap", "gap_angle", "static_ratio", "effective_ratio"):
            row.pop(name, None)
        for name, dimension in (
            ("per_degree_advance", "length"),
            ("per_lash", "ratio"),
            ("per_stand_shim", "ratio"),
        ):
            row[name] = quantity_json(float(getattr(result, name)[index]), dimension, system)
        row["missing"] = list(result.missing[index])
        row["path"] = series(result.path[index])
    cylinders = [
        {"cylinder": number}
        | {
            name: quantity_json(
                float(getattr(result, name).value[index]),
                getattr(result, name).dimension,
                system,
                float(getattr(result, name).uncertainty[index]),
            )
            for name in ("valve_gap", "gap_angle", "static_ratio", "effective_ratio")
        }
        for index, number in enumerate(result.cylinders)
    ]
    return {
        "valves": rows,
        "cylinders": cylinders,
        "crank_angle": {"values": np.degrees(result.crank_angle).tolist(), "unit": "deg"},
        "described": result.described,
    }


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.clearance.figure import clearance_sheet

    return clearance_sheet(setup, results["clearance"], system)


QUESTION = Question(
    name="clearance",
    help="Does each valve clear the piston and the other valve, and what compression is left?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING, TOUCH),
)
_advance = click.option(
    "--advance",
    type=float,
    metavar="DEGREES",
    help="Advance the cam by so many crank degrees from where it stands (minus: retard it).",
)
_lash = click.option("--lash", metavar="LASH", help="Another lash at every valve, such as 0.014.")
command = _advance(_lash(question_command(QUESTION, _prepare)))
