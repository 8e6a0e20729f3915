"""Verdicts on the record: a valve that moves otherwise than its fellows, or is near a limit, is named."""

import math

import numpy as np

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check, decided
from valvetrain.mechanics.trend.wear import CANNOT_TELL, STEADY
from valvetrain.questions.record.study import RecordResult
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import shown

__all__ = ["record_checks"]

_BASIS = (
    "trend by Theil and Sen against its fellows' (the valves of its role) and the readings' scatter; in "
    "simulated logs of twelve valves over 5 and 15 inspections, none wearing or all by 0.0003 to 0.00045 in "
    "at each with rates 15 % apart, fewer than one engine in fifty had any valve named"
)
_CURE = {
    "seat recession": "Look at the seat and the valve's head; a leak-down test tells. "
    "Keep its lash wide until then.",
    "lobe nose wear": "Take the tappet out and look at its face and its lobe.",
    "tappet, pad, cup or pushrod wear": "Look at the tappet's face, the pad, the cup and the pushrod's ends.",
    "tappet not turning": "Look for a dry or tight bore, and at the tappet's face.",
    "doubtful lift reading": "Measure it again, with the same dial, on the tappet.",
}


def record_checks(setup: Setup, result: RecordResult, system: str) -> list[Check]:
    """Judge the trends of lash and lift at every valve, and the lift that is left."""
    checks: list[Check] = []
    for name, what, change, provable, states in (
        (
            "lash_trend",
            "change of lash over the record",
            result.lash_change,
            result.provable_lash,
            result.lash_state,
        ),
        (
            "lift_trend",
            "change of lobe lift over the record",
            result.lift_change,
            result.provable_lift,
            result.lift_state,
        ),
    ):
        quantity = name.removesuffix("_trend")
        for index, valve in enumerate(setup.valves):
            checks.append(
                _trend(result, index, valve, name, quantity, what, change, provable, states[index], system)
            )
    checks += _turning(result)
    return checks + _left(setup, result)


def _trend(
    result: RecordResult,
    index: int,
    valve: str,
    name: str,
    quantity: str,
    what: str,
    change: Quantity,
    provable: Quantity,
    state: str,
    system: str,
) -> Check:
    """Judge one trend."""
    value, least = float(change.value[index]), float(provable.value[index])
    stands_out = quantity in result.stands_out[index]
    of_set = result.states.lash if quantity == "lash" else result.states.lift_states
    readings = int(getattr(result.states, f"{quantity}_trend").count[index])
    advice = ""
    if readings == 0:
        verdict, advice = "unmeasured", f"The record holds no {quantity} of it."
        value = math.nan
    elif state == CANNOT_TELL and not stands_out:
        verdict = "unsure"
        need = "three inspections are the least" if readings < 3 else "its scatter hides less than that"
        proved = "" if math.isnan(least) else f", and would have proved {shown(least, 'length', system)}"
        noun = "reading" if readings == 1 else "readings"
        advice = f"{readings} {noun} cannot tell{proved}: {need}. Keep the record."
        value = value if math.isfinite(value) else 0.0
    elif not stands_out and (state == STEADY or bool(of_set.together[index])):
        verdict = "ok"
    elif not stands_out:
        verdict = "unsure"
        alone = math.isnan(float(of_set.set_score[index]))
        why = "fewer than four can be compared" if alone else "the record does not prove it yet"
        advice = (
            f"Its {quantity} moves; whether otherwise than the rest's is not known: {why}. "
            "Keep the record, and look again soon."
        )
    else:
        verdict = "out"
        told = [each for each in result.found[index] if each.name != "cannot tell"]
        advice = " ".join(
            f"{each.name}: {each.reason}{'' if each.sure else ' (not proved)'}. "
            f"{_CURE.get(each.name, '')}".strip()
            for each in told
        )
        recession = float(result.seat_recession.value[index])
        if not math.isnan(recession) and quantity == "lash":
            advice += f" The valve has sunk by about {shown(recession, 'length', system)}."
    doubt = float(np.nan_to_num(change.uncertainty[index]))
    low, high = (-least, least) if math.isfinite(least) else (-math.inf, math.inf)
    return Check(name, valve, what, "length", value, doubt, low, high, verdict, _BASIS, advice)


def _turning(result: RecordResult) -> list[Check]:
    """Name the tappets that were seen not to turn; who was not looked at is not judged."""
    return [
        Check(
            "tappet_turning",
            valve,
            "marked pushrod seen to turn at the last look:",
            "seen",
            float(turned),
            0.0,
            1.0,
            math.inf,
            "ok" if turned else "out",
            "common practice, no source (a warning: tappets that did not turn were not always the worst)",
            "" if turned else "The mark stayed put: look for a dry or tight bore, and at the tappet's face.",
        )
        for valve, turned in zip(result.valves, result.turned, strict=True)
        if turned is not None
    ]


def _left(setup: Setup, result: RecordResult) -> list[Check]:
    """Judge lobe lift lost by the last reading, and lash off what is wanted, by their limits."""
    checks = []
    for key, found, what, cure in (
        ("lobe_wear", result.lift_left, "", "Read that lobe again with a dial on the tappet."),
        (
            "lash_deviation",
            result.lash_off,
            "lash as the last inspection left it, against the lash wanted",
            "Set it again, and look for why it moved.",
        ),
    ):
        limit = setup.limits[key]
        for index, valve in enumerate(setup.valves):
            value, doubt = float(found.value[index]), float(found.uncertainty[index])
            if math.isnan(value):
                continue
            verdict = decided(value, doubt if math.isfinite(doubt) else 0.0, limit.low, limit.high)
            advice = "" if verdict == "ok" else cure
            checks.append(
                Check(
                    key, valve, what or limit.doc, "length", value, doubt, limit.low, limit.high, verdict,
                    limit.basis, advice,
                )
            )  # fmt: skip
    return checks
