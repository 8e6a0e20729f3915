"""`valvetrain events`: opening, closing, duration, overlap at the lash that is set, or at any other."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from valvetrain.answers.cautions import TURNING
from valvetrain_cli.asking import question_command
from valvetrain_cli.question import Question

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.events.answer import EventsAnswer
    from valvetrain.questions.events.lash_sweep import EventsSweep
    from valvetrain.questions.events.study import EventsResult
    from valvetrain.questions.events.wheel import Difference, WheelResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION", "command"]

HIGHEST = 0.025
WIDEST_LASH = 0.003


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "EventsAnswer":
    from valvetrain.questions.events.answer import events_answer

    return events_answer(setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.lash.checks import lash_checks
    from valvetrain.questions.lash.study import lash_study

    return lash_checks(setup, lash_study(setup), system)


def _prepare(
    setup: "Setup",
    checking_lift: tuple[str, ...],
    checked_at: str | None,
    lash: str | None,
    picture: str | None,
) -> dict[str, Any]:
    """Read checking lifts and lashes; what a checking lift means is never assumed."""
    from valvetrain_cli.lash_option import several_lengths
    from valvetrain_cli.running import bad_input

    if bool(checking_lift) != (checked_at is not None):
        bad_input(
            [
                "--checking-lift and --at: give both or neither. A checking lift means nothing without where "
                "it is read, at the tappet or at the valve."
            ]
        )
    options: dict[str, Any] = {"with_hot": True}
    system = setup.units
    if checking_lift:
        lifts = [
            lift
            for written in checking_lift
            for lift in several_lengths(written, "--checking-lift", system, 0.0, HIGHEST)
        ]
        if 0.0 in lifts and checked_at == "tappet":
            bad_input(
                ["--checking-lift 0: no event is defined at no lift of the tappet. Give a lift above 0."]
            )
        options["checks"] = tuple((lift, checked_at) for lift in dict.fromkeys(lifts))
    if lash is not None:
        options["lashes"] = several_lengths(lash, "--lash", system, 0.0, WIDEST_LASH)
    if picture is None and len(options.get("lashes", ())) > 1:
        picture = "lash"
    if picture == "lash" and len(options.get("lashes", ())) < 2:
        bad_input(["--picture lash: needs a range of lashes, such as --lash 0.012:0.024:0.002."])
    return options | ({"picture": picture} if picture is not None else {})


def _report_options(setup: "Setup") -> dict[str, Any]:
    """Hot as well, and the lashes within the usual tuning window of those set, in steps that a feeler has."""
    import numpy as np

    step, around = (0.002 * 0.0254, 0.004 * 0.0254) if setup.units == "inch" else (0.05e-3, 0.1e-3)
    lash = setup.column("lash", "lash").value
    if np.isnan(lash).all():
        return {"with_hot": True}
    first = max(np.floor((np.nanmin(lash) - around) / step + 1e-6), 0.0)
    last = min(np.ceil((np.nanmax(lash) + around) / step - 1e-6), WIDEST_LASH / step)
    return {"with_hot": True, "lashes": tuple(float(each) for each in np.arange(first, last + 0.5) * step)}


def _document(result: "EventsAnswer", system: str) -> dict[str, Any]:
    """Return the events as the contract names them, one entry a valve, checking lift and lash."""
    cases = (result, *result.more)
    document: dict[str, Any] = {"lobes": [row for each in cases for row in _rows(each, system)]}
    document |= _both(result, system)
    document["by_checking_lift"] = [_case(each, system) | _both(each, system) for each in cases]
    if result.lift_off is not None:
        document["lift_off"] = {"lobes": _rows(result.lift_off, system)} | _both(result.lift_off, system)
    if result.hot is not None:
        document["hot"] = {"lobes": _rows(result.hot, system)}
    if result.sweep is not None:
        document["against_lash"] = _sweep_rows(result.sweep, system)
    if result.wheel is not None:
        document["degree_wheel"] = _wheel_rows(result.wheel, system)
    return document


def _case(result: "EventsResult", system: str) -> dict[str, Any]:
    from valvetrain_cli.json_out import quantity_json

    return {
        "checking_lift": quantity_json(result.checking_lift, "length", system),
        "checked_at": result.checked_at,
    }


def _rows(result: "EventsResult", system: str) -> list[dict[str, Any]]:
    """Return a row a valve."""
    import dataclasses

    from valvetrain_cli.json_out import valve_rows

    fields = [field.name for field in dataclasses.fields(result)]
    own = {name for name in ("more", "lift_off", "sweep", "hot", "wheel", "picture") if name in fields}
    rows = valve_rows(result, system)
    for row, source in zip(rows, result.lobe_source, strict=True):
        for name in own:
            row.pop(name, None)
        row["synthesised"] = source == "card"
        row |= _case(result, system)
    return rows


def _both(result: "EventsResult", system: str) -> dict[str, Any]:
    """Return overlap and lobe separation of the engine, and of every cylinder."""
    import numpy as np

    from valvetrain_cli.json_out import quantity_json

    document: dict[str, Any] = {}
    for name, key in (("overlap", "overlap"), ("separation", "lobe_separation")):
        quantity = getattr(result, name)
        pairs = list(zip(quantity.value, quantity.uncertainty, strict=True))
        known = np.flatnonzero(~np.isnan(quantity.value))
        # The engine's overlap is that of the middle cylinder of those that are known.
        middle = known[np.argsort(quantity.value[known])[len(known) // 2]] if known.size else None
        document[key] = (
            quantity_json(float("nan"), "angle", system)
            if middle is None
            else quantity_json(float(pairs[middle][0]), "angle", system, float(pairs[middle][1]))
        )
        document[f"{key}_by_cylinder"] = [
            {"cylinder": cylinder} | quantity_json(value, "angle", system, doubt)
            for cylinder, (value, doubt) in zip(result.cylinders, pairs, strict=True)
        ]
    return document


def _sweep_rows(sweep: "EventsSweep", system: str) -> dict[str, Any]:
    """Return the events against lash: an entry a valve and checking lift, its series over the lashes."""
    import numpy as np

    from valvetrain.setup.units import display_unit, from_si

    dimensions = {"max_lift": "length", "area": "lift_area"}

    def series(name: str, check: int, column: int) -> dict[str, Any]:
        dimension = dimensions.get(name, "angle")
        values, doubts = sweep.values[name][:, check, column], sweep.uncertainties[name][:, check, column]
        return {
            "values": [
                None if np.isnan(each) else from_si(float(each), dimension, system) for each in values
            ],
            "u": [
                from_si(float(each), dimension, system, difference=True) if np.isfinite(each) else None
                for each in doubts
            ],
            "unit": display_unit(dimension, system),
        }

    valves, cylinders = [], []
    for check, (lift, at) in enumerate(sweep.checks):
        where = {
            "checking_lift": {
                "value": from_si(lift, "length", system),
                "unit": display_unit("length", system),
            },
            "checked_at": at,
        }
        for column, valve in enumerate(sweep.valves):
            names = ("opens", "closes", "duration", "centerline", "max_lift", "area")
            valves.append(
                {"valve": valve, "role": sweep.roles[column]}
                | where
                | {name: series(name, check, column) for name in names}
            )
        for column, cylinder in enumerate(sweep.cylinders):
            cylinders.append({"cylinder": cylinder} | where | {"overlap": series("overlap", check, column)})
    return {
        "lash": {
            "values": [from_si(float(each), "length", system) for each in sweep.lashes],
            "unit": display_unit("length", system),
        },
        "lobes": valves,
        "cylinders": cylinders,
    }


def _wheel_rows(wheel: "WheelResult", system: str) -> dict[str, Any]:
    """Return the degree wheel's readings against the card."""
    from valvetrain_cli.events_tables import cam_move
    from valvetrain_cli.json_out import quantity_json

    def pair(part: "Difference") -> dict[str, Any]:
        return {
            "read": quantity_json(part.read, "angle", system),
            "card": quantity_json(part.should, "angle", system),
            "difference": quantity_json(part.value, "angle", system, part.uncertainty),
        }

    return {
        "readings": [
            {
                "valve": each.reading.valve,
                "role": each.reading.role,
                "checking_lift": quantity_json(each.reading.checking_lift.value, "length", system),
                "checked_at": each.reading.checked_at,
                "centerline": pair(each.centerline),
                "opens": pair(each.opens),
                "closes": pair(each.closes),
                "duration": pair(each.duration),
                "from_card": each.from_card,
            }
            for each in wheel.comparisons
        ],
        "advance_cam": quantity_json(wheel.advance, "angle", system, wheel.uncertainty),
        "spread": quantity_json(wheel.spread, "angle", system),
        "advice": cam_move(wheel),
    }


def _table(result: "EventsAnswer", checks: "list[Check]", system: str) -> None:
    from valvetrain_cli.events_tables import print_events

    print_events(result, checks, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.events.figure import events_figure

    return events_figure(setup, results["events"], system)


QUESTION = Question(
    name="events",
    help="When does each valve really open and close at the lash that is set?",
    study=_study,
    checks=_checks,
    table=_table,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
    report_options=_report_options,
)
_OPTIONS = (
    click.option(
        "--checking-lift",
        metavar="LIFT",
        multiple=True,
        help="Lift at which events are read, such as 0.020 or '0.5 mm'; several: 0.006,0.050 or again. "
        "Needs --at. Left out: lift-off.",
    ),
    click.option(
        "--at", "checked_at", type=click.Choice(["tappet", "valve"]), help="Where that lift is read."
    ),
    click.option(
        "--lash",
        metavar="LASH",
        help="Another lash at every valve, or a range FIRST:LAST:STEP such as 0.012:0.024:0.002.",
    ),
    click.option(
        "--picture",
        type=click.Choice(["lift", "lash", "ring"]),
        help="What --plot draws: lift curves, events against a range of lashes, or the timing ring.",
    ),
)
command = question_command(QUESTION, _prepare)
for _option in reversed(_OPTIONS):
    command = _option(command)
