"""`clearance`: piston to valve, valve to valve, effective compression."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.clearance.study import ClearanceResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]

MOST_ADVANCE = 30.0
WIDEST_LASH = 0.003
TOUCH = (
    "turn the engine slowly by hand and stop at the first resistance: a valve on the piston bends. "
    "Clearances here are cold and at rest; rods stretch and valves float at speed, so never go below the "
    "maker's figure."
)


def _study(
    setup: "Setup", results: Mapping[str, Any], cam: str = "wheel", **options: Any
) -> "ClearanceResult":
    from valvetrain.questions.clearance.study import clearance_study
    from valvetrain.questions.events.cam_position import as_on_card

    return clearance_study(as_on_card(setup) if cam == "card" else setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.clearance.checks import clearance_checks

    return clearance_checks(setup, results["clearance"], system)


def _prepare(
    setup: "Setup", advance: float | None, cam: str, lash: str | None, lash_change: str | None
) -> dict[str, Any]:
    """Read the cam's advance and the lash."""
    import math

    import numpy as np

    from valvetrain.answers.asked_lengths import one_length
    from valvetrain.questions.events.lash_sweep import lashes_at_valves

    if lash is not None and lash_change is not None:
        raise Refused("--lash and --lash-change: give one of them.")
    options: dict[str, Any] = {"cam": cam}
    if advance is not None:
        if not (math.isfinite(advance) and abs(advance) <= MOST_ADVANCE):
            raise Refused(
                f"--advance {advance}: give crank degrees from -{MOST_ADVANCE:g} to {MOST_ADVANCE:g}."
            )
        options["advance"] = math.radians(advance)
    if lash is not None:
        options["lash"] = one_length(lash, "--lash", setup.units, 0.0, WIDEST_LASH)
    if lash_change is not None:
        change = one_length(lash_change, "--lash-change", setup.units, -WIDEST_LASH, WIDEST_LASH)
        options["lash"] = lashes_at_valves(setup, np.array([change]), changed=True)[0]
    return options


def _tables(result: "ClearanceResult", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.clearance.tables import clearance_tables

    return clearance_tables(result, checks, system)


def _document(result: "ClearanceResult", system: str) -> dict[str, Any]:
    from valvetrain.questions.clearance.document import clearance_document

    return clearance_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.clearance.figure import clearance_sheet

    return clearance_sheet(setup, results["clearance"], system)


QUESTION = Question(
    name="clearance",
    help="Does each valve clear the piston and the other valve, and what compression is left?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    cautions=(TURNING, TOUCH),
    options=(
        Option(
            "advance",
            "Advance the cam by so many crank degrees from where it stands (minus: retard it).",
            kind="number",
            metavar="DEGREES",
        ),
        Option(
            "cam",
            "Where the cam stands: as the degree wheel found it, where it was read, or as on its card.",
            kind="choice",
            choices=("wheel", "card"),
            default="wheel",
        ),
        Option("lash", "Another lash at every valve, such as 0.014.", metavar="LASH"),
        Option("lash-change", "Each valve's own lash changed by so much, such as -0.004.", metavar="CHANGE"),
    ),
    prepare=_prepare,
)
