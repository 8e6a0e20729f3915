"""The to-do list in the order of assembly: which shim where, what to set, what to measure next."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from valvetrain.answers.verdict import Check
from valvetrain.questions.center.words import cure as shaft_cure
from valvetrain.questions.pushrod.checks import length_words
from valvetrain.questions.rocker.checks import shaft_sentence
from valvetrain.questions.spring.advice import cure_sentence
from valvetrain.report.model import Stage, Step
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import limit_shown, shown

__all__ = ["STAGES", "allowed", "in_words", "stages"]

STAGES = (
    ("parts", "Parts to replace or mend", "No part is to be replaced."),
    ("valves", "Valves and seats", "No valve or seat work."),
    ("springs", "Springs and spring shims", "Leave every spring shim as it is."),
    ("stands", "Stand shims under the rocker shaft", "Leave the stand shims as they are."),
    ("rockers", "Rockers and shims along the shaft", "Leave the rocker shims as they are."),
    (
        "pushrods",
        "Pushrods and adjusters",
        "Keep the pushrods that are fitted; the adjusters follow with the lash.",
    ),
    ("running", "Timing, clearance and speed", "Nothing is outside its limits."),
    ("oil", "Oil", "Nothing is outside its limits."),
    ("lash", "Lash to set", "The sheet asks for no lash."),
    ("measure", "Measure next", "Every question that is asked has its measurements."),
)
"""Name, title, and what is said where there is nothing to do; in the order of assembly."""

# Where the work for a question's verdict is done, and for single verdicts where that is elsewhere.
_QUESTION_STAGE = {
    "rocker": "stands",
    "center": "rockers",
    "spring": "springs",
    "pushrod": "pushrods",
    "lash": "lash",
    "wear": "parts",
    "log": "parts",
    "oil": "oil",
}
_CHECK_STAGE = {"lobe_wear": "parts", "lash_deviation": "lash", "bore_clearance": "parts"}

# What is measured again after the work of a stage, so that the next page can say whether it was done.
_AGAIN = {
    "valves": "stem height, installed height and witness band",
    "springs": "installed height and seat load",
    "stands": "shaft height and witness band",
    "rockers": "offset and end clearance, at every rocker between the same two stands",
    "pushrods": "thread showing at the adjuster",
    "parts": "what was replaced or read again",
}


def stages(
    setup: Setup, results: Mapping[str, Any], checks: Mapping[str, Sequence[Check]], system: str
) -> tuple[Stage, ...]:
    """Sort what is to be done into the stages of assembly; one line for the same work at several valves."""
    work: dict[str, list[tuple[str, str]]] = {name: [] for name, _, _ in STAGES}
    for question, own in checks.items():
        for check in own:
            if check.verdict == "out":
                work[_stage(check, question, results)].append((check.valve or "", _sentence(check, system)))
    for stage, valve, what in _planned(setup, results, system):
        if not any(valve == at and what in said for at, said in work[stage]):
            work[stage].append((valve, what))
    redone = {
        name: tuple(dict.fromkeys(valve for valve, _ in done if valve)) for name, done in work.items() if done
    }
    lash_set = _lash_steps(setup, system)
    measure = (*_unsure(checks, system), *_unmeasured(checks), *_again(setup, redone))
    judged = {_stage(check, question, results) for question, own in checks.items() for check in own}
    found = []
    for name, title, none in STAGES:
        steps = _joined(work[name])
        if name in ("running", "oil") and name not in judged:
            continue  # the sheet says nothing of it
        if name == "lash":
            steps = (*lash_set, *steps)
        elif name == "measure":
            steps = measure
        found.append(Stage(title, steps, none))
    return tuple(found)


def allowed(check: Check, system: str) -> str:
    """Write what a verdict's limit allows."""
    low = limit_shown(check.low, check.dimension, system) if np.isfinite(check.low) else ""
    high = limit_shown(check.high, check.dimension, system) if np.isfinite(check.high) else ""
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else "no limit"


def _stage(check: Check, question: str, results: Mapping[str, Any]) -> str:
    """Find at which stage a verdict is put right."""
    if check.id in _CHECK_STAGE:
        return _CHECK_STAGE[check.id]
    if question == "rocker":
        stand = results["rocker"].stand
        valves = results["rocker"].valves
        apart = {valves[index] for plan in stand.shafts for index in plan.group.apart}
        return "valves" if check.valve in apart else "stands"
    return _QUESTION_STAGE.get(question, "running")


def _sentence(check: Check, system: str) -> str:
    """Say what to do; where that holds no figure or nothing is advised, what is wrong before it."""
    if re.search(r"\d", check.advice):
        return check.advice
    value = shown(check.value, check.dimension, system, check.uncertainty)
    wrong = f"{check.quantity} {value}, allowed {allowed(check, system)}."
    return f"{wrong[0].upper()}{wrong[1:]} {check.advice}".strip()


def _planned(setup: Setup, results: Mapping[str, Any], system: str) -> Iterable[tuple[str, str, str]]:
    """List the planned work that no verdict has asked for yet: (stage, valve, what)."""
    if "rocker" in results:
        for plan in results["rocker"].stand.shafts:
            if plan.needed and abs(plan.change) > 1e-9:
                yield "stands", "", shaft_sentence(plan, setup.valves, system)
    for index, valve in enumerate(setup.valves):
        if "spring" in results and results["spring"].plan.valves[index].changed:
            yield "springs", valve, cure_sentence(setup, results["spring"], index, system)
        if "center" in results and results["center"].moved[index]:
            yield "rockers", valve, shaft_cure(results["center"], index, system)
    if "pushrod" in results:
        plan = results["pushrod"].plan
        for place in range(len(plan.lengths)):
            words = f"Length {length_words(setup, results['pushrod'], place, system)}."
            if plan.split:
                for valve in np.array(setup.valves)[plan.chosen == place]:
                    yield "pushrods", str(valve), words
            else:
                yield "pushrods", "", f"One length for the whole set. {words}"


def _lash_steps(setup: Setup, system: str) -> tuple[Step, ...]:
    """Say what lash to set, valves of the same lash together."""
    wanted = setup.column("lash", "wanted").value
    groups: dict[tuple[str, str, str], list[str]] = {}
    for index, train in enumerate(setup.trains):
        if not np.isnan(wanted[index]):
            at = "at the valve tip" if train.lash.at == "valve" else "at the pushrod"
            key = (shown(float(wanted[index]), "length", system), at, train.lash.state or "")
            groups.setdefault(key, []).append(train.name)
    return tuple(
        Step(tuple(valves), f"set {lash} {state}, {at}, when all work above is done.")
        for (lash, at, state), valves in groups.items()
    )


def _unsure(checks: Mapping[str, Sequence[Check]], system: str) -> tuple[Step, ...]:
    """List what must be measured more surely."""
    pairs = [
        (check.valve or "", f"{check.quantity}: {in_words(_sentence(check, system))}")
        for own in checks.values()
        for check in own
        if check.verdict == "unsure"
    ]
    return _joined(pairs)


def _unmeasured(checks: Mapping[str, Sequence[Check]]) -> tuple[Step, ...]:
    """List what is not measured: a line for the same wants, the valves that have them together."""
    waits: dict[str, list[str]] = {}
    for own in checks.values():
        for check in own:
            if check.verdict == "unmeasured":
                waits.setdefault(check.valve or "", []).append(check.advice)
    pairs = []
    for valve, advice in waits.items():
        keys = list(dict.fromkeys(key for each in advice for key in _KEY.findall(each)))
        said = [each for each in dict.fromkeys(advice) if each and not each.startswith("Measure ")]
        number = f"{len(advice)} verdict{'s wait' if len(advice) > 1 else ' waits'} for it"
        what = f"measure {', '.join(in_words(key) for key in keys)}; {number}." if keys else f"{number}."
        pairs.append((valve, " ".join([what, *map(in_words, said)])))
    return _joined(pairs)


# Keys whose name alone does not say what is measured.
_OWN_WORDS = {
    "lobe.measured_lift": "lobe lift",
    "lash.wanted": "lash wanted",
    "rocker.pad_outline": "pad outline",
    "tappet.setback": "tappet setback",
    "tappet.angle": "tappet angle",
    "pushrod.length": "pushrod length",
    "lobe.lift": "lobe lift",
    "valve.mass": "valve mass",
}

_KEY = re.compile(r"\b(?:[a-z]+_)*[a-z]+\.[a-z]+(?:_[a-z0-9]+)*\b")


def in_words(text: str) -> str:
    """Write the sheet's keys in a text as words: `valve.stem_height` as stem height."""
    return _KEY.sub(
        lambda found: _OWN_WORDS.get(found[0], found[0].partition(".")[2].replace("_", " ")), text
    )


def _again(setup: Setup, redone: Mapping[str, tuple[str, ...]]) -> tuple[Step, ...]:
    """Say what to measure again after the work."""
    return tuple(
        Step(redone[name], f"Measure again after the work: {what}; write it into the sheet.")
        for name, what in _AGAIN.items()
        if redone.get(name)
    )


def _joined(pairs: Sequence[tuple[str, str]]) -> tuple[Step, ...]:
    """Put the valves of the same work together, in the order in which they came."""
    together: dict[str, list[str]] = {}
    for valve, what in pairs:
        valves = together.setdefault(what, [])
        if valve and valve not in valves:
            valves.append(valve)
    return tuple(Step(tuple(valves), what) for what, valves in together.items())
