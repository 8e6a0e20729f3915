"""Everything that is not right, in the order of assembly: one cause told once, the action first."""

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

from valvetrain.answers.finding import STAGES, Finding
from valvetrain.answers.verdict import Check
from valvetrain.questions.center.action import center_action
from valvetrain.questions.rocker.findings import rocker_findings
from valvetrain.questions.spring.action import spring_action
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import brief

__all__ = ["findings"]

_STAGE = {
    "rocker": "stands",
    "center": "rockers",
    "spring": "springs",
    "pushrod": "pushrods",
    "lash": "lash",
    "wear": "parts",
    "oil": "oil",
}
_CHECK_STAGE = {"lobe_wear": "parts", "bore_clearance": "parts"}

# What to do where a question has no plan of its own, by the verdict's name.
_ACTIONS = {
    "lobe_wear": "read the lobe again; if it holds, regrind or replace the cam",
    "lash_deviation": "set the lash again, and look for why it moved",
    "bore_clearance": "bush the rocker or replace it; measure the shaft there",
    "end_clearance": "take up the end clearance",
    "intake_piston_clearance": "retard the cam, or cut the piston's relief",
    "exhaust_piston_clearance": "advance the cam, or cut the piston's relief",
    "control_margin": "stay below that speed, or fit stiffer springs or lighter parts",
    "ramp_left": "set the lash within the ramps",
}
_WORDS = 60
"""A sentence of advice longer than this is cut at its first clause."""


def findings(
    setup: Setup, results: Mapping[str, Any], checks: Mapping[str, Sequence[Check]], system: str
) -> tuple[Finding, ...]:
    """Return what is out and what is unsure, in the order of assembly, what is out before."""
    found: list[Finding] = []
    for question, own in checks.items():
        if question == "rocker":
            found += rocker_findings(setup, results["rocker"], own, system)
        else:
            found += _at_valves(setup, results, question, own, system)
    together = _joined(found)
    rank = {stage: place for place, stage in enumerate(STAGES)}
    return tuple(sorted(together, key=lambda one: (one.verdict != "out", rank[one.stage])))


def _at_valves(
    setup: Setup, results: Mapping[str, Any], question: str, checks: Sequence[Check], system: str
) -> list[Finding]:
    """Return one finding a valve of one question: its verdicts that are not right have one cure."""
    by_valve: dict[tuple[str | None, str], list[Check]] = {}
    for check in checks:
        if check.verdict in ("out", "unsure"):
            stage = _CHECK_STAGE.get(check.id, _STAGE.get(question, "running"))
            by_valve.setdefault((check.valve, stage), []).append(check)
    found = []
    for (valve, stage), own in by_valve.items():
        worst = sorted(own, key=lambda one: one.verdict != "out")
        first = worst[0]
        do, then = "", ""
        if valve is not None and first.verdict == "out":
            do, then = _planned(setup, results, question, valve, system)
        if not do or stage != _STAGE.get(question, "running"):
            do, then = _action(first, system), ""
        facts = [_fact(each, system) for each in worst if each.verdict == first.verdict]
        found.append(
            Finding(
                valve or "engine",
                do,
                "; ".join(facts[:2]),
                then,
                stage,
                first.verdict,
                () if valve is None else (valve,),
                (question,),
            )
        )
    return found


def _planned(
    setup: Setup, results: Mapping[str, Any], question: str, valve: str, system: str
) -> tuple[str, str]:
    """Return what the question's own plan does at a valve."""
    index = setup.valves.index(valve)
    if question == "center":
        return center_action(results["center"], index, system)
    if question == "spring":
        return spring_action(results["spring"], index, system)
    return "", ""


def _action(check: Check, system: str) -> str:
    """Return what to do about one verdict in a few words."""
    if check.verdict == "unsure":
        part = max(check.parts, key=lambda key: abs(check.parts[key]), default="")
        name = part.rpartition(".")[2].replace("_", " ")
        return f"measure {name} more surely" if name else "measure it more surely"
    if check.id in _ACTIONS:
        return _ACTIONS[check.id]
    sentence = re.split(r"(?<=[a-z)\d])[.:;] ", check.advice)[0].rstrip(".")
    if not sentence or len(sentence) > _WORDS:
        sentence = sentence.split(", ")[0]
    if not sentence or len(sentence) > _WORDS:
        return "look at it and measure again"
    return sentence[0].lower() + sentence[1:]


def _fact(check: Check, system: str) -> str:
    """Say a value against its limit: `0.038 to bind, at least 0.050`."""
    name = check.short or check.quantity
    value = brief(check.value, check.dimension, system)
    if check.verdict == "unsure" and math.isfinite(check.uncertainty):
        value += f" +-{brief(2 * check.uncertainty, check.dimension, system)}"
    low, high = (brief(end, check.dimension, system) for end in (check.low, check.high))
    if check.value < check.low or not math.isfinite(check.high):
        return f"{value} {name}, at least {low}"
    return f"{value} {name}, at most {high}"


def _joined(found: Sequence[Finding]) -> list[Finding]:
    """Put findings together that ask the same of several valves and have nothing of their own to say."""
    together: dict[tuple[str, str, str, str, str], list[Finding]] = {}
    for one in found:
        key = (one.do, one.then, one.stage, one.verdict, one.fact.partition(" ")[2])
        together.setdefault(key, []).append(one)
    joined = []
    for own in together.values():
        first = own[0]
        if len(own) == 1:
            joined.append(first)
            continue
        valves = tuple(dict.fromkeys(valve for each in own for valve in each.valves))
        where = ", ".join(dict.fromkeys(each.where for each in own))
        joined.append(
            Finding(
                where, first.do, first.fact, first.then, first.stage, first.verdict, valves, first.questions
            )
        )
    return joined
