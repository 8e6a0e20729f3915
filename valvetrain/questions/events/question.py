"""`events`: opening, closing, duration, overlap at the lash that is set, or at any other."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import TURNING
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.events.answer import EventsAnswer
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]

HIGHEST = 0.025
WIDEST_LASH = 0.003


def _study(setup: "Setup", results: Mapping[str, Any], **options: Any) -> "EventsAnswer":
    from valvetrain.questions.events.answer import events_answer

    return events_answer(setup, **options)


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    from valvetrain.questions.events.checks import cam_checks, lash_checks
    from valvetrain.questions.events.lash_found import lash_study

    return [*lash_checks(setup, lash_study(setup), system), *cam_checks(setup, results["events"].wheel)]


def _prepare(
    setup: "Setup",
    checking_lift: tuple[str, ...],
    checked_at: str | None,
    lash: str | None,
    lash_change: str | None,
    cam: str,
    picture: str | None,
) -> dict[str, Any]:
    """Read checking lifts and lashes; what a checking lift means is never assumed."""
    from valvetrain.answers.asked_lengths import several_lengths

    if bool(checking_lift) != (checked_at is not None):
        raise Refused(
            "--checking-lift and --at: give both or neither. A checking lift means nothing without where it "
            "is read, at the tappet or at the valve."
        )
    if lash is not None and lash_change is not None:
        raise Refused("--lash and --lash-change: give one of them.")
    options: dict[str, Any] = {"with_hot": True, "cam": cam}
    system = setup.units
    if checking_lift:
        lifts = [
            lift
            for written in checking_lift
            for lift in several_lengths(written, "--checking-lift", system, 0.0, HIGHEST)
        ]
        if 0.0 in lifts and checked_at == "tappet":
            raise Refused(
                "--checking-lift 0: no event is defined at no lift of the tappet. Give a lift above 0."
            )
        options["checks"] = tuple((lift, checked_at) for lift in dict.fromkeys(lifts))
    if lash is not None:
        options["lashes"] = several_lengths(lash, "--lash", system, 0.0, WIDEST_LASH)
    if lash_change is not None:
        options["lashes"] = several_lengths(lash_change, "--lash-change", system, -WIDEST_LASH, WIDEST_LASH)
        options["changed"] = True
    if picture is None and len(options.get("lashes", ())) > 1:
        picture = "lash"
    if picture == "lash" and len(options.get("lashes", ())) < 2:
        raise Refused("--picture lash: needs a range of lashes, such as --lash-change -0.004:0.004:0.002.")
    return options | ({"picture": picture} if picture is not None else {})


def _report_options(setup: "Setup") -> dict[str, Any]:
    """Hot as well, and the usual tuning window about each valve's own lash, in steps that a feeler has."""
    import numpy as np

    step = 0.002 * 0.0254 if setup.units == "inch" else 0.05e-3
    if np.isnan(setup.column("lash", "lash").value).all():
        return {"with_hot": True}
    return {
        "with_hot": True,
        "lashes": tuple(float(each) for each in np.arange(-2, 2.5) * step),
        "changed": True,
    }


def _tables(result: "EventsAnswer", checks: "list[Check]", system: str) -> "Iterable[Block]":
    from valvetrain.questions.events.tables import events_tables

    return events_tables(result, checks, system)


def _document(result: "EventsAnswer", system: str) -> dict[str, Any]:
    from valvetrain.questions.events.document import events_document

    return events_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    from valvetrain.questions.events.figure import events_figure

    return events_figure(setup, results["events"], system)


QUESTION = Question(
    name="events",
    help="When does each valve really open and close at the lash that is set?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    cautions=(TURNING,),
    report_options=_report_options,
    options=(
        Option(
            "checking-lift",
            "Lift at which events are read, such as 0.020 or '0.5 mm'; several: 0.006,0.050 or again. Needs "
            "--at. Left out: lift-off.",
            metavar="LIFT",
            many=True,
        ),
        Option(
            "at", "Where that lift is read.", kind="choice", choices=("tappet", "valve"), called="checked_at"
        ),
        Option(
            "lash",
            "Another lash at every valve, or a range FIRST:LAST:STEP such as 0.012:0.024:0.002.",
            metavar="LASH",
        ),
        Option(
            "lash-change",
            "Each valve's own lash changed by so much, such as -0.004, or by a range FIRST:LAST:STEP.",
            metavar="CHANGE",
        ),
        Option(
            "cam",
            "Where the cam stands: as the degree wheel found it, where it was read, or as on its card.",
            kind="choice",
            choices=("wheel", "card"),
            default="wheel",
        ),
        Option(
            "picture",
            "What --plot draws: lift curves, events against a range of lashes, or the timing ring.",
            kind="choice",
            choices=("lift", "lash", "ring"),
        ),
    ),
    prepare=_prepare,
)
