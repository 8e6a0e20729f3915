"""What a browser is told of a desk: plain data, every text as it is to be read."""

from collections.abc import Sequence
from typing import Any

from valvetrain.answers.table import worst
from valvetrain.answers.verdict import Check
from valvetrain.bench.desk import Desk
from valvetrain.bench.measurables import Measurable, measurables
from valvetrain.questions.compare.said import tables
from valvetrain.questions.compare.study import Answers, Comparison
from valvetrain.questions.next.checks import next_measurements
from valvetrain.questions.registry import ASKED
from valvetrain.report.guide.topics import topic_of, usual
from valvetrain.report.order import allowed, in_words, stages
from valvetrain.setup.editing.journal import Record
from valvetrain.setup.units import shown

__all__ = ["WORDS", "compared_view", "state"]

WORDS = {"ok": "ok", "out": "OUT", "unsure": "unsure", "unmeasured": "not measured", "": "-"}
_FINDINGS, _JOURNAL = 60, 60


def state(desk: Desk) -> dict[str, Any]:
    """Return all that the page shows of a sheet."""
    with desk.lock:
        desk.refresh()
        found: dict[str, Any] = {
            "version": desk.version,
            "settled": desk.settled,
            "faults": [str(each) for each in desk.faults],
            "journal": _journal(desk),
        }
        if desk.answers is None or desk.setup is None:
            return {**found, "title": desk.path.name, "valves": [], "grid": [], "measure": []}
        answers, setup = desk.answers, desk.setup
        system = setup.units
        every = [check for own in answers.checks.values() for check in own]
        ranked = next_measurements(setup, every)
        listed = measurables(setup, desk.toml, setup.contents, ranked)
        return {
            **found,
            "title": setup.title,
            "units": system,
            "valves": list(setup.valves),
            "grid": grid(answers),
            "headline": headline(answers),
            "findings": _findings(every, system),
            "plan": _plan(answers, system),
            "measure": [_measurable(each) for each in listed],
            "asked": list(desk.asked),
        }


def grid(answers: Answers) -> list[dict[str, Any]]:
    """Return the worst verdict of every question at every valve; the last is the whole engine's."""
    rows = []
    for name, checks in answers.checks.items():
        if not checks:
            continue
        at: dict[str | None, list[str]] = {}
        for check in checks:
            at.setdefault(check.valve, []).append(check.verdict)
        cells = [worst(at[valve]) if valve in at else "" for valve in (*answers.setup.valves, None)]
        rows.append({"name": name, "says": ASKED[name], "cells": cells})
    return rows


def headline(answers: Answers) -> str:
    """Say in a sentence how the engine stands."""
    every = [check for own in answers.checks.values() for check in own]
    if not every:
        return "Too little is known yet for any verdict: measure on."
    valves = answers.setup.valves
    own = {valve: worst([each.verdict for each in every if each.valve == valve]) for valve in valves}
    count = {name: sum(verdict == name for verdict in own.values()) for name in WORDS}
    parts = [
        f"{count[name]} {words}"
        for name, words in (
            ("out", "to put right"),
            ("unsure", "unsure"),
            ("unmeasured", "with something not measured"),
        )
        if count[name]
    ]
    whole = sum(each.valve is None and each.verdict == "out" for each in every)
    if whole:
        parts.append(f"{whole} of the whole engine to put right")
    if not parts:
        return f"All {len(valves)} valves are right in every question asked."
    return f"Of {len(valves)} valves {count['ok']} right in every question asked; {', '.join(parts)}."


def _findings(checks: Sequence[Check], system: str) -> list[dict[str, Any]]:
    """Return what is out or unsure, the same at several valves told once."""
    found: dict[tuple[str, ...], list[str]] = {}
    for verdict in ("out", "unsure"):
        for check in checks:
            if check.verdict == verdict:
                value = shown(check.value, check.dimension, system, check.uncertainty)
                key = (verdict, check.quantity, value, allowed(check, system), in_words(check.advice))
                found.setdefault(key, []).append(check.valve or "engine")
    return [
        {
            "verdict": verdict,
            "valves": valves,
            "quantity": quantity,
            "value": value,
            "allowed": limit,
            "advice": advice,
        }
        for (verdict, quantity, value, limit, advice), valves in list(found.items())[:_FINDINGS]
    ]


# What is measured after the work of a stage.
_AFTER = {
    "Valves and seats": "stem_height",
    "Springs and spring shims": "installed_height",
    "Stand shims under the rocker shaft": "shaft.height",
    "Rockers and shims along the shaft": "offset",
    "Pushrods and adjusters": "exposure",
    "Lash to set": "lash",
}


def _plan(answers: Answers, system: str) -> list[dict[str, Any]]:
    """Return the work in the order of assembly."""
    found = stages(answers.setup, answers.results, answers.checks, system)
    return [
        {
            "title": stage.title,
            "none": stage.none,
            "after": _AFTER.get(stage.title, ""),
            "steps": [
                {"where": step.where, "valves": list(step.valves), "what": step.what} for step in stage.steps
            ],
        }
        for stage in found
    ]


def _measurable(each: Measurable) -> dict[str, Any]:
    topic = topic_of(each.topic)
    return {
        "id": each.id,
        "title": each.title,
        "unit": each.unit,
        "instrument": each.instrument.replace("_", " "),
        "known": usual(each.instrument or None),
        "choices": list(each.choices),
        "helps": each.helps,
        "guide": "" if topic is None else topic.name,
        "spots": [[spot.key, spot.name, spot.written] for spot in each.spots],
    }


def _journal(desk: Desk) -> dict[str, Any]:
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.sheet_text import sheet_title

    journal = desk.journal
    try:
        journal.refresh(sheet_title(desk.toml))
    except SheetError as error:
        return {"entries": [], "undo": False, "redo": False, "fault": str(error)}
    undone = {*journal.undone}
    entries = [_entry(each, each.number in undone) for each in journal.latest(_JOURNAL)]
    return {"entries": entries, "undo": bool(journal.done), "redo": bool(journal.undone), "fault": ""}


def _entry(record: Record, undone: bool) -> dict[str, Any]:
    words = []
    for edit in record.edits:
        name = edit.key.replace(".", " ").replace("_", " ")
        words.append(f"{name} {edit.before or 'unknown'} -> {edit.after or 'unknown'}")
    said = "" if not record.turns else "done again: " if record.again else "taken back: "
    return {
        "number": record.number,
        "when": record.when[11:16],
        "day": record.when[:10],
        "words": said + "; ".join(words),
        "own": not record.turns,
        "undone": undone,
    }


def compared_view(found: Comparison, system: str) -> list[dict[str, Any]]:
    """Return a comparison as captions and tables."""
    from valvetrain.answers.table import Table

    rows: list[dict[str, Any]] = []
    for block in tables(found, system, most=25):
        if isinstance(block, Table):
            rows.append(
                {
                    "caption": block.caption,
                    "columns": list(block.columns),
                    "rows": [list(row) for row in block.rows],
                }
            )
        else:
            rows.append({"sentence": block.text})
    return rows
