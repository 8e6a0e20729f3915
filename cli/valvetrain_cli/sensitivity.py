"""`valvetrain sensitivity`: what a shop step of each dimension does to lift, pattern and ratio."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.sensitivity.study import SensitivityResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]


def _step(kind: str, system: str) -> tuple[float, str]:
    """Return a step that a shop thinks in [SI], and its words."""
    if kind == "angle":
        return 0.017453292519943295, "1 deg"
    return (0.010 * 0.0254, "0.010 in") if system == "inch" else (0.25e-3, "0.25 mm")


def _study(setup: "Setup", results: Mapping[str, Any]) -> "SensitivityResult":
    from valvetrain.questions.sensitivity.study import sensitivity_study

    return sensitivity_study(setup, results["rocker"])


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    return []


def _table(result: "SensitivityResult", checks: "list[Check]", system: str) -> None:
    """Print one table a role, at its first valve that is known."""
    import numpy as np
    from rich.table import Table

    from valvetrain.questions.sensitivity.study import STEPS
    from valvetrain.setup.units import display_unit, shown
    from valvetrain_cli.tables import console

    unit = display_unit("length", system)
    known = np.asarray(np.isfinite(result.gross_lift).all(axis=0))
    for role in dict.fromkeys(result.roles):
        own = [index for index, each in enumerate(result.roles) if each == role and known[index]]
        if not own:
            console().print(f"{role}: no valve's linkage is known whole; measure the pushrod's side as well.")
            continue
        index = own[0]
        table = Table(
            title=f"One step more of each dimension, at {result.valves[index]} ({role}): changes in {unit}",
            title_justify="left",
            title_style="bold",
            header_style="bold",
        )
        for name in (
            "dimension",
            "step",
            "gross lift",
            "pattern's middle",
            "contact, full lift",
            "ratio, full lift",
        ):
            table.add_column(name, justify="left" if name == "dimension" else "right")
        for row, (words, kind) in enumerate(STEPS.values()):
            step, written = _step(kind, system)
            cells = [
                shown(float(values[row, index]) * step, "length", system).removesuffix(f" {unit}")
                for values in (result.gross_lift, result.middle, result.contact)
            ]
            ratio = shown(float(result.ratio[row, index]) * step, "ratio", system)
            table.add_row(words, written, *cells, ratio)
        console().print(table)


def _document(result: "SensitivityResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.sensitivity.study import STEPS
    from valvetrain_cli.json_out import quantity_json

    rows = []
    for index, (valve, role) in enumerate(zip(result.valves, result.roles, strict=True)):
        effects = {}
        for row, (name, (_, kind)) in enumerate(STEPS.items()):
            step, _ = _step(kind, system)
            effects[name] = {
                "step": quantity_json(step, kind, system),
                "gross_lift": quantity_json(result.gross_lift[row, index] * step, "length", system),
                "pattern_middle": quantity_json(result.middle[row, index] * step, "length", system),
                "contact_full": quantity_json(result.contact[row, index] * step, "length", system),
                "ratio": quantity_json(result.ratio[row, index] * step, "ratio", system),
            }
        rows.append({"valve": valve, "role": role, "effects": effects})
    return {"valves": rows}


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.rocker.figure import rocker_figure

    return rocker_figure(setup, results["rocker"], system, "shims")


QUESTION = Question(
    name="sensitivity",
    help="What does a shop step of each dimension do to lift, pattern and ratio?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    needs=("rocker",),
    in_check=False,
)
command = question_command(QUESTION)
