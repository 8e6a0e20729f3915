"""`wear`: the rubbing pairs; with --log, what the record of inspections says."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from valvetrain.answers.cautions import WEAR
from valvetrain.answers.question import Option, Question, Refused

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.questions.record.study import RecordResult
    from valvetrain.questions.wear.study import WearResult
    from valvetrain.setup.setup import Setup

__all__ = ["QUESTION"]


def _study(
    setup: "Setup", results: Mapping[str, Any], log: Any = None, rpm: tuple[float, ...] = ()
) -> "WearResult | RecordResult":
    """Study the contacts, or the record where one is given."""
    if log is not None:
        from valvetrain.questions.record.study import record_study

        return record_study(setup, log)
    from valvetrain.questions.wear.study import wear_study

    try:
        return wear_study(setup, results["rocker"], results["spring"], rpm)
    except ValueError as error:
        raise Refused(f"setup.toml {str(error).rstrip('.?')}.") from error


def _of_record(result: Any) -> bool:
    return hasattr(result, "lash_state")


def _checks(setup: "Setup", results: Mapping[str, Any], system: str) -> "list[Check]":
    result = results["wear"]
    if _of_record(result):
        from valvetrain.questions.record.checks import record_checks

        return record_checks(setup, result, system)
    from valvetrain.questions.wear.checks import wear_checks

    return wear_checks(setup, result, system)


def _tables(result: Any, checks: "list[Check]", system: str) -> "Iterable[Block]":
    """Say the contacts, or the record."""
    if _of_record(result):
        from valvetrain.questions.record.tables import record_tables

        return record_tables(result, checks, system)
    from valvetrain.questions.wear.tables import wear_tables

    return wear_tables(result, checks, system)


def _document(result: Any, system: str) -> dict[str, Any]:
    if _of_record(result):
        from valvetrain.questions.record.document import record_document

        return record_document(result, system)
    from valvetrain.questions.wear.document import wear_document

    return wear_document(result, system)


def _figure(setup: "Setup", results: Mapping[str, Any], system: str) -> Any:
    result = results["wear"]
    if _of_record(result):
        from valvetrain.questions.record.figure import record_sheet

        return record_sheet(setup, result, system)
    from valvetrain.questions.wear.contact_figure import contact_sheet

    return contact_sheet(setup, result, system)


def _prepare(setup: "Setup", log: Path | None, by: str | None, rpm: str | None) -> dict[str, Any]:
    """Read the record and the speeds."""
    if log is None:
        if by is not None:
            raise Refused("--by: says what a record counts in. Give the record with --log.")
        return {"rpm": _speeds(rpm)} if rpm is not None else {}
    if rpm is not None:
        raise Refused(
            "--rpm: speeds belong to the contacts, and --log asks for the record. Give one of them."
        )
    from valvetrain.questions.record.reading import read_log

    beside = Path(setup.sheet)
    beside = (beside if beside.is_dir() else beside.parent) / log
    log = beside if not log.exists() and beside.exists() else log
    return {"log": read_log(setup, log, by)}


MOST_SPEEDS = 40
"""Speeds that one run studies: each is a lobe's whole turn at every valve."""


def _speeds(written: str) -> tuple[float, ...]:
    """Read crank speeds such as 1500,3000."""
    import math

    pieces = written.split(",")
    if len(pieces) > MOST_SPEEDS:
        raise Refused(
            f"--rpm: {len(pieces)} speeds are given, and at most {MOST_SPEEDS} are studied at once."
        )
    speeds = []
    for piece in pieces:
        try:
            speed = float(piece)
        except ValueError:
            raise Refused(f"--rpm {written}: '{piece}' is not a speed. Write it like 1500,3000.") from None
        if not (math.isfinite(speed) and 800 < speed <= 20000):
            raise Refused(
                f"--rpm {written}: {piece} is outside 800 to 20000. Cranking and idle are always shown."
            )
        speeds.append(speed)
    return tuple(speeds)


QUESTION = Question(
    name="wear",
    help="What wears: contact, film and rotation of lobe and tappet, tip, shaft and guide? With --log, which "
    "valve does the record name?",
    study=_study,
    checks=_checks,
    tables=_tables,
    document=_document,
    figure=_figure,
    needs=("rocker", "spring"),
    cautions=(WEAR,),
    in_check=False,
    options=(
        Option(
            "log",
            "The record of inspections, a CSV file; looked for beside the sheet too.",
            kind="file",
        ),
        Option("by", "What the record is counted in.", kind="choice", choices=("hours", "distance", "date")),
        Option("rpm", "Crank speeds beside cranking and idle, such as 1500,3000."),
    ),
    prepare=_prepare,
)
