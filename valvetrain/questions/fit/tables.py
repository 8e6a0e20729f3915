"""What a fit found, as tables and sentences."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.table import Block, Sentence, Table, columns, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.fit.next_reading import NextReading
from valvetrain.questions.fit.priors import Assumption
from valvetrain.questions.fit.shafts import ShaftAnswer
from valvetrain.questions.fit.study import FitResult, FittedParameter
from valvetrain.setup.units import display_unit, from_si, shown, shown_spread

__all__ = ["fit_tables", "taken_for_granted"]

_NEXT = 5  # measurements listed for a person on each shaft
_SHIM = "stand_shim_change_for_least_sweep"


def fit_tables(title: str, result: FitResult, checks: Sequence[Check], system: str) -> Iterator[Block]:
    """Say what was inferred, what it means, and what to measure next; `title` is the engine's."""
    yield Sentence(title, strong=True)
    yield _parameters(result, system)
    for sentence in taken_for_granted(result, system):
        yield Sentence(sentence, mark="  ")
    if result.set_aside:
        yield Sentence("Readings that do not fit the rest, set aside: look at these first", strong=True)
    for one in result.set_aside:
        value = shown(one.value, one.dimension, system)
        rest = shown(one.predicted, one.dimension, system)
        why = f" Likely: {one.slip}." if one.slip else ""
        yield Sentence(f"{one.source}, {one.what}: {value} read, the rest say {rest}.{why}", mark="  [ ] ")
    if result.together or result.warnings:
        yield Sentence("What the readings cannot tell", strong=True)
    for sentence in (*result.warnings, *result.together):
        yield Sentence(f"{sentence[0].upper()}{sentence[1:]}.", mark="  ")
    unit = display_unit("length", system)
    across = columns(result, "net_lift", "mean_ratio", "sweep_width", "sweep_middle", "chamfer_distance")
    across.insert(3, ("95 % from .. to", _interval(result.sweep_width, system)))
    yield valve_table(
        f"On the valve tip, by all answers that fit: lengths in {unit}, plus is away from the shaft",
        result.valves,
        across,
        system,
        verdicts_of(checks, result.valves),
    )
    yield from _stands(result, system)
    yield from _next(result, system)
    yield from _unsure(checks)


def _unsure(checks: Sequence[Check]) -> Iterator[Block]:
    """Say once for all valves what cannot be decided, and why."""
    alike: dict[str, list[Check]] = {}
    for check in checks:
        if check.verdict == "unsure":
            alike.setdefault(check.quantity, []).append(check)
    if alike:
        yield Sentence("Unsure: the table above says what would help", strong=True)
    for quantity, own in alike.items():
        valves = ", ".join(str(check.valve) for check in own)
        yield Sentence(f"{quantity}: {valves}. At {own[0].valve}: {own[0].advice}", mark="  [ ] ")


def _parameters(result: FitResult, system: str) -> Table:
    """The inferred dimensions, and what each rests on."""
    units = f"lengths in {display_unit('length', system)}, angles in deg"
    rows = []
    for one in result.parameters:
        low = _bare(one.assumed - 2 * one.assumed_spread, one.dimension, system)
        high = _bare(one.assumed + 2 * one.assumed_spread, one.dimension, system)
        rows.append(
            (
                f"{one.key} ({one.called})" if one.called else one.key,
                *_written(one.value, one.uncertainty, one.dimension, system),
                "-" if one.measured else f"{low} to {high}",
                f"{one.learned:.0%}",
                _rests(one),
            )
        )
    return Table(
        f"Inferred from {result.readings} readings and measurements: {units}, +- with k = 2",
        ("dimension", "most probable", "+-", "typical, assumed", "learned", "rests on"),
        tuple(rows),
        words=frozenset({0, 5}),
    )


def taken_for_granted(result: FitResult, system: str) -> list[str]:
    """What else was taken for granted, where readings rest on it and nobody measured it."""
    bench = [row for row in result.joint.gathered.bench if row is not None]
    kinds = {row.kind for row in bench}
    taken = {one.parameter: one for one in result.joint.assumptions}
    sentences = []
    margin, tips = taken.get("ink_margin"), taken.get("tip_height")
    if margin and kinds & {"near_edge", "far_edge"} and "closed_mark_width" not in kinds:
        reach = shown(margin.mean, "length", system)
        doubt = shown_spread(2 * margin.deviation, "length", system)
        sentences.append(
            f"Taken for granted: ink reaches {reach}, +-{doubt}, beyond the contact at each edge: the sweep "
            "is narrower than the band by twice that (closed_mark_width measures it)."
        )
    if tips:
        apart = shown_spread(2 * tips.deviation, "length", system)
        sentences.append(
            f"Taken for granted: the tips stand level within +-{apart}, where stem_height is not measured."
        )
    sentences.append(_alike(taken, system))
    return sentences


def _alike(taken: Mapping[str, Assumption], system: str) -> str:
    """That rockers of a set are alike, and how far."""

    def spread(name: str, dimension: str = "length") -> str:
        return f"+-{shown_spread(2 * taken[name].deviation, dimension, system)}"

    sentence = (
        f"Taken for granted: the rockers of a set are alike within {spread('pad_arm_of_valve')} of each "
        f"arm and {spread('arm_angle_of_valve', 'angle')} between the arms, the setbacks of their valves "
        f"within {spread('setback_of_valve')}"
    )
    if "setback_of_shaft" in taken:
        sentence += f", those of the shafts within {spread('setback_of_shaft')}"
    return f"{sentence}."


def _rests(one: FittedParameter) -> str:
    if one.measured:
        return "measured, and the readings"
    if one.learned > 0.5:
        return "the readings"
    return f"assumed: {one.basis}"


def _written(value: float, uncertainty: float, dimension: str, system: str) -> tuple[str, str]:
    unit = display_unit(dimension, system)
    number = shown(value, dimension, system, uncertainty).removesuffix(f" {unit}")
    return number, shown_spread(2 * uncertainty, dimension, system).removesuffix(f" {unit}")


def _bare(value: float, dimension: str, system: str) -> str:
    return f"{from_si(value, dimension, system):.3g}"


def _interval(quantity: Quantity, system: str) -> list[str]:
    """Write the 95 % interval at every valve."""
    assert quantity.low is not None
    assert quantity.high is not None
    written = []
    for low, high, spread in zip(quantity.low, quantity.high, quantity.uncertainty, strict=True):
        if math.isnan(low):
            written.append("-")
            continue
        unit = display_unit(quantity.dimension, system)
        ends = (
            shown(float(each), quantity.dimension, system, float(spread)).removesuffix(f" {unit}")
            for each in (low, high)
        )
        written.append(" .. ".join(ends))
    return written


def _stands(result: FitResult, system: str) -> Iterator[Block]:
    """The stand shim of every shaft, and of every answer."""
    yield Sentence("Stand shim for the least sweep", strong=True)
    for shaft in result.shafts:
        if shaft.ambiguity:
            yield Sentence(shaft.ambiguity, mark="  ")
        several = len(shaft.answers) > 1
        for number, answer in enumerate(shaft.answers, 1):
            if math.isnan(answer.shim.value):
                continue
            whose = f"shaft {shaft.shaft.called}: " if shaft.shaft.called else ""
            whose += f"answer {number} ({answer.weight:.0%}): " if several else ""
            yield Sentence(f"{whose}{_shim_words(answer, system)}.", mark="  [ ] ")
        if several:
            yield Sentence("Decide which answer holds before anything is shimmed or cut.", mark="      ")


def _shim_words(answer: ShaftAnswer, system: str) -> str:
    change, doubt = answer.shim.value, answer.shim.uncertainty
    spread = shown_spread(2 * doubt, "length", system)
    if abs(change) < 2 * doubt:
        what = f"{shown(change, 'length', system, doubt)}, +-{spread}: too unsure to shim by"
    else:
        way = "raise the shaft" if change > 0 else "lower the shaft"
        what = f"{way} by {shown(abs(change), 'length', system, doubt)}, +-{spread}"
    if answer.plan.stack and abs(change) >= 2 * doubt:
        stack = " + ".join(shown(each, "length", system) for each in answer.plan.stack)
        first = "take out what is there and lay in" if answer.plan.removed else "lay in"
        what += f"; from the stock: {first} {stack}"
    return what


def _next(result: FitResult, system: str) -> Iterator[Block]:
    """What to measure next, shaft by shaft."""
    if not result.next:
        yield Sentence("No further measurement would help much.", strong=True)
    for name in dict.fromkeys(one.shaft for one in result.next):
        own = [one for one in result.next if one.shaft == name]
        whose = f", shaft {name}" if name else ""
        first = f"Measure next{whose}: {own[0].what}, with {_article(own[0].instrument)}"
        yield Sentence(first, strong=True)
        unit = display_unit("length", system)
        yield Table(
            f"What one more measurement, or two together, would leave{whose}: lengths in {unit}, k = 2",
            ("measurement, and how surely it is read", "stand shim", "sweep width", "decides"),
            tuple(
                (
                    _measurement(one, system),
                    _step(one.now, one.after, _SHIM, system),
                    _step(one.now, one.after, "sweep_width", system),
                    f"{one.decided:.0f}" if one.decided >= 0.5 else "-",
                )
                for one in own[:_NEXT]
            ),
            words=frozenset({0}),
        )


def _measurement(one: NextReading, system: str) -> str:
    """One measurement or two, each with its instrument and how surely it is read."""
    return " AND ".join(
        f"{each.what}; {each.instrument}, +-{shown_spread(2 * each.uncertainty, each.dimension, system)}"
        for each in one.chosen
    )


def _article(instrument: str) -> str:
    return " and ".join(each if each == "marker ink" else f"a {each}" for each in instrument.split(" and "))


def _step(now: Any, after: Any, name: str, system: str) -> str:
    # Two digits, so that a small gain shows.
    before, left = (2 * from_si(each[name], "length", system, difference=True) for each in (now, after))
    return f"+-{before:.2g} to {left:.2g}"
