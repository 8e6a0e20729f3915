"""What a fit found, as tables for a person and as the JSON document."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from rich.table import Table
from rich.text import Text

from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.questions.fit.priors import Assumption
from valvetrain.questions.fit.shafts import FittedShaft, ShaftAnswer, ShaftValue
from valvetrain.questions.fit.study import FitResult, FittedParameter
from valvetrain.setup.setup import Setup
from valvetrain.setup.units import display_unit, from_si, shown, shown_spread
from valvetrain_cli.json_out import length_list, quantity_json, valve_rows
from valvetrain_cli.tables import console, print_hanging, print_table, print_to_do, verdict_cells

__all__ = ["fit_document", "print_fit"]

_NEXT = 5  # measurements listed for a person


def print_fit(setup: Setup, result: FitResult, checks: list[Check], system: str) -> None:
    """Print what was inferred, what it means, and what to measure next."""
    out = console()
    out.print(Text(setup.title, style="bold"))
    _print_parameters(result, system)
    for sentence in _besides(result, system):
        print_hanging(out, "  ", sentence)
    if result.set_aside:
        out.print(Text("Readings that do not fit the rest, set aside: look at these first", style="bold"))
    for one in result.set_aside:
        value = shown(one.value, one.dimension, system)
        rest = shown(one.predicted, one.dimension, system)
        why = f" Likely: {one.slip}." if one.slip else ""
        print_hanging(out, "  [ ] ", f"{one.source}, {one.what}: {value} read, the rest say {rest}.{why}")
    if result.together or result.warnings:
        out.print(Text("What the readings cannot tell", style="bold"))
    for sentence in (*result.warnings, *result.together):
        print_hanging(out, "  ", f"{sentence[0].upper()}{sentence[1:]}.")
    unit = display_unit("length", system)
    print_table(
        f"On the valve tip, by all answers that fit: lengths in {unit}, plus is away from the shaft",
        result.valves,
        [
            ("net lift", result.net_lift),
            ("mean ratio", result.mean_ratio),
            ("sweep width", result.sweep_width),
            ("95 % from .. to", _interval(result.sweep_width, system)),
            ("sweep middle", result.sweep_middle),
            ("to chamfer", result.chamfer_distance),
        ],
        system,
        verdict_cells(checks, result.valves),
    )
    _print_stand(result, system)
    _print_next(result, system)
    _print_unsure(checks)
    print_to_do([check for check in checks if check.verdict != "unsure"], system)


def _print_unsure(checks: list[Check]) -> None:
    """Say once for all valves what cannot be decided, and why."""
    alike: dict[str, list[Check]] = {}
    for check in checks:
        if check.verdict == "unsure":
            alike.setdefault(check.quantity, []).append(check)
    out = console()
    if alike:
        out.print(Text("Unsure: the table above says what would help", style="bold"))
    for quantity, own in alike.items():
        valves = ", ".join(str(check.valve) for check in own)
        print_hanging(out, "  [ ] ", f"{quantity}: {valves}. At {own[0].valve}: {own[0].advice}")


def _print_parameters(result: FitResult, system: str) -> None:
    """Print the inferred dimensions, and what each rests on."""
    units = f"lengths in {display_unit('length', system)}, angles in deg"
    table = Table(
        title=f"Inferred from {result.readings} readings and measurements: {units}, +- with k = 2",
        title_justify="left",
        title_style="bold",
        header_style="bold",
    )
    table.add_column("dimension")
    for name in ("most probable", "+-", "typical, assumed", "learned"):
        table.add_column(name, justify="right")
    table.add_column("rests on")
    for one in result.parameters:
        number, spread = _written(one.value, one.uncertainty, one.dimension, system)
        low = _bare(one.assumed - 2 * one.assumed_spread, one.dimension, system)
        high = _bare(one.assumed + 2 * one.assumed_spread, one.dimension, system)
        table.add_row(
            f"{one.key} ({one.called})" if one.called else one.key,
            number,
            spread,
            "-" if one.measured else f"{low} to {high}",
            f"{one.learned:.0%}",
            _rests(one),
        )
    console().print(table)


def _besides(result: FitResult, system: str) -> list[str]:
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


def _print_stand(result: FitResult, system: str) -> None:
    """Print the stand shim of every shaft, and of every answer."""
    out = console()
    out.print(Text("Stand shim for the least sweep", style="bold"))
    for shaft in result.shafts:
        if shaft.ambiguity:
            print_hanging(out, "  ", shaft.ambiguity)
        several = len(shaft.answers) > 1
        for number, answer in enumerate(shaft.answers, 1):
            if math.isnan(answer.shim.value):
                continue
            whose = f"shaft {shaft.shaft.called}: " if shaft.shaft.called else ""
            whose += f"answer {number} ({answer.weight:.0%}): " if several else ""
            print_hanging(out, "  [ ] ", f"{whose}{_shim_words(answer, system)}.")
        if several:
            print_hanging(out, "      ", "Decide which answer holds before anything is shimmed or cut.")


def _shim_words(answer: ShaftAnswer, system: str) -> str:
    change, doubt = answer.shim.value, answer.shim.uncertainty
    spread = shown_spread(2 * doubt, "length", system)
    if abs(change) < 2 * doubt:
        what = f"{shown(change, 'length', system, doubt)}, +-{spread}: too unsure to shim by"
    else:
        way = "raise the shaft" if change > 0 else "lower the shaft"
        what = f"{way} by {shown(abs(change), 'length', system, doubt)}, +-{spread}"
    if answer.plan.stack:
        stack = " + ".join(shown(each, "length", system) for each in answer.plan.stack)
        first = "take out what is there and lay in" if answer.plan.removed else "lay in"
        what += f"; from the stock: {first} {stack}"
    return what


def _print_next(result: FitResult, system: str) -> None:
    """Print what to measure next, shaft by shaft."""
    out = console()
    if not result.next:
        out.print(Text("No single further measurement would help much.", style="bold"))
        return
    unit = display_unit("length", system)
    for name in dict.fromkeys(one.shaft for one in result.next):
        own = [one for one in result.next if one.shaft == name]
        whose = f", shaft {name}" if name else ""
        first = f"Measure next{whose}: {own[0].what}, with {_article(own[0].instrument)}"
        print_hanging(out, "", first)
        table = Table(
            title=f"What one more measurement, or two together, would leave{whose} (k = 2)",
            title_justify="left",
            header_style="bold",
        )
        table.add_column("measurement")
        table.add_column("with")
        table.add_column("read to", justify="right")
        table.add_column(f"stand shim [{unit}]", justify="right")
        table.add_column(f"sweep width [{unit}]", justify="right")
        table.add_column("verdicts decided", justify="right")
        for one in own[:_NEXT]:
            read_to = (
                f"+-{shown_spread(2 * each.uncertainty, each.dimension, system)}" for each in one.chosen
            )
            table.add_row(
                one.what,
                one.instrument,
                ", ".join(read_to),
                _step(one.now, one.after, "stand_shim_change_for_least_sweep", system),
                _step(one.now, one.after, "sweep_width", system),
                f"{one.decided:.0f}" if one.decided >= 0.5 else "-",
            )
        out.print(table)


def _article(instrument: str) -> str:
    return " and ".join(each if each == "marker ink" else f"a {each}" for each in instrument.split(" and "))


def _step(now: Any, after: Any, name: str, system: str) -> str:
    # Two digits, so that a small gain shows.
    before, left = (2 * from_si(each[name], "length", system, difference=True) for each in (now, after))
    return f"+-{before:.2g} to {left:.2g}"


def fit_document(result: FitResult, system: str) -> dict[str, Any]:
    """Return what stands under "results" in JSON."""
    return {
        "readings": result.readings,
        "parameters": [
            {
                "key": one.key,
                "of": one.called or None,
                **quantity_json(one.value, one.dimension, system, one.uncertainty),
                "measured": one.measured,
                "assumed": quantity_json(one.assumed, one.dimension, system, one.assumed_spread),
                "assumed_because": one.basis,
                "learned": one.learned,
            }
            for one in result.parameters
        ],
        "set_aside": [
            {
                "source": one.source,
                "reading": one.what,
                "read": quantity_json(one.value, one.dimension, system),
                "predicted": quantity_json(one.predicted, one.dimension, system),
                "standardized": one.standardized,
                "likely": one.slip or None,
            }
            for one in result.set_aside
        ],
        "not_separable": list(result.together),
        "taken_for_granted": _besides(result, system),
        "warnings": list(result.warnings),
        "shafts": [_shaft(one, result.valves, system) for one in result.shafts],
        "valves": _rows(result, system),
        "next": [
            {
                "measure": one.what,
                "shaft": one.shaft or None,
                "readings": [
                    {
                        "measure": each.what,
                        "instrument": each.instrument,
                        "reading": quantity_json(math.nan, each.dimension, system, each.uncertainty),
                        "valves": sorted({result.valves[reading.valve] for reading in each.readings}),
                    }
                    for each in one.chosen
                ],
                "verdicts_decided": one.decided,
                "u_now": _spreads(one.now, system),
                "u_after": _spreads(one.after, system),
            }
            for one in result.next
        ],
    }


def _shaft(one: FittedShaft, valves: Sequence[str], system: str) -> dict[str, Any]:
    return {
        "shaft": one.shaft.name or None,
        "role": one.shaft.role or None,
        "valves": [valves[index] for index in one.shaft.members],
        "height": _value(one.height, system),
        "stand_shim_change": _value(one.shim, system),
        "answers": [
            {
                "probability": each.weight,
                "stand_shim_change": _value(each.shim, system),
                "from_stock": length_list(each.plan.stack, system),
                "remove_first": each.plan.removed,
                "shaft_height": _value(each.height, system),
            }
            for each in one.answers
        ],
        "ambiguity": one.ambiguity or None,
    }


def _value(one: ShaftValue, system: str) -> dict[str, Any]:
    entry = quantity_json(one.value, "length", system, one.uncertainty)
    for name, end in (("low95", one.low), ("high95", one.high)):
        entry[name] = quantity_json(end, "length", system)["value"]
    return entry


def _spreads(spreads: Any, system: str) -> dict[str, Any]:
    return {
        name: {
            "value": from_si(value, "length", system, difference=True) if math.isfinite(value) else None,
            "unit": display_unit("length", system),
        }
        for name, value in spreads.items()
    }


def _rows(result: FitResult, system: str) -> Sequence[dict[str, Any]]:
    rows = valve_rows(result, system)
    names = ("valve", "role")
    return [
        {key: value for key, value in row.items() if key in names or isinstance(value, dict)} for row in rows
    ]
