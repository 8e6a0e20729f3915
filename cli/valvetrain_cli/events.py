"""`valvetrain events`: opening, closing, duration, overlap at the lash that is set."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from valvetrain_cli.cautions import TURNING
from valvetrain_cli.question import Question, question_command

if TYPE_CHECKING:
    from valvetrain.checks.verdict import Check
    from valvetrain.setup.setup import Setup
    from valvetrain.studies.events_study import EventsResult

__all__ = ["QUESTION", "command"]


def _study(
    setup: "Setup", results: Mapping[str, Any], checking_lift: float = 0.0, checked_at: str = "valve"
) -> "EventsResult":
    from valvetrain.studies.events_study import events_study

    return events_study(setup, checking_lift, checked_at)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.checks.lash_checks import lash_checks
    from valvetrain.studies.lash_study import lash_study

    return lash_checks(setup, lash_study(setup), system)


def _prepare(setup: "Setup", checking_lift: str | None, checked_at: str | None) -> dict[str, Any]:
    """Read the checking lift; what it means is never assumed."""
    from valvetrain_cli.running import bad_input

    if (checking_lift is None) != (checked_at is None):
        bad_input(
            [
                "--checking-lift and --at: give both or neither. A checking lift means nothing without where "
                "it is read, at the tappet or at the valve."
            ]
        )
    if checking_lift is None:
        return {}
    lift = _lift(checking_lift, setup.units)
    if lift == 0 and checked_at == "tappet":
        bad_input(["--checking-lift 0: no event is defined at no lift of the tappet. Give a lift above 0."])
    return {"checking_lift": lift, "checked_at": checked_at}


def _lift(written: str, system: str) -> float:
    """Read the checking lift of the command line."""
    from valvetrain.parts.spec import Spec
    from valvetrain.setup.values import measured
    from valvetrain_cli.running import bad_input

    spec = Spec("checking lift", "length", low=0.0, high=0.025)
    try:
        return measured(written, spec, "--checking-lift", system=system, instruments={}).value
    except ValueError as error:
        bad_input([f"--checking-lift: {error}."])


def _document(result: "EventsResult", system: str) -> dict[str, Any]:
    """Return the events as the contract names them."""
    import numpy as np

    from valvetrain_cli.json_out import quantity_json, valve_rows

    lobes = valve_rows(result, system)
    for row, source in zip(lobes, result.lobe_source, strict=True):
        row["checking_lift"] = quantity_json(result.checking_lift, "length", system)
        row["checked_at"] = result.checked_at
        row["lobe_source"] = source
    overlap = result.overlap
    each = [
        {"cylinder": cylinder} | quantity_json(value, "angle", system, doubt)
        for cylinder, value, doubt in zip(result.cylinders, overlap.value, overlap.uncertainty, strict=True)
    ]
    known = np.flatnonzero(~np.isnan(overlap.value))
    # The engine's overlap is that of the middle cylinder of those that are known.
    middle = known[np.argsort(overlap.value[known])[len(known) // 2]] if known.size else None
    whole = (
        quantity_json(float("nan"), "angle", system)
        if middle is None
        else quantity_json(overlap.value[middle], "angle", system, overlap.uncertainty[middle])
    )
    return {"lobes": lobes, "overlap": whole, "overlap_by_cylinder": each}


def _table(result: "EventsResult", checks: "list[Check]", system: str) -> None:
    """Print the events as a table, the overlaps below it."""
    from valvetrain.setup.units import display_unit, shown
    from valvetrain_cli.tables import console, print_table, verdict_cells

    unit = display_unit("length", system)
    at = f"{shown(result.checking_lift, 'length', system)} at the {result.checked_at}"
    if result.checking_lift == 0:
        at = "lift-off and seating"
    print_table(
        f"Events at {at}: angles in crank degrees, lifts in {unit}",
        result.valves,
        [
            ("lash", result.lash),
            ("opens (I: before TDC, E: before BDC)", result.opens),
            ("closes (I: after BDC, E: after TDC)", result.closes),
            ("duration", result.duration),
            ("centerline", result.centerline),
            ("greatest lift", result.max_lift),
        ],
        system,
        verdict_cells(checks, result.valves),
    )
    overlaps = ", ".join(
        f"cylinder {cylinder} {shown(float(value), 'angle', system, float(doubt))}"
        for cylinder, value, doubt in zip(
            result.cylinders, result.overlap.value, result.overlap.uncertainty, strict=True
        )
    )
    console().print(f"Overlap: {overlaps}")


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.plots.sheets import events_sheet

    return events_sheet(setup, results["events"], system)


QUESTION = Question(
    name="events",
    help="When does each valve really open and close at the lash that is set?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
)
_checking_lift = click.option(
    "--checking-lift",
    metavar="LIFT",
    help="Lift at which events are read, such as 0.020 or '0.5 mm'; needs --at. Left out: lift-off.",
)
_at = click.option(
    "--at", "checked_at", type=click.Choice(["tappet", "valve"]), help="Where that lift is read."
)
command = _checking_lift(_at(question_command(QUESTION, _prepare)))
